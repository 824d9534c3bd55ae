"""The projects that travel with the program, for a newcomer to open."""

from pathlib import Path

from levelbench.places import sample_projects
from levelbench.project.checking import nearest
from levelbench.quantity import LevelBenchError


def samples() -> tuple[Path, ...]:
    """Give the sample projects, by name."""
    return tuple(sorted(sample_projects().glob("*.toml")))


def sample(name: str) -> Path:
    """Give the sample project of that name. Raises LevelBenchError with the names that there are."""
    known = {path.stem: path for path in samples()}
    if name not in known:
        near = nearest(name, known)
        hint = f" Did you mean “{near}”?" if near else ""
        raise LevelBenchError(f"There is no sample project “{name}”.{hint} There are: {', '.join(known)}.")
    return known[name]
