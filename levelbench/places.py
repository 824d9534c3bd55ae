"""Where the files that travel with the program are: fonts, style, texts and sample projects.

They lie beside the package in a source tree, and inside it in an installed wheel.
"""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _travelling(name: str) -> Path:
    """Give the folder `name`, from inside the package where it was installed, else from beside it."""
    inside = _PACKAGE / name
    return inside if inside.is_dir() else _PACKAGE.parent / name


def resources() -> Path:
    """Give the folder with fonts, style and texts."""
    return _travelling("resources")


def sample_projects() -> Path:
    """Give the folder with the projects that a newcomer opens."""
    return _travelling("sample_projects")
