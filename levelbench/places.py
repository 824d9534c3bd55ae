"""Where files are: those that travel with the program, and those that it keeps for its user.

The travelling ones (fonts, style, texts, sample projects) lie beside the package in a source tree, and inside it in an
installed wheel; the user's lie where the system keeps such things.
"""

from pathlib import Path

from platformdirs import PlatformDirs

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


def user_state() -> Path:
    """Give the folder for what must outlive a crash: recovery copies."""
    return Path(_dirs().user_state_dir)


def user_config() -> Path:
    """Give the folder for what the user chose: window sizes, light or dark."""
    return Path(_dirs().user_config_dir)


def user_cache() -> Path:
    """Give the folder for what can be made again at any time: compiled code."""
    return Path(_dirs().user_cache_dir)


def _dirs() -> PlatformDirs:
    return PlatformDirs("LevelBench", appauthor=False)
