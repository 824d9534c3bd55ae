"""Quantities that stand behind an option of the command line."""

from levelbench.cli.errors import UsageError
from levelbench.quantity import Dimension, QuantityError, read


def given(option: str, text: str, dimension: Dimension) -> float:
    """Read what stands behind an option [SI]. Raises UsageError when it can't be that."""
    try:
        return read(text, dimension).si
    except QuantityError as error:
        raise UsageError(f"{option} “{text}”: {error}") from error


def if_given(option: str, text: str | None, dimension: Dimension) -> float | None:
    """Read what stands behind an option [SI], None where it was left out. Raises UsageError when it can't be that."""
    return None if text is None else given(option, text, dimension)
