"""The tour: offered without blocking, done by hand or by itself, left at any time."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from levelbench.gui import app
from levelbench.gui.bench.bench import Bench
from levelbench.gui.dialogs import Unsaved
from levelbench.gui.help.tour import Tour
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences import Preferences
from levelbench.project import sample

LONG = 110_000  # ms; the first test of a run compiles the scan
LEFT = Qt.MouseButton.LeftButton
LOW = QSize(1272, 760)  # px; what a desktop of 1280 × 800 leaves a window inside its frame


@pytest.fixture
def whole(qtbot: QtBot, answer_unsaved: Callable[[Unsaved], list[str]]) -> Iterator[tuple[MainWindow, Bench]]:
    answer_unsaved(Unsaved.LET_GO)
    window, bench = app.make_window(sample("parts_washer"), Preferences())
    qtbot.addWidget(window)
    with qtbot.waitActive(window):
        window.show()
        window.activateWindow()
    yield window, bench
    window.close()


def assert_whole(window: MainWindow) -> None:
    """Nothing of the window scrolls out of sight, whatever the strip has to say."""
    QApplication.processEvents()
    room = window.centralWidget().contentsRect().height()
    assert window.inside.height() <= room, (
        f"{window.inside.height() - room} px too high: {window.help.tour.words.text()}"
    )


def step(qtbot: QtBot, tour: Tour, at: int) -> None:
    qtbot.waitUntil(lambda: tour.at == at, timeout=LONG)


def test_the_offer_blocks_nothing_and_goes_when_it_is_not_wanted(qtbot: QtBot, window: MainWindow) -> None:
    tour = window.help.tour
    assert not tour.isVisible()
    tour.offer()
    assert tour.isVisible()
    assert QApplication.activeModalWidget() is None
    qtbot.keyClick(window, Qt.Key.Key_3, Qt.KeyboardModifier.ControlModifier)
    assert window.rail.at == 2
    qtbot.mouseClick(tour.leave, LEFT)
    assert not tour.isVisible()


def test_the_offer_is_made_at_the_very_first_start_only(window: MainWindow, tmp_path: Path) -> None:
    tour, file = window.help.tour, tmp_path / "window.ini"
    tour.offer_once(Preferences(file))
    assert tour.isVisible()
    assert tour.do_it.text() == "Show me"
    tour.end()
    tour.offer_once(Preferences(file))
    assert not tour.isVisible()


def test_the_tour_can_be_left_in_the_middle(qtbot: QtBot, window: MainWindow) -> None:
    tour = window.help.tour
    tour.begin()
    assert tour.number.text() == "1 of 8"
    qtbot.mouseClick(tour.do_it, LEFT)
    step(qtbot, tour, 1)
    qtbot.mouseClick(tour.do_it, LEFT)  # there is no rig here to run: it waits
    assert tour.at == 1
    qtbot.mouseClick(tour.leave, LEFT)
    assert tour.at == -1
    assert not tour.isVisible()
    tour.begin()
    assert tour.at == 0
    window.close()


def test_somebody_who_stays_with_unsaved_work_is_asked_once(
    qtbot: QtBot, window: MainWindow, answer_unsaved: Callable[[Unsaved], list[str]]
) -> None:
    asked = answer_unsaved(Unsaved.STAY)
    window.document.edit("title", "My own tank")
    tour = window.help.tour
    tour.begin()
    qtbot.mouseClick(tour.do_it, LEFT)
    for _ in range(3):
        tour.look()
    assert len(asked) == 1
    assert tour.at == 0
    assert tour.do_it.isEnabled()
    assert window.document.project.title == "My own tank"
    tour.end()
    answer_unsaved(Unsaved.LET_GO)


def test_the_tour_does_the_whole_way_by_itself(qtbot: QtBot, whole: tuple[MainWindow, Bench]) -> None:
    window, bench = whole
    window.resize(LOW)
    tour = window.help.tour
    tour.offer()
    qtbot.mouseClick(tour.do_it, LEFT)
    for at in range(tour.length):
        step(qtbot, tour, at)
        assert_whole(window)
        if tour.words.text().startswith("Try a change"):
            qtbot.waitUntil(lambda: window.answers.checked is not None, timeout=LONG)
            tried = [one.title for one in window.answers.checked.findings if one.what_if]  # type: ignore[union-attr]
            assert any(f"“{title}”" in tour.words.text() for title in tried), tried
        qtbot.mouseClick(tour.do_it, LEFT)
    step(qtbot, tour, -1)
    assert_whole(window)
    assert tour.words.text().startswith("That was the whole way")
    assert window.document.project.title.startswith("Seedling house")
    assert window.document.edited
    assert window.rail.at == 5
    live = bench.live
    assert live is not None
    past = live.past()
    assert past is not None
    done = [action.what for action in past.actions]
    assert [what for what in ("set point", "echo lost", "reset", "power on") if what not in done] == []
    qtbot.mouseClick(tour.leave, LEFT)
    assert not tour.isVisible()
    tour.offer()
    assert_whole(window)


def test_what_a_person_does_counts(qtbot: QtBot, whole: tuple[MainWindow, Bench]) -> None:
    window, bench = whole
    tour = window.help.tour
    tour.begin()
    window.files.new_from(sample("parts_washer"))  # has neither gallons nor an echo, of which the next steps speak
    tour.look()
    assert tour.at == 0
    window.files.new_from(sample("seedling_house"))
    step(qtbot, tour, 1)
    qtbot.waitUntil(window.menus.run_action.isEnabled, timeout=LONG)
    qtbot.waitUntil(lambda: bench.live is not None and bench.live.view is not None, timeout=LONG)
    qtbot.keyClick(window, Qt.Key.Key_F5)
    step(qtbot, tour, 2)
    window.rail.choose(4)
    high = window.document.project.loop_settings.set_point_high.text
    box = window.rehearse.controls.set_point.box
    box.selectAll()
    qtbot.keyClicks(box, high)
    qtbot.keyClick(box, Qt.Key.Key_Return)
    step(qtbot, tour, 3)
    qtbot.mouseClick(window.bar.stop, LEFT)  # another way to stop it counts as well
    step(qtbot, tour, 4)
    qtbot.mouseClick(window.bar.stop, LEFT)
    qtbot.mouseClick(window.rehearse.controls.reset, LEFT)
    qtbot.mouseClick(window.rehearse.controls.start, LEFT)
    step(qtbot, tour, 5)
    qtbot.keyClick(window, Qt.Key.Key_2, Qt.KeyboardModifier.ControlModifier)
    step(qtbot, tour, 6)
    window.document.edit("loop_settings.set_point_weight", "0.6")
    step(qtbot, tour, 7)
    qtbot.keyClick(window, Qt.Key.Key_6, Qt.KeyboardModifier.ControlModifier)
    step(qtbot, tour, -1)
    assert "✓" in tour.number.text()
