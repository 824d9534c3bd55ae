"""Tune: the settings in any form and unit, edited in whichever the controller uses; a try edits nothing."""

import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from levelbench.gui.bench.mode_switch import ModeSwitch
from levelbench.gui.document.document import Document
from levelbench.gui.fields.value_cell import DOUBLE, ValueCell
from levelbench.gui.stages.tune import Tune
from levelbench.gui.tuning.setting_texts import FORMS, ROWS, Row, changes, number, plain_value, shown_values
from levelbench.gui.work.answers import Answers, Tuned, tune
from levelbench.gui.work.jobs import Progress
from levelbench.project import Project, edit_many, load, sample
from levelbench.rig import assemble
from levelbench.rig.settings import Settings
from levelbench.tuning.loop import settings_in

LONG = 100_000  # ms; the first test of a run compiles the scan
Keys = Qt.Key
NONE = ("parallel", "integral_rate")  # a parallel form has no repeats
ALT = Qt.KeyboardModifier.AltModifier


@pytest.fixture
def stage(qtbot: QtBot, document: Document) -> Tune:
    document.replace(edit_many(document.project, {"loop_settings.derivative": "2 s"}), None)
    answers = Answers(document)
    made = Tune(document, answers)
    qtbot.addWidget(made)
    made.resize(408, 1000)
    with qtbot.waitActive(made):
        made.show()
        made.activateWindow()
    qtbot.waitUntil(lambda: not answers.working and made.grid.isVisible(), timeout=LONG)
    return made


def loop(document: Document) -> Settings:
    return settings_in(assemble(document.project))


def worked_out(qtbot: QtBot, stage: Tune) -> None:
    qtbot.waitUntil(lambda: stage._answers.tuned is None, timeout=LONG)
    qtbot.waitUntil(lambda: not stage._answers.working, timeout=LONG)


def type_into(qtbot: QtBot, cell: ValueCell, words: str) -> None:
    cell.setFocus()
    cell.selectAll()
    qtbot.keyClicks(cell, words)
    qtbot.keyClick(cell, Keys.Key_Return)


def number_in(cell: ValueCell) -> float:
    return float(cell.text().split("/")[0])


def drag(cell: ValueCell, to: float, *, release: bool) -> None:
    """Press in the middle of a cell and pull it `to` px to the right."""
    at = QPointF(20, 10)
    left, none = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton
    steps = [(QEvent.Type.MouseButtonPress, 0.0, left, left), (QEvent.Type.MouseMove, to / 2, none, left)]
    steps.append((QEvent.Type.MouseMove, to, none, left))
    if release:
        steps.append((QEvent.Type.MouseButtonRelease, to, left, none))
    for kind, by, button, buttons in steps:
        place = at + QPointF(by, 0)
        event = QMouseEvent(kind, place, cell.mapToGlobal(place), button, buttons, Qt.KeyboardModifier.NoModifier)
        QApplication.sendEvent(cell, event)


def test_the_same_settings_stand_in_every_form(stage: Tune, document: Document) -> None:
    # Åström & Hägglund, PID Controllers (1995), chapter 3: Ki = K/Ti, Kd = K·Td; K = K'(1 + Td'/Ti'), Ti = Ti' + Td'
    cells = stage.grid.cells
    value = {(form, row.key): number_in(cells[form, row.key]) for form in ("standard", "series") for row in ROWS}
    k, ti, td = (value["standard", key] for key in ("gain_of_span", "integral_seconds", "derivative_seconds"))
    series = (value["series", key] for key in ("gain_of_span", "integral_seconds", "derivative_seconds"))
    k_s, ti_s, td_s = series
    assert k_s * (1 + td_s / ti_s) == pytest.approx(k, rel=1e-3)
    assert ti_s + td_s == pytest.approx(ti, rel=1e-3)
    assert ti_s * td_s / (ti_s + td_s) == pytest.approx(td, rel=1e-3)
    assert number_in(cells["parallel", "integral_seconds"]) == pytest.approx(k / ti, rel=1e-3)
    assert number_in(cells["parallel", "derivative_seconds"]) == pytest.approx(k * td, rel=1e-3)
    assert value["standard", "band"] == pytest.approx(100 / k, rel=1e-3)  # proportional band, IEC 60050-351
    assert value["standard", "integral_rate"] == pytest.approx(60 / ti, rel=1e-3)
    assert cells["parallel", "integral_rate"].text() == "–"
    assert stage.grid.heads["standard"].text() == "● standard"
    assert cells["standard", "gain"].property("own") == "yes"


@pytest.fixture(scope="module")
def with_derivative() -> tuple[Project, Tuned]:
    """A project with all three settings, and its tuning."""
    project = edit_many(load(sample("seedling_house")), {"loop_settings.derivative": "2 s"})
    return project, tune(assemble(project), Progress(lambda _fraction, _words: None))


@pytest.mark.parametrize(("form", "row"), [(form, row) for form in FORMS for row in ROWS if (form, row.key) != NONE])
def test_what_stands_in_a_cell_changes_only_the_writing(
    with_derivative: tuple[Project, Tuned], form: str, row: Row
) -> None:
    project, tuned = with_derivative
    words = number(plain_value(shown_values(tuned, form)[row.key]))
    edited = edit_many(project, changes(tuned, project.loop_settings, form, row, words))
    before, after = settings_in(assemble(project)), settings_in(assemble(edited))
    # four digits are typed, so the loop stays what it was to a few parts in a thousand
    assert after.gain == pytest.approx(before.gain, rel=2e-3)
    assert after.integral_time == pytest.approx(before.integral_time, rel=2e-3)
    assert after.derivative_time == pytest.approx(before.derivative_time, rel=5e-3)
    assert edited.loop_settings.form == form


@pytest.mark.parametrize("gain", ["1130 %/gal", "82.86 %/%", None])
def test_a_parallel_controller_keeps_its_rates_when_its_gain_is_typed(
    qtbot: QtBot, stage: Tune, document: Document, gain: str | None
) -> None:
    edits = {"gain": gain, "proportional_band": None if gain else "1.2 %", "form": "parallel"}
    edits |= {"integral": "51 1/s" if gain and "gal" in gain else "3.7 1/s", "derivative": "0 s"}
    document.edit_several({f"loop_settings.{key}": value for key, value in edits.items()})
    worked_out(qtbot, stage)
    before = loop(document)
    typed = stage.grid.cells["parallel", "gain_of_span"]
    share = number_in(typed)
    type_into(qtbot, typed, f"{share / 2:.5g}")
    after = loop(document)
    assert after.gain == pytest.approx(before.gain / 2, rel=2e-3)
    assert after.gain / after.integral_time == pytest.approx(before.gain / before.integral_time, rel=2e-3)


def test_a_band_in_series_form_is_one_undo_step(qtbot: QtBot, stage: Tune, document: Document) -> None:
    project = document.project
    type_into(qtbot, stage.grid.cells["series", "band"], "1.5")
    settings = document.project.loop_settings
    assert settings.form == "series"
    assert settings.gain is None
    assert settings.proportional_band is not None
    assert settings.proportional_band.text == "1.5 %"
    assert document.undo_stack.count() == 1
    document.undo_stack.undo()
    assert document.project == project


def test_a_value_of_another_unit_is_taken_as_typed(qtbot: QtBot, stage: Tune, document: Document) -> None:
    type_into(qtbot, stage.grid.cells["standard", "integral_seconds"], "1.8 min")
    integral = document.project.loop_settings.integral
    assert integral is not None
    assert integral.text == "1.8 min"


def test_what_cannot_be_read_is_refused_and_kept(qtbot: QtBot, stage: Tune, document: Document) -> None:
    project, cell = document.project, stage.grid.cells["standard", "integral_seconds"]
    type_into(qtbot, cell, "soon")
    assert cell.text() == "soon"
    assert stage.grid.reason.isVisible()
    assert stage.grid.reason.text().startswith("✗")
    assert document.project is project
    qtbot.keyClick(cell, Keys.Key_Escape)
    assert cell.text() == "22"
    assert not stage.grid.reason.isVisible()


def test_a_drag_previews_and_letting_go_is_one_undo_step(qtbot: QtBot, stage: Tune, document: Document) -> None:
    project, cell = document.project, stage.grid.cells["standard", "gain"]
    drag(cell, -2 * DOUBLE, release=False)
    assert cell.text() == "282.5"  # 1130 halved twice
    qtbot.waitUntil(lambda: stage.step.trying and stage.sentence.text().startswith("If taken"), timeout=LONG)
    assert "Gain lowered alone" in stage.sentence.text()
    assert "swing slowly" in stage.sentence.text()  # k'·K·Ti of 4.1 falls to a quarter; 4 is calm (Skogestad 2003)
    qtbot.waitUntil(lambda: any("→" in row.value.text() for row in stage._figure_rows()), timeout=LONG)
    assert document.project is project
    drag(cell, -2 * DOUBLE, release=True)
    assert document.undo_stack.count() == 1
    assert document.project.loop_settings.gain is not None
    assert document.project.loop_settings.gain.text.startswith("282.5")
    worked_out(qtbot, stage)
    assert not stage.step.trying
    assert stage.sentence.text().startswith("Gain lowered alone: now k'·K·Ti = 1")


def test_alt_and_arrows_try_and_escape_takes_back(qtbot: QtBot, stage: Tune, document: Document) -> None:
    project, cell = document.project, stage.grid.cells["standard", "integral_seconds"]
    cell.setFocus()
    for _ in range(3):
        qtbot.keyClick(cell, Keys.Key_Up, ALT)
    assert float(cell.text()) == pytest.approx(22 * 1.02**3, rel=1e-3)
    qtbot.waitUntil(lambda: stage.step.trying, timeout=LONG)
    qtbot.keyClick(cell, Keys.Key_Escape)
    assert cell.text() == "22"
    assert not stage.step.trying
    assert document.project is project
    qtbot.keyClick(cell, Keys.Key_Down, ALT)
    qtbot.keyClick(cell, Keys.Key_Return)
    assert document.undo_stack.count() == 1


def test_series_is_missing_with_the_reason_when_it_cannot_exist(qtbot: QtBot, stage: Tune, document: Document) -> None:
    document.edit("loop_settings.derivative", "8 s")  # Ti 22 s is less than 4 Td: no real factors
    worked_out(qtbot, stage)
    assert not stage.grid.cells["series", "gain"].isEnabled()
    assert "There is no series form" in stage.grid.missing.text()
    assert stage.grid.missing.isVisible()


def test_the_equation_is_drawn_in_the_form_in_hand(qtbot: QtBot, stage: Tune) -> None:
    assert stage.equation.height() > 40
    assert "1/Ti" in stage.equation.accessibleName()
    type_into(qtbot, stage.grid.cells["parallel", "gain_of_span"], "60")
    qtbot.waitUntil(lambda: "Ki" in stage.equation.accessibleName(), timeout=LONG)


def test_mode_and_output_of_the_running_bench(qtbot: QtBot) -> None:
    mode = ModeSwitch()
    qtbot.addWidget(mode)
    mode.show()
    acted: list[tuple[str, float]] = []
    mode.acted.connect(lambda what, value: acted.append((what, value)))
    assert not mode.manual.isEnabled()
    mode.follow(auto=True, output=0.25)
    assert mode.auto.isChecked()
    assert mode.now.text() == "OP 25 %"
    assert not mode.output.box.isEnabled()
    qtbot.mouseClick(mode.manual, Qt.MouseButton.LeftButton)
    mode.follow(auto=False, output=0.25)
    qtbot.keyClicks(mode.output.box, "140 %")
    qtbot.keyClick(mode.output.box, Keys.Key_Return)
    assert mode.output.reason.isVisible()
    mode.output.box.clear()
    qtbot.keyClicks(mode.output.box, "40 %")
    qtbot.keyClick(mode.output.box, Keys.Key_Return)
    assert acted == [("auto", 0.0), ("manual output", 0.4)]
