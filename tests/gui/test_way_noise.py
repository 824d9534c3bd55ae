"""Noise on the card: worked out, looked at, taken in one step; from a record; boxes that refuse; a curve to walk on."""

from pathlib import Path

import pytest
from hands import show_way, types
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from levelbench.gui.bands import noise_view
from levelbench.gui.bands.way_noise import Noise
from levelbench.gui.document.document import Document
from levelbench.gui.help.pages import written
from levelbench.gui.work import jobs
from levelbench.gui.work.answers import Answers
from levelbench.project import Value, edit_many, load, sample, units
from levelbench.records import write_csv
from levelbench.rig import assemble, run

LONG = 100_000  # ms
Keys = Qt.Key
LEFT = Qt.MouseButton.LeftButton


def made(qtbot: QtBot, document: Document, changes: dict[str, Value]) -> Noise:
    document.replace(edit_many(load(sample("seedling_house")), changes), None)
    answers = Answers(document)
    way = Noise(document, answers)
    show_way(qtbot, way)
    qtbot.waitUntil(lambda: not answers.working and way.go.isEnabled(), timeout=LONG)
    return way


@pytest.fixture
def way(qtbot: QtBot, document: Document) -> Noise:
    return made(qtbot, document, {})


def worked_out(qtbot: QtBot, way: Noise) -> None:
    qtbot.mouseClick(way.go, LEFT)
    assert not way.go.isEnabled()
    qtbot.waitUntil(way.go.isEnabled, timeout=LONG)
    qtbot.waitUntil(lambda: jobs.busy() == 0, timeout=LONG)


def test_what_is_proposed_is_taken_in_one_step(qtbot: QtBot, way: Noise) -> None:
    worked_out(qtbot, way)
    view, document = way.view, way.document
    assert view.curve.isVisible()
    assert view.settings.text().startswith("Proposed:")
    assert "0.017 US gal" in view.settings.text()
    assert "a slow crossing" in view.says.text()
    assert "Closed form and count agree" in view.check.text()
    qtbot.waitUntil(lambda: len(view.table.words()) == 9, timeout=LONG)
    now, then = view.table.words()[1][1:]
    assert float(then.split()[0]) < float(now.split()[0])
    before = document.project.text
    qtbot.mouseClick(view.take, LEFT)
    band = document.project.bands.high
    assert band is not None
    assert (band.dead_band.text, band.on_delay.text) == ("0.017 gal", "0 s")
    assert document.undo_stack.undoText() == "take dead band and delays of high from its noise"
    document.undo_stack.undo()
    assert document.project.text == before


def test_the_curve_is_walked_on_and_pressed(qtbot: QtBot, way: Noise) -> None:
    worked_out(qtbot, way)
    view, curve = way.view, way.view.curve
    proposed = curve.at
    assert proposed is not None
    qtbot.keyClick(curve, Keys.Key_Right)
    qtbot.keyClick(curve, Keys.Key_Up)
    assert curve.at == (proposed[0], proposed[1] - 1, proposed[2] + 1, proposed[3])
    assert view.settings.text().startswith("Chosen:")
    assert curve.accessibleDescription().startswith("dead band")
    qtbot.keyClick(curve, Keys.Key_Home)
    assert curve.at == proposed
    scale = curve.scale
    assert scale is not None
    qtbot.mouseClick(curve, LEFT, pos=scale.places[0][8].toPoint())
    assert curve.at == (proposed[0], 0, 8, proposed[3])
    assert "half of the room" in view.state.text()
    for key in (Keys.Key_Up, Keys.Key_Right):
        qtbot.keyClick(curve, key)
        assert curve.at == (proposed[0], 0, 8, proposed[3])


def test_another_off_delay_moves_the_lines(qtbot: QtBot, way: Noise) -> None:
    worked_out(qtbot, way)
    view = way.view
    assert view.curve.scale is not None
    before = view.curve.scale.places[0][0]
    view.off.setFocus()
    qtbot.keyClick(view.off, Keys.Key_End)
    view.off.activated.emit(view.off.currentIndex())
    assert view.curve.scale is not None
    after = view.curve.scale.places[0][0]
    assert after.y() > before.y()  # fewer alarms
    assert "off-delay 60 s" in view.settings.text()


def test_work_can_be_stopped_and_what_was_there_stays(qtbot: QtBot, way: Noise) -> None:
    qtbot.mouseClick(way.go, LEFT)
    way.job_line.stop.click()
    qtbot.waitUntil(way.go.isEnabled, timeout=LONG)
    assert not way.view.curve.isVisible()
    assert way.state.text() == ""


def test_another_limit_begins_anew_and_points_at_it(qtbot: QtBot, way: Noise) -> None:
    worked_out(qtbot, way)
    way.limits.setFocus()
    with qtbot.waitSignal(way.looked_at) as heard:
        qtbot.keyClick(way.limits, Keys.Key_Down)
        way.limits.activated.emit(way.limits.currentIndex())
    assert heard.args == ["bands.low.limit"]
    assert not way.view.curve.isVisible()
    assert way.form.normal.boxes[0].text() == "2 US gal"
    worked_out(qtbot, way)
    assert "1.75 US gal" in way.view.settings.text()


def test_an_answer_for_the_limit_before_is_not_shown(qtbot: QtBot, way: Noise) -> None:
    qtbot.mouseClick(way.go, LEFT)
    way.limits.setCurrentIndex(way.limits.findData("low"))
    way.limits.activated.emit(way.limits.currentIndex())
    qtbot.waitUntil(lambda: jobs.busy() == 0, timeout=LONG)
    assert way.view.found is None


@pytest.mark.parametrize(
    ("box", "words", "said"),
    [
        ("slow", "none", "✗"),
        ("slow", "0 h", "more than nothing"),
        ("normal", "4.5 gal", "no room to the limit"),
        ("rate", "-1 gal/min", "more than nothing"),
    ],
)
def test_a_box_says_why_it_refuses(qtbot: QtBot, way: Noise, box: str, words: str, said: str) -> None:
    typed = getattr(way.form, box)
    types(qtbot, typed.boxes[0], words)
    qtbot.mouseClick(way.go, LEFT)
    assert way.go.isEnabled()
    assert said in typed.under.text()


def test_a_slower_creep_makes_more_alarms(qtbot: QtBot, way: Noise) -> None:
    worked_out(qtbot, way)

    def most() -> float:
        found = way.view.found
        assert found is not None
        return float(found.grid.crossings.max())

    first = most()
    types(qtbot, way.form.slow.boxes[0], "24 h")
    worked_out(qtbot, way)
    assert most() == pytest.approx(3 * first, rel=0.15)


def test_a_change_of_the_project_is_said(qtbot: QtBot, way: Noise) -> None:
    worked_out(qtbot, way)
    way.document.edit("bands.high.limit", "4.4 gal")
    qtbot.waitUntil(lambda: way.view.says.text().startswith("The project has changed"), timeout=LONG)


def test_a_limit_in_disorder_says_so(qtbot: QtBot, document: Document) -> None:
    way = made(qtbot, document, {"bands.high.limit": "3.5 gal"})
    assert "order first" in way.state.text()
    qtbot.mouseClick(way.go, LEFT)
    assert "order first" in way.state.text()
    assert not way.view.curve.isVisible()


def test_the_noise_of_a_record(qtbot: QtBot, way: Noise, tmp_path: Path) -> None:
    rig = assemble(load(sample("seedling_house")))
    path = tmp_path / "record.csv"
    write_csv(run(rig, 1200.0, seed=2), path, units(rig.project))
    way.take_file(path)
    qtbot.waitUntil(lambda: way.measured is not None and jobs.busy() == 0, timeout=LONG)
    assert "record" in way.of.text()
    worked_out(qtbot, way)
    assert way.view.curve.isVisible()
    qtbot.mouseClick(way.simulate, LEFT)
    assert way.measured is None
    assert not way.simulate.isVisible()


def test_a_file_that_is_no_record_is_refused_in_words(qtbot: QtBot, way: Noise, tmp_path: Path) -> None:
    path = tmp_path / "no.csv"
    path.write_text("nothing here\n", encoding="utf-8")
    way.take_file(path)
    qtbot.waitUntil(lambda: way.state.text().startswith("■"), timeout=LONG)


def test_before_anything_is_worked_out_it_says_what_comes(way: Noise) -> None:
    assert way.view.says.text() == noise_view._FIRST
    assert not way.view.curve.isVisible()


def test_its_page_of_the_help_names_what_stands_on_it() -> None:
    page = written("alarms-noise")
    for words in ("Take it from a record", "PV at rest", "Creeps there in", "Worst net rate", "Take it"):
        assert words in page.markdown
