"""Tune: the settings in any form and unit, edited in whichever the controller uses; a try edits nothing."""

import pytest
from hands import show_stage
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from levelbench.gui.bench.mode_switch import ModeSwitch
from levelbench.gui.document.document import Document
from levelbench.gui.fields.entry_keys import typed
from levelbench.gui.fields.value_cell import DOUBLE, ValueCell
from levelbench.gui.tuning.setting_texts import ROWS
from levelbench.gui.tuning.way_hand import Hand
from levelbench.gui.work.answers import Answers
from levelbench.project import edit_many
from levelbench.rig import assemble
from levelbench.rig.settings import Settings
from levelbench.tuning.loop import settings_in

LONG = 100_000  # ms; the first test of a run compiles the scan
Keys = Qt.Key
NONE = ("parallel", "integral_rate")  # a parallel form has no repeats
ALT = Qt.KeyboardModifier.AltModifier


@pytest.fixture
def stage(qtbot: QtBot, document: Document) -> Hand:
    document.replace(edit_many(document.project, {"loop_settings.derivative": "2 s"}), None)
    answers = Answers(document)
    made = Hand(document, answers)
    show_stage(qtbot, made, 1000)
    qtbot.waitUntil(lambda: not answers.working and made.grid.isVisible(), timeout=LONG)
    return made


def loop(document: Document) -> Settings:
    return settings_in(assemble(document.project))


def worked_out(qtbot: QtBot, stage: Hand) -> None:
    qtbot.waitUntil(lambda: stage.answers.tuned is None, timeout=LONG)
    qtbot.waitUntil(lambda: not stage.answers.working, timeout=LONG)


def type_into(qtbot: QtBot, cell: ValueCell, words: str) -> None:
    cell.setFocus()
    cell.selectAll()
    qtbot.keyClicks(cell, words)
    qtbot.keyClick(cell, Keys.Key_Return)


def number_in(cell: ValueCell) -> float:
    return float(cell.text().split("/")[0])


def drag(cell: QLineEdit, to: float, *, release: bool) -> None:
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


def test_the_same_settings_stand_in_every_form(stage: Hand, document: Document) -> None:
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
    assert [one for one, head in stage.grid.heads.items() if head.isChecked()] == ["standard"]
    assert cells["standard", "gain"].property("own") == "yes"


@pytest.mark.parametrize("gain", ["1130 %/gal", "82.86 %/%", None])
def test_a_parallel_controller_keeps_its_rates_when_its_gain_is_typed(
    qtbot: QtBot, stage: Hand, document: Document, gain: str | None
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


def test_a_series_band_typed_beside_a_gain_per_volume_is_one_undo_step(
    qtbot: QtBot, stage: Hand, document: Document
) -> None:
    type_into(qtbot, stage.grid.cells["series", "band"], "1.5")
    settings = document.project.loop_settings
    assert settings.form == "standard"
    assert settings.proportional_band is None
    assert settings.gain is not None
    assert settings.gain.text.endswith("%/gal")  # as the file spells it
    assert document.undo_stack.count() == 1
    assert document.undo_stack.undoText().startswith("set gain to ")
    worked_out(qtbot, stage)
    assert float(stage.grid.cells["series", "band"].text()) == pytest.approx(1.5, rel=1e-3)


def test_a_form_is_taken_by_its_name(qtbot: QtBot, stage: Hand, document: Document) -> None:
    before = loop(document)
    qtbot.mouseClick(stage.grid.heads["parallel"], Qt.MouseButton.LeftButton)
    settings = document.project.loop_settings
    assert settings.form == "parallel"
    assert settings.gain is not None
    assert settings.gain.text == "1130 %/gal"
    after = loop(document)
    assert (after.gain, after.derivative_time) == pytest.approx((before.gain, before.derivative_time), rel=1e-4)
    assert after.integral_time == pytest.approx(before.integral_time, rel=1e-4)
    assert document.undo_stack.undoText().startswith("set form to parallel")
    worked_out(qtbot, stage)
    assert stage.grid.heads["parallel"].isChecked()
    assert "per US gal" in stage.grid.missing.text()


def test_a_value_of_another_unit_is_taken_as_typed(qtbot: QtBot, stage: Hand, document: Document) -> None:
    type_into(qtbot, stage.grid.cells["standard", "integral_seconds"], "1.8 min")
    integral = document.project.loop_settings.integral
    assert integral is not None
    assert integral.text == "1.8 min"


def test_what_cannot_be_read_is_refused_and_kept(qtbot: QtBot, stage: Hand, document: Document) -> None:
    project, cell = document.project, stage.grid.cells["standard", "integral_seconds"]
    type_into(qtbot, cell, "soon")
    assert cell.text() == "soon"
    assert stage.grid.reason.isVisible()
    assert stage.grid.reason.text().startswith("✗")
    assert document.project is project
    qtbot.keyClick(cell, Keys.Key_Escape)
    assert cell.text() == "22"
    assert not stage.grid.reason.isVisible()


def test_a_drag_previews_and_letting_go_is_one_undo_step(qtbot: QtBot, stage: Hand, document: Document) -> None:
    project, cell = document.project, stage.grid.cells["standard", "gain"]
    drag(cell, -2 * DOUBLE, release=False)
    assert cell.text() == "282.5"  # 1130 halved twice
    qtbot.waitUntil(lambda: stage.does.step.trying and stage.does.sentence.text().startswith("If taken"), timeout=LONG)
    assert "Gain lowered alone" in stage.does.sentence.text()
    assert "swing slowly" in stage.does.sentence.text()  # k'·K·Ti of 4.1 falls to a quarter; 4 is calm (Skogestad 2003)
    qtbot.waitUntil(lambda: stage.does.table.comparing, timeout=LONG)
    assert document.project is project
    drag(cell, -2 * DOUBLE, release=True)
    assert document.undo_stack.count() == 1
    assert document.project.loop_settings.gain is not None
    assert document.project.loop_settings.gain.text.startswith("282.5")
    worked_out(qtbot, stage)
    assert not stage.does.step.trying
    assert stage.does.sentence.text().startswith("Gain lowered alone: now k'·K·Ti = 1")


def test_alt_and_arrows_try_and_escape_takes_back(qtbot: QtBot, stage: Hand, document: Document) -> None:
    project, cell = document.project, stage.grid.cells["standard", "integral_seconds"]
    cell.setFocus()
    for _ in range(3):
        qtbot.keyClick(cell, Keys.Key_Up, ALT)
    assert float(cell.text()) == pytest.approx(22 * 1.02**3, rel=1e-3)
    qtbot.waitUntil(lambda: stage.does.step.trying, timeout=LONG)
    qtbot.keyClick(cell, Keys.Key_Escape)
    assert cell.text() == "22"
    assert not stage.does.step.trying
    assert document.project is project
    qtbot.keyClick(cell, Keys.Key_Down, ALT)
    qtbot.keyClick(cell, Keys.Key_Return)
    assert document.undo_stack.count() == 1


def test_series_is_missing_with_the_reason_when_it_cannot_exist(qtbot: QtBot, stage: Hand, document: Document) -> None:
    document.edit("loop_settings.derivative", "8 s")  # Ti 22 s is less than 4 Td: no real factors
    worked_out(qtbot, stage)
    assert not stage.grid.cells["series", "gain"].isEnabled()
    assert "There is no series form" in stage.grid.missing.text()
    assert stage.grid.missing.isVisible()


def test_the_equation_is_drawn_in_the_form_in_hand(qtbot: QtBot, stage: Hand) -> None:
    assert stage.equation.height() > 40
    assert "1/Ti" in stage.equation.accessibleName()
    qtbot.mouseClick(stage.grid.heads["parallel"], Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "Ki" in stage.equation.accessibleName(), timeout=LONG)


def field_box(stage: Hand, key: str) -> QLineEdit:
    form = stage.first if key in stage.first.fields else stage.more
    box = form.fields[key].boxes()[0]
    assert isinstance(box, QLineEdit)
    return box


def test_a_field_is_tried_while_it_is_typed_and_escape_takes_it_back(
    qtbot: QtBot, stage: Hand, document: Document
) -> None:
    project, box = document.project, field_box(stage, "loop_settings.integral")
    box.setFocus()
    box.selectAll()
    qtbot.keyClicks(box, "4 s")
    qtbot.waitUntil(lambda: stage.does.step.trying and stage.does.sentence.text().startswith("If taken"), timeout=LONG)
    qtbot.waitUntil(lambda: stage.grid.cells["standard", "integral_seconds"].text() == "4", timeout=LONG)
    assert document.project is project
    qtbot.keyClick(box, Keys.Key_Escape)
    assert box.text() == "22 s"
    assert not stage.does.step.trying
    assert stage.grid.cells["standard", "integral_seconds"].text() == "22"


@pytest.mark.parametrize(
    ("key", "pulled"),
    [
        ("loop_settings.set_point_weight", (-DOUBLE, "0.25")),
        ("loop_settings.pv_filter", (DOUBLE, "2 s")),
        ("loop_settings.output_high", (-DOUBLE, "50 %")),
        ("loop_settings.integral", (DOUBLE, "44 s")),
    ],
)
def test_weight_filter_and_limits_are_scrubbed(
    qtbot: QtBot, stage: Hand, document: Document, key: str, pulled: tuple[float, str]
) -> None:
    pull, becomes = pulled
    stage.resize(408, 480)  # as on the card in a window of 1280 × 760
    document.edit("loop_settings.set_point_weight", "0.5")
    worked_out(qtbot, stage)
    stage.go_to(key, focus=False)
    box, project, steps = field_box(stage, key), document.project, document.undo_stack.count()
    drag(box, pull, release=False)
    assert box.text() == becomes
    qtbot.waitUntil(lambda: stage.does.sentence.text().startswith("If taken"), timeout=LONG)
    for shown in (stage.does.step, stage.does.load):  # whoever drags sees what it does
        assert shown.visibleRegion().boundingRect() == shown.rect(), shown.accessibleName()
    assert document.project is project
    drag(box, pull, release=True)
    assert document.undo_stack.count() == steps + 1
    assert typed(document.project, key) == becomes
    assert becomes in document.undo_stack.undoText()


def test_keys_scrub_a_field_and_leaving_takes_it_back(qtbot: QtBot, stage: Hand, document: Document) -> None:
    project, box = document.project, field_box(stage, "loop_settings.integral")
    box.setFocus()
    qtbot.keyClick(box, Keys.Key_Right, ALT)
    assert box.text() == "22.44 s"
    stage.grid.cells["standard", "gain"].setFocus()
    assert box.text() == "22 s"
    assert document.project is project
    box.setFocus()
    qtbot.keyClick(box, Keys.Key_Left, ALT)
    qtbot.keyClick(box, Keys.Key_Return)
    assert typed(document.project, "loop_settings.integral") == "21.57 s"


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
