"""The first run on a machine compiles the rig, which takes some seconds: said to a person who waits."""

from levelbench.cli.progress import tell
from levelbench.rig.warm import is_compiled


def tell_if_first() -> None:
    """Say that the bench is being prepared, when it is."""
    if not is_compiled():
        tell("preparing the bench, once on this machine …")
