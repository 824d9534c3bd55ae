"""The stages are made when they are wanted: the chosen one at once, the others after the window has been seen."""

import subprocess
import sys
from collections.abc import Callable, Iterator

import pytest
from hands import Hands
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui import app
from levelbench.gui.dialogs import Unsaved
from levelbench.gui.document.document import Document
from levelbench.gui.look.turns import in_turn
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences import Preferences
from levelbench.gui.stages import staged
from levelbench.gui.stages.staged import DESCRIBE, ORDER
from levelbench.gui.work.answers import Answers

HEAVY = ("numpy", "scipy", "numba", "pint", "pyqtgraph", "pypdfium2", "reportlab")


class Windows(QObject):
    """Notes every widget that is shown as a window of its own."""

    def __init__(self) -> None:
        super().__init__()
        self.shown: list[QWidget] = []

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Look at what is shown."""
        if event.type() == QEvent.Type.Show and isinstance(watched, QWidget) and watched.isWindow():
            self.shown.append(watched)
        return False


@pytest.fixture
def windows(qapp: QApplication) -> Iterator[Windows]:
    made = Windows()
    qapp.installEventFilter(made)
    yield made
    qapp.removeEventFilter(made)


@pytest.fixture
def fresh(qtbot: QtBot, document: Document, hands: Hands, answer_unsaved: Callable[[Unsaved], list[str]]) -> MainWindow:
    """A window that nobody has seen yet."""
    answer_unsaved(Unsaved.LET_GO)
    made = MainWindow(document, Answers(document, wait=True), hands, Preferences())
    made.rail.choose(DESCRIBE)
    qtbot.addWidget(made)
    return made


def made_in(window: MainWindow) -> list[str]:
    return [name for name in ORDER if name in vars(window)]


def test_only_the_chosen_stage_is_made_before_the_window_is_seen(qtbot: QtBot, fresh: MainWindow) -> None:
    assert made_in(fresh) == ["describe"]
    with qtbot.waitSignal(fresh.all_made):
        fresh.show()
    assert made_in(fresh) == list(ORDER)


def test_the_stage_that_was_left_last_time_is_the_first_one_made(
    qtbot: QtBot, answer_unsaved: Callable[[Unsaved], list[str]]
) -> None:
    answer_unsaved(Unsaved.LET_GO)
    preferences = Preferences()
    preferences.stage = ORDER.index("rehearse")
    window, _ = app.make_window(None, preferences)
    qtbot.addWidget(window)
    assert made_in(window) == ["rehearse"]
    assert window.cards.currentWidget() is window.rehearse


@pytest.mark.parametrize("at", range(len(ORDER)))
def test_a_stage_that_is_chosen_early_is_made_then_and_once(qtbot: QtBot, fresh: MainWindow, at: int) -> None:
    fresh.rail.choose(at)
    chosen = fresh.stage(at)
    with qtbot.waitSignal(fresh.all_made):
        fresh.show()
    assert fresh.stage(at) is chosen
    assert chosen.isVisible()
    assert not any(fresh.stage(other).isVisible() for other in range(len(ORDER)) if other != at)
    assert fresh.cards.count() == len(ORDER) - 1


def test_nothing_is_shown_as_a_window_of_its_own(qtbot: QtBot, fresh: MainWindow, windows: Windows) -> None:
    with qtbot.waitSignal(fresh.all_made):
        fresh.show()
    assert windows.shown == [fresh]


def test_a_window_closed_at_once_makes_no_more_stages(qtbot: QtBot, fresh: MainWindow) -> None:
    with qtbot.waitSignal(fresh.seen):
        fresh.show()
    fresh.close()
    QApplication.processEvents()
    assert made_in(fresh) == ["describe"]


def test_the_keyboard_goes_from_the_rail_into_the_card(window: MainWindow) -> None:
    """However late a stage was made: rail, card, then the bar at the foot, whose controls may be shut or open."""
    turn = in_turn(window)

    def places(part: QWidget) -> list[int]:
        return [at for at, one in enumerate(turn) if part.isAncestorOf(one)]

    for at, name in enumerate(ORDER):
        assert max(places(window.rail)) < min(places(window.stage(at))) < min(places(window.bar)), name


def test_a_field_is_typed_into_before_the_other_stages_are_there(qtbot: QtBot, fresh: MainWindow) -> None:
    with qtbot.waitSignal(fresh.seen):
        fresh.show()
    assert made_in(fresh) == ["describe"]
    fresh.go_to("tank.diameter")
    box = QApplication.focusWidget()
    assert isinstance(box, QLineEdit)
    box.selectAll()
    qtbot.keyClicks(box, "250 mm")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert fresh.document.project.tank.diameter is not None
    assert fresh.document.project.tank.diameter.si == 0.25


def test_it_is_told_when_the_library_of_units_is_missing(
    qtbot: QtBot, fresh: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing() -> None:
        raise ModuleNotFoundError("No module named 'pint'.")

    monkeypatch.setattr(staged, "load_library", missing)
    with qtbot.waitSignal(fresh.troubled):
        fresh.show()
    assert fresh.header.news.text().startswith("▲ Rare units can't be read: No module named 'pint'.")


def test_the_window_brings_in_nothing_heavy() -> None:
    """What a window imports before it is seen; everything here costs a tenth of a second or more."""
    code = (
        "import sys, levelbench.gui.app, levelbench.gui.stages.describe\n"
        f"sys.exit(', '.join(name for name in {HEAVY} if name in sys.modules) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
