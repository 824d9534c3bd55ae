"""The questions that the program asks: every answer means what its button says, Enter and Escape are the safe ones."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication, QMessageBox, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui import dialogs
from levelbench.gui.dialogs import Overwrite, Unsaved
from levelbench.project.recovery import Recovered

Question = Callable[[QWidget], object]
COPY = Recovered(Path("copy.toml"), Path("day_tank.toml"), datetime(2024, 3, 1, 12, 0, tzinfo=UTC))
QUESTIONS: dict[str, tuple[Question, dict[str, object]]] = {
    "unsaved": (
        lambda parent: dialogs.ask_about_unsaved(parent, "day tank"),
        {"Save": Unsaved.SAVE, "Let the changes go": Unsaved.LET_GO, "Stay here": Unsaved.STAY},
    ),
    "overwriting": (
        lambda parent: dialogs.ask_about_overwriting(parent, Path("day_tank.toml"), "12:00"),
        {"Save as …": Overwrite.ELSEWHERE, "Write over theirs": Overwrite.WRITE, "Don't save yet": Overwrite.STAY},
    ),
    "replacing": (
        lambda parent: dialogs.ask_about_replacing(parent, Path("out"), 7),
        {"Replace them": True, "Choose again": False},
    ),
    "recovered": (
        lambda parent: dialogs.ask_about_recovered(parent, COPY),
        {"Take it up": True, "Remove the copy": False, "Ask me later": None},
    ),
}
ANSWERS = [(name, words) for name, (_, answers) in QUESTIONS.items() for words in answers]


def asked(qtbot: QtBot, question: Question, answer: Callable[[QMessageBox], object]) -> object:
    """Ask on a window, answer once the question stands there, and give what came of it."""
    parent = QWidget()
    qtbot.addWidget(parent)

    def press() -> None:
        box = QApplication.activeModalWidget()
        assert isinstance(box, QMessageBox)
        answer(box)

    QTimer.singleShot(0, parent, press)
    return question(parent)


@pytest.mark.parametrize(("name", "words"), ANSWERS)
def test_each_answer_means_what_its_button_says(qtbot: QtBot, qapp: QApplication, name: str, words: str) -> None:
    question, answers = QUESTIONS[name]

    def press(box: QMessageBox) -> None:
        qtbot.mouseClick(next(one for one in box.buttons() if one.text() == words), Qt.MouseButton.LeftButton)

    assert asked(qtbot, question, press) is answers[words]


@pytest.mark.parametrize("name", QUESTIONS)
@pytest.mark.parametrize(("key", "at"), [(Qt.Key.Key_Return, 0), (Qt.Key.Key_Escape, -1)])
def test_enter_takes_the_first_answer_and_escape_the_last(
    qtbot: QtBot, qapp: QApplication, name: str, key: Qt.Key, at: int
) -> None:
    question, answers = QUESTIONS[name]
    assert asked(qtbot, question, lambda box: qtbot.keyClick(box, key)) is list(answers.values())[at]
