"""What the program says or asks at once: problems of a file, a failed save, unsaved work, a copy left behind."""

from collections.abc import Sequence
from enum import Enum
from pathlib import Path
from typing import TypeVar

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QDialog, QGridLayout, QMessageBox, QSpacerItem, QWidget

from levelbench.gui.document.disk import day
from levelbench.gui.help.anywhere import explain
from levelbench.gui.look.parts import button, column, holder, restyle, row, scrolling, text
from levelbench.gui.look.theme import GRID
from levelbench.project import Problem, ProjectProblems
from levelbench.project.recovery import Recovered

T = TypeVar("T")
MOST = 100  # problems shown one by one; who has more is better served by another file


class Unsaved(Enum):
    """What a person wants done with work that is not saved."""

    SAVE = "save"
    LET_GO = "let go"
    STAY = "stay"


class Overwrite(Enum):
    """What a person wants when the file holds what another program wrote."""

    WRITE = "write over it"
    ELSEWHERE = "save under another name"
    STAY = "stay"


class ProblemsDialog(QDialog):
    """Everything that is wrong with a project file, at once: line, key, what was found and what is allowed."""

    def __init__(self, parent: QWidget, name: str, problems: Sequence[Problem]) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Not a project yet – LevelBench")
        self.setMinimumSize(560, 320)
        count = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
        boxes = [_problem_box(one) for one in problems[:MOST]]
        if len(problems) > MOST:
            boxes.append(text(f"… and {len(problems) - MOST} more, further down in the file.", "quiet"))
        rows = column(*boxes, None, gap=2 * GRID)
        rows.setContentsMargins(GRID, GRID, GRID, GRID)
        listed = scrolling(holder(rows))
        listed.setProperty("role", "card")
        close = button("Close", self.accept, "main", "close; nothing was opened")
        close.setDefault(True)
        layout = column(
            text(f"{name}: {count}", "heading"),
            text(
                "Nothing was opened; your work is as it was. Correct the file in a text editor, then open it again.",
                wrap=True,
            ),
            listed,
            row(None, close),
        )
        layout.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 2 * GRID)
        layout.setStretch(2, 1)
        self.setLayout(layout)
        explain(self, "files#not-a-project-yet")


def _problem_box(problem: Problem) -> QWidget:
    where = f"line {problem.line}" if problem.line else "the file"
    head = row(text(f"■ {where}", "stop-strong"), text(problem.key, "strong", selectable=True), None)
    words = text(problem.message, wrap=True, selectable=True)
    found = text(f"found {problem.found} · allowed: {problem.allowed}", "quiet", wrap=True, selectable=True)
    return holder(column(head, words, found, gap=GRID // 4))


def show_problems(parent: QWidget, error: ProjectProblems) -> None:
    """Show every problem of a file that was refused."""
    ProblemsDialog(parent, error.name, error.problems).open()


def show_trouble(parent: QWidget, what: str, error: Exception) -> None:
    """Say that something failed, in the words of its error."""
    box = QMessageBox(QMessageBox.Icon.NoIcon, f"{what} – LevelBench", f"■ {error}", parent=parent)
    box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    explain(box, "files#what-could-not-be-written")
    _dress(box, box.addButton(QMessageBox.StandardButton.Ok))
    box.open()


def ask_about_unsaved(parent: QWidget, title: str) -> Unsaved:
    """Ask what to do with unsaved work before it would be lost."""
    return _ask(
        parent,
        ("Save the changes?", f"“{title}” has changes that are not saved.", ""),
        (("Save", Unsaved.SAVE), ("Let the changes go", Unsaved.LET_GO), ("Stay here", Unsaved.STAY)),
        "files#work-that-is-not-saved",
    )


def ask_about_overwriting(parent: QWidget, path: Path, clock: str) -> Overwrite:
    """Ask before a save writes over what another program wrote into the file."""
    return _ask(
        parent,
        (
            "Write over their changes?",
            f"“{path.name}” was changed by another program at {clock}.",
            "Saving now replaces what it wrote with what is open here.",
        ),
        (
            ("Save as …", Overwrite.ELSEWHERE),
            ("Write over theirs", Overwrite.WRITE),
            ("Don't save yet", Overwrite.STAY),
        ),
        "files#changed-by-another-program",
    )


def ask_about_replacing(parent: QWidget, folder: Path, count: int) -> bool:
    """Ask before an earlier hand-over in a folder is replaced."""
    return _ask(
        parent,
        (
            "Replace the earlier hand-over?",
            f"“{folder.name}” holds {count} files of an earlier hand-over of this loop.",
            "They are replaced only when every new file is complete.",
        ),
        (("Replace them", True), ("Choose again", False)),
        "files#handing-over-again",
    )


def ask_about_recovered(parent: QWidget, copy: Recovered) -> bool | None:
    """Ask what to do with a copy that an earlier start left behind: True take it up, False remove it, None later."""
    kept = copy.kept.astimezone()
    return _ask(
        parent,
        (
            "Work that was not saved",
            f"An earlier start ended before its changes to {_named(copy.original)} were saved.",
            f"The copy was kept {day(kept)}, {kept:%H:%M}. The file itself is untouched.",
        ),
        (("Take it up", True), ("Remove the copy", False), ("Ask me later", None)),
        "files#work-that-was-not-saved-before",
    )


def _ask(parent: QWidget, said: tuple[str, str, str], answers: Sequence[tuple[str, T]], place: str) -> T:
    """Ask, and give what the pressed button stands for; F1 opens the help at a place.

    `said` is title, question, and what else there is to know. Enter takes the first answer, Escape and closing the
    last, which changes nothing; what lies between gives something up.
    """
    title, words, more = said
    box = QMessageBox(parent)
    box.setWindowTitle(f"{title} – LevelBench")
    box.setText(words)
    box.setInformativeText(more)
    role = QMessageBox.ButtonRole
    roles = (role.AcceptRole, *(role.DestructiveRole,) * (len(answers) - 2), role.RejectRole)
    buttons = [box.addButton(answer, kind) for (answer, _), kind in zip(answers, roles, strict=True)]
    box.setDefaultButton(buttons[0])
    box.setEscapeButton(buttons[-1])
    explain(box, place)
    _dress(box, buttons[0])
    box.exec()
    box.deleteLater()
    meant = {id(button): meaning for button, (_, meaning) in zip(buttons, answers, strict=True)}
    return meant.get(id(box.clickedButton()), answers[-1][1])


def _dress(box: QMessageBox, main: QAbstractButton | None) -> None:
    """Set a box as the other dialogs are: the first answer stands out, words and buttons begin at one edge."""
    if main is not None:
        restyle(main, role="main")
    grid = box.layout()
    if isinstance(grid, QGridLayout):
        room = grid.itemAtPosition(0, 0)  # kept free for a sign that the words carry themselves
        if isinstance(room, QSpacerItem):
            room.changeSize(0, 0)
            grid.setHorizontalSpacing(0)
            grid.setColumnStretch(1, 1)
        grid.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 2 * GRID)
        grid.setVerticalSpacing(GRID)


def _named(path: Path | None) -> str:
    return f"“{path.name}”" if path else "a project that had no file yet"
