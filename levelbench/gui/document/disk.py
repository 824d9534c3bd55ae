"""What a project's file holds now, so that a change by another program is noticed: read and compared by content."""

import contextlib
import hashlib
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from pathlib import Path

from levelbench.project import load
from levelbench.project.records import Project
from levelbench.project.saving import clear_left_behind

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


class State(Enum):
    """How a file stands to what is known of it."""

    SAME = "same"
    CHANGED = "changed"
    GONE = "gone"
    FOLDER_GONE = "folder gone"


@dataclass(frozen=True)
class FromFile:
    """A project as it was read, its file, and the mark of the file's content at that moment."""

    project: Project
    path: Path
    mark: str


@dataclass(frozen=True)
class Seen:
    """What a look at a file showed, and since when it is so."""

    state: State
    mark: str
    when: datetime

    @property
    def clock(self) -> str:
        """The time in hours and minutes, with the day where that is not today."""
        today = datetime.now().astimezone().date()
        return f"{self.when:%H:%M}" if self.when.date() == today else f"{self.when:%H:%M} on {day(self.when)}"


def day(when: datetime) -> str:
    """Give a day in the words of the rest of the window; the system's own would be in the system's language."""
    return f"{when.day} {MONTHS[when.month - 1]} {when.year}"


def mark_of(path: Path) -> str:
    """Give a mark that tells one content of a file from another; empty: there is no file that can be read."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""


def from_file(path: Path) -> FromFile:
    """Read a project file. Raises ProjectProblems with everything that is wrong with it.

    The mark is taken first: what another program writes in between is noticed at the next look. What a save that was
    killed left beside the file goes.
    """
    clear_left_behind(path.parent)
    mark = mark_of(path)
    return FromFile(load(path), path, mark)


def look(path: Path, known: str) -> Seen:
    """Look at a file of which the content marked `known` is known."""
    mark = mark_of(path)
    now = datetime.now().astimezone()
    if not mark:
        return Seen(State.GONE if path.parent.is_dir() else State.FOLDER_GONE, "", now)
    if mark == known:
        return Seen(State.SAME, mark, now)
    with contextlib.suppress(OSError):  # it went between the two looks; the next one says so
        now = datetime.fromtimestamp(path.stat().st_mtime).astimezone()
    return Seen(State.CHANGED, mark, now)
