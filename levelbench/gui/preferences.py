"""What the program remembers of a person between two starts: theme, recent files, the place of the window."""

from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings

from levelbench.places import user_config

_RECENT = 8


class Preferences:
    """Kept in the person's own settings file."""

    def __init__(self, file: Path | None = None) -> None:
        self._settings = QSettings(str(file or user_config() / "window.ini"), QSettings.Format.IniFormat)

    @property
    def theme(self) -> str:
        """The name of the theme, "light" unless another was chosen."""
        return str(self._settings.value("theme", "light"))

    @theme.setter
    def theme(self, name: str) -> None:
        self._settings.setValue("theme", name)

    @property
    def recent(self) -> list[Path]:
        """The files opened last, newest first, those left out that are gone."""
        kept = self._settings.value("recent", [])
        names = [kept] if isinstance(kept, str) else list(kept if isinstance(kept, (list, tuple)) else ())
        return [Path(str(name)) for name in names if Path(str(name)).is_file()]

    def remember(self, path: Path) -> None:
        """Put a file at the head of the recent ones."""
        path = path.resolve()
        others = [one for one in self.recent if one != path]
        self._settings.setValue("recent", [str(one) for one in (path, *others)][:_RECENT])

    @property
    def trend(self) -> list[str] | None:
        """What was chosen to be seen on the trend; None before the first time."""
        kept = self._settings.value("trend")
        return None if kept is None else [name for name in str(kept).split(",") if name]

    @trend.setter
    def trend(self, names: list[str]) -> None:
        self._settings.setValue("trend", ",".join(names))

    @property
    def geometry(self) -> QByteArray | None:
        """Where the window was; None before the first time."""
        kept = self._settings.value("geometry")
        return kept if isinstance(kept, QByteArray) else None

    @geometry.setter
    def geometry(self, place: QByteArray) -> None:
        self._settings.setValue("geometry", place)
