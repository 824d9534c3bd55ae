"""What is shown and taken away again leaves nothing behind in memory."""

from collections.abc import Callable

import pytest
from hands import Hands
from heap import allocated
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.look.parts import clear, row, text
from levelbench.gui.stages.rehearse import _KEPT, Rehearse
from levelbench.gui.station.messages import KEPT, Message, MessageList

pytestmark = pytest.mark.gui


def left_behind(app: QApplication, work: Callable[[int], object], warm: int, times: int) -> float:
    """What is allocated more after some rounds of work than before, for each of them [bytes]."""

    def go(begin: int, end: int) -> None:
        for at in range(begin, end):
            work(at)
            if at % 10 == 0:
                app.processEvents()
                QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)

    go(0, warm)
    before = allocated()
    go(warm, warm + times)
    return (allocated() - before) / times


def test_messages_of_the_run_that_are_dropped_are_gone(
    qtbot: QtBot, qapp: QApplication, document: Document, hands: Hands
) -> None:
    """An item of the list takes some 250 bytes; a run may say one every second for a week."""
    made = Rehearse(document, hands)
    qtbot.addWidget(made)
    made.show()
    each = left_behind(qapp, lambda at: made.tell(float(at), "process", "high alarm", "high"), _KEPT + 100, 1000)
    assert made.messages.count() == _KEPT
    assert "high alarm" in made.messages.item(0).text()
    assert each < 50


def test_messages_of_the_station_that_are_dropped_are_gone(qtbot: QtBot, qapp: QApplication) -> None:
    made = MessageList()
    qtbot.addWidget(made)
    made.show()
    each = left_behind(qapp, lambda at: made.add([Message(float(at), "high alarm", "new")]), 2 * KEPT, 1000)
    assert made.count() == len(made.said) == KEPT
    assert each < 50


def test_what_is_cleared_from_a_card_is_gone(qtbot: QtBot, qapp: QApplication) -> None:
    """A card's boxes are laid anew at every edit."""
    made = QWidget()
    qtbot.addWidget(made)
    place = QVBoxLayout(made)
    made.show()

    def lay(at: int) -> None:
        clear(place)
        place.addWidget(text(str(at)))
        place.addLayout(row(text("one"), None, text("other")))

    each = left_behind(qapp, lay, 200, 500)
    assert place.count() == 2
    assert each < 50
