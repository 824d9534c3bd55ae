"""Fills the compile cache: run as `python -m levelbench.rig.warm` in a child process, so that no window waits."""

from levelbench.project import load, samples
from levelbench.rig import assemble, run


def main() -> None:
    """Run a sample for a moment, which compiles whatever is not in the cache yet."""
    rig = assemble(load(samples()[0]))
    run(rig, 10 * rig.scan)


if __name__ == "__main__":
    main()
