"""What the program remembers of a person between two starts: looks, habits of new projects, recent files, layout."""

from collections.abc import Iterable
from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings

from levelbench.places import user_config
from levelbench.project import Value
from levelbench.project.records import Project
from levelbench.quantity import NumberFormat
from levelbench.quantity.notation import THIN_SPACE

RECENT = 8
THEMES = ("light", "dark", "system")
SCALES = (100, 110, 125, 150, 175, 200)  # %
AS_SAMPLE = "as in the sample"
UNITS = {
    AS_SAMPLE: None,
    "litres, millimetres, l/min": ("l", "mm", "l/min"),
    "US gallons, inches, US gal/min": ("US gal", "in", "US gal/min"),
    "imperial gallons, inches, imp gal/min": ("imp gal", "in", "imp gal/min"),
}
MARKS = {"point": ".", "comma": ","}
GROUPS = {"none": "", "thin space": THIN_SPACE}  # ISO 80000-1, 7.3.1: a small space, never a point or a comma
PAPERS = (AS_SAMPLE, "A4", "Letter")
LONGEST_NAME = 40


def one_line(name: str) -> str:
    """Give a person's name as one line of at most `LONGEST_NAME` characters, without any that can't be seen."""
    visible = "".join(one if one.isprintable() else " " for one in name)
    return " ".join(visible.split())[:LONGEST_NAME].strip()


class Memory:
    """What the program keeps by itself: recent files, layout, pens, stage. Nonsense counts as never kept."""

    def __init__(self, file: Path | None = None) -> None:
        self._settings = QSettings(str(file or user_config() / "window.ini"), QSettings.Format.IniFormat)

    def choice(self, name: str, choices: tuple[str, ...]) -> str:
        """Give which of some words is kept under a name, the first where it is none of them."""
        kept = str(self._settings.value(name, choices[0]))
        return kept if kept in choices else choices[0]

    def choose(self, name: str, word: str) -> None:
        """Keep a word under a name."""
        self._settings.setValue(name, word)

    @property
    def recent(self) -> list[Path]:
        """The files opened last, newest first, those that are gone as well."""
        kept = self._settings.value("recent", [])
        names = [kept] if isinstance(kept, str) else list(kept if isinstance(kept, (list, tuple)) else ())
        return [Path(str(name)) for name in names]

    def remember(self, path: Path) -> None:
        """Put a file at the head of the recent ones."""
        path = path.resolve()
        others = [one for one in self.recent if one != path]
        self._settings.setValue("recent", [str(one) for one in (path, *others)][:RECENT])

    def forget_recent(self) -> None:
        """Empty the list of recent files; the files stay."""
        self._settings.remove("recent")

    def layout(self, part: str) -> QByteArray | None:
        """Give how a part of the window was laid out; None before the first time."""
        kept = self._settings.value(f"layout/{part}")
        return kept if isinstance(kept, QByteArray) else None

    def remember_layout(self, part: str, how: QByteArray) -> None:
        """Keep how a part of the window is laid out."""
        self._settings.setValue(f"layout/{part}", how)

    @property
    def trend(self) -> list[str] | None:
        """What was chosen to be seen on the trend; None before the first time."""
        kept = self._settings.value("trend")
        return None if kept is None else [name for name in str(kept).split(",") if name]

    @trend.setter
    def trend(self, names: list[str]) -> None:
        self._settings.setValue("trend", ",".join(names))

    @property
    def stage(self) -> int:
        """The stage that was shown last, from 0."""
        return int(self.choice("layout/stage", ("0", "1", "2", "3", "4", "5")))

    @stage.setter
    def stage(self, at: int) -> None:
        self.choose("layout/stage", str(at))


class Chosen:
    """An attribute of a memory that is one of some words, the first of them until another is chosen."""

    def __init__(self, name: str, words: Iterable[str]) -> None:
        self._name, self._words = name, tuple(words)

    def __get__(self, memory: Memory, _of: type[Memory] | None = None) -> str:
        return memory.choice(self._name, self._words)

    def __set__(self, memory: Memory, word: str) -> None:
        memory.choose(self._name, word)


class Preferences(Memory):
    """Kept in the person's own settings file. What is kept there and makes no sense counts as never chosen."""

    theme = Chosen("theme", THEMES)  # light unless "dark" or "system" was chosen
    units = Chosen("units", UNITS)  # in which new projects show computed values
    paper = Chosen("paper", PAPERS)  # of new projects
    decimal_mark = Chosen("decimal mark", MARKS)  # of every number that is shown
    digit_groups = Chosen("digit groups", GROUPS)  # what stands between groups of three digits

    @property
    def scale(self) -> int:
        """How large everything is shown [%]; it takes effect at the next start."""
        return int(self.choice("scale", tuple(str(one) for one in SCALES)))

    @scale.setter
    def scale(self, percent: int) -> None:
        self.choose("scale", str(percent))

    @property
    def person(self) -> str:
        """Who goes into the journal with what is done; "" as long as nobody has said a name."""
        return one_line(str(self._settings.value("person", "")))

    @person.setter
    def person(self, name: str) -> None:
        self._settings.setValue("person", one_line(name))

    @property
    def number_format(self) -> NumberFormat:
        """How numbers are shown."""
        return NumberFormat(MARKS[self.decimal_mark], GROUPS[self.digit_groups])

    def for_a_new_project(self, project: Project) -> dict[str, Value]:
        """Give the entries in which a new project differs from what the person prefers; typed values stay."""
        wanted: dict[str, Value] = {}
        units = UNITS[self.units]
        if units is not None:
            wanted |= dict(zip(("display.volume", "display.length", "display.flow"), units, strict=True))
        if self.paper != AS_SAMPLE:
            wanted["sheet.paper"] = self.paper
        shown = project.display
        now = {
            "display.volume": shown.volume,
            "display.length": shown.length,
            "display.flow": shown.flow,
            "sheet.paper": project.sheet.paper,
        }
        return {key: value for key, value in wanted.items() if now[key] != value}
