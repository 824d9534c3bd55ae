"""What the program says or asks at once: problems of a file, a failed save, unsaved work, a copy left behind."""

from collections.abc import Sequence
from enum import Enum
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QDialog, QMessageBox, QWidget

from levelbench.gui.document.disk import day
from levelbench.gui.help.anywhere import explain
from levelbench.gui.look.parts import button, column, holder, row, scrolling, text
from levelbench.gui.look.theme import GRID
from levelbench.project import Problem, ProjectProblems
from levelbench.project.recovery import Recovered

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
        rows.setContentsMargins(0, 0, GRID, 0)
        close = button("Close", self.accept, "main", "close; nothing was opened")
        close.setDefault(True)
        layout = column(
            text(f"{name}: {count}", "heading"),
            text(
                "Nothing was opened; your work is as it was. Correct the file in a text editor, then open it again.",
                wrap=True,
            ),
            scrolling(holder(rows)),
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
    box.open()


def ask_about_unsaved(parent: QWidget, title: str) -> Unsaved:
    """Ask what to do with unsaved work before it would be lost."""
    box = QMessageBox(parent)
    box.setWindowTitle("Save the changes? – LevelBench")
    box.setText(f"“{title}” has changes that are not saved.")
    save = box.addButton("Save", QMessageBox.ButtonRole.AcceptRole)
    let_go = box.addButton("Let the changes go", QMessageBox.ButtonRole.DestructiveRole)
    stay = box.addButton("Stay here", QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(save)
    box.setEscapeButton(stay)
    pressed = _pressed(box, "files#work-that-is-not-saved")
    return Unsaved.SAVE if pressed is save else Unsaved.LET_GO if pressed is let_go else Unsaved.STAY


def ask_about_overwriting(parent: QWidget, path: Path, clock: str) -> Overwrite:
    """Ask before a save writes over what another program wrote into the file."""
    box = QMessageBox(parent)
    box.setWindowTitle("Write over their changes? – LevelBench")
    box.setText(f"“{path.name}” was changed by another program at {clock}.")
    box.setInformativeText("Saving now replaces what it wrote with what is open here.")
    write = box.addButton("Write over theirs", QMessageBox.ButtonRole.DestructiveRole)
    elsewhere = box.addButton("Save as …", QMessageBox.ButtonRole.AcceptRole)
    stay = box.addButton("Don't save yet", QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(elsewhere)
    box.setEscapeButton(stay)
    pressed = _pressed(box, "files#changed-by-another-program")
    return Overwrite.WRITE if pressed is write else Overwrite.ELSEWHERE if pressed is elsewhere else Overwrite.STAY


def ask_about_replacing(parent: QWidget, folder: Path, count: int) -> bool:
    """Ask before an earlier hand-over in a folder is replaced."""
    box = QMessageBox(parent)
    box.setWindowTitle("Replace the earlier hand-over? – LevelBench")
    box.setText(f"“{folder.name}” holds {count} files of an earlier hand-over of this loop.")
    box.setInformativeText("They are replaced only when every new file is complete.")
    replace = box.addButton("Replace them", QMessageBox.ButtonRole.AcceptRole)
    stay = box.addButton("Choose again", QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(replace)
    box.setEscapeButton(stay)
    return _pressed(box, "files#handing-over-again") is replace


def ask_about_recovered(parent: QWidget, copy: Recovered) -> bool | None:
    """Ask what to do with a copy that an earlier start left behind: True take it up, False remove it, None later."""
    name = _named(copy.original)
    box = QMessageBox(parent)
    box.setWindowTitle("Work that was not saved – LevelBench")
    box.setText(f"An earlier start ended before its changes to {name} were saved.")
    kept = copy.kept.astimezone()
    box.setInformativeText(f"The copy was kept {day(kept)}, {kept:%H:%M}. The file itself is untouched.")
    take = box.addButton("Take it up", QMessageBox.ButtonRole.AcceptRole)
    remove = box.addButton("Remove the copy", QMessageBox.ButtonRole.DestructiveRole)
    later = box.addButton("Ask me later", QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(take)
    box.setEscapeButton(later)
    pressed = _pressed(box, "files#work-that-was-not-saved-before")
    return True if pressed is take else False if pressed is remove else None


def _pressed(box: QMessageBox, place: str) -> QAbstractButton | None:
    """Ask, and give the button that was pressed; F1 opens the help at a place."""
    explain(box, place)
    box.exec()
    box.deleteLater()
    return box.clickedButton()


def _named(path: Path | None) -> str:
    return f"“{path.name}”" if path else "a project that had no file yet"
