"""A record on the card: looked at, its columns confirmed or changed, shown to be zoomed into; what is wrong is said."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hands import show_way
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QTimer, QUrl
from PySide6.QtGui import QDropEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.main_window import MainWindow
from levelbench.gui.tuning.record_lines import RecordLine
from levelbench.gui.tuning.way_record import Record
from levelbench.gui.work import jobs
from levelbench.gui.work.answers import Answers
from levelbench.project import edit, load, sample
from levelbench.quantity import Dimension
from levelbench.rig import assemble

TWO_TANKS = Path(__file__).parents[1] / "data" / "two_tanks_record.csv"
LONG = 20_000  # ms
DIRECT = Qt.FindChildOption.FindDirectChildrenOnly


@pytest.fixture
def way(qtbot: QtBot, document: Document) -> Iterator[Record]:
    document.replace(load(sample("seedling_house")), None)
    made = Record(document, Answers(document, wait=True))
    show_way(qtbot, made)
    yield made
    jobs.stop_all()


def opened(qtbot: QtBot, way: Record, path: Path) -> None:
    with qtbot.waitSignal(way.measured_changed, timeout=LONG):
        way.open(path)


def table(tmp_path: Path, head: str, rows: list[str]) -> Path:
    path = tmp_path / "record.csv"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


def choose(qtbot: QtBot, way: Record, box: QComboBox, words: str) -> None:
    """Choose as a person does with the keyboard; the record is read again."""
    at = next(at for at in range(box.count()) if words in box.itemText(at))
    box.setFocus()
    with qtbot.waitSignal(way.measured_changed, timeout=LONG):
        qtbot.keyClick(box, Qt.Key.Key_Home)
        for _ in range(at):
            qtbot.keyClick(box, Qt.Key.Key_Down)
        box.activated.emit(at)


def typed(qtbot: QtBot, way: Record, box: QLineEdit, words: str) -> None:
    box.setFocus()
    box.selectAll()
    with qtbot.waitSignal(way.measured_changed, timeout=LONG):
        qtbot.keyClicks(box, words)
        qtbot.keyClick(box, Qt.Key.Key_Return)


def test_a_record_shows_what_was_guessed_and_why(qtbot: QtBot, way: Record) -> None:
    opened(qtbot, way, TWO_TANKS)
    rows = way.columns.rows
    assert [rows[role].column.currentText() for role in ("time", "pv", "output")] == [
        "1 time", "3 level signal", "2 pump drive",
    ]  # fmt: skip
    assert [rows[role].unit.currentText() for role in ("time", "pv", "output")] == ["s", "V", "V"]
    assert "level" in rows["pv"].why.text()
    assert "0 % and 100 %" in way.questions.text()
    assert way.notes.text() == "Every row was read."
    assert way.measured is not None
    assert len(way.measured) == 1024
    assert not way.of_rig.isChecked()  # volts can't be those of a tank that is described in litres or gallons


def test_another_scale_and_unit_are_read_again(qtbot: QtBot, way: Record) -> None:
    opened(qtbot, way, TWO_TANKS)
    assert way.measured is not None
    before = way.measured.output
    typed(qtbot, way, way.columns.rows["output"].high, "5")
    np.testing.assert_allclose(way.measured.output, 2 * before)
    pv = way.columns.rows["pv"]
    pv.at_low.setText("0 in")
    typed(qtbot, way, pv.at_high, "20 in")
    assert way.measured.pv_dimension is Dimension.LENGTH
    assert way.measured.pv[0] == pytest.approx(5.205 * 2 * 0.0254)  # 10 V are 20 in
    choose(qtbot, way, way.columns.rows["time"].unit, "min")
    assert way.measured.step == pytest.approx(240.0)


def test_a_doubt_is_asked_until_it_is_answered_or_confirmed(qtbot: QtBot, way: Record) -> None:
    opened(qtbot, way, TWO_TANKS)
    assert way.questions.isVisible()
    assert way.columns.isVisible()
    qtbot.mouseClick(way.confirm, Qt.MouseButton.LeftButton)
    assert not way.questions.isVisible()
    assert not way.columns.isVisible()
    opened(qtbot, way, TWO_TANKS)
    assert way.questions.isVisible()
    typed(qtbot, way, way.columns.rows["output"].high, "5")
    assert not way.questions.isVisible()


def test_columns_that_leave_no_doubt_are_folded_and_said_in_a_line(qtbot: QtBot, way: Record, tmp_path: Path) -> None:
    opened(qtbot, way, table(tmp_path, "t [s],level [in],OP [%]", [f"{at},{5 + at / 8},40" for at in range(20)]))
    assert not way.columns.isVisible()
    assert way.taken.text() == "time “t [s]” · PV “level [in]” · output “OP [%]”"


def test_a_level_becomes_a_volume_on_this_rig_and_stays_a_level_on_another(
    qtbot: QtBot, way: Record, tmp_path: Path
) -> None:
    rig = assemble(way.document.project)
    way.answers.rig_changed.emit(rig)
    opened(qtbot, way, table(tmp_path, "t [s],level [in],OP [%]", [f"{at},{5 + at / 8},40" for at in range(20)]))
    assert way.measured is not None
    assert way.of_rig.isChecked()
    assert way.measured.pv[0] == pytest.approx(rig.strapping.volume_at(5 * 0.0254))
    with qtbot.waitSignal(way.measured_changed, timeout=LONG):
        way.of_rig.click()
    assert way.measured.pv[0] == pytest.approx(5 * 0.0254)


def test_a_change_of_the_rig_reads_the_record_again_only_where_it_is_seen_otherwise(
    qtbot: QtBot, way: Record, tmp_path: Path
) -> None:
    project = way.document.project
    way.answers.rig_changed.emit(assemble(project))
    opened(qtbot, way, table(tmp_path, "t [s],level [in],OP [%]", [f"{at},{5 + at / 8},40" for at in range(20)]))
    before = way.measured
    assert before is not None
    way.answers.rig_changed.emit(assemble(edit(project, "loop_settings.set_point_weight", "0.5")))
    assert not any(timer.isActive() for timer in way.findChildren(QTimer, options=DIRECT))  # nothing is to be read
    assert (jobs.busy(), way.measured) == (0, before)
    with qtbot.waitSignal(way.measured_changed, timeout=LONG):
        way.answers.rig_changed.emit(assemble(edit(project, "tank.diameter", "13 in")))
    assert way.measured.pv[0] == pytest.approx(before.pv[0] * (13 / 12) ** 2, rel=0.05)


def test_what_is_left_out_is_said_with_its_lines(qtbot: QtBot, way: Record, tmp_path: Path) -> None:
    rows = [f"{at},{'Bad' if at in (3, 4) else 5 + at / 8},40" for at in range(20)]
    opened(qtbot, way, table(tmp_path, "t [s],PV [V],OP [%]", rows))
    assert "2 of 20 rows were left out." in way.notes.text()
    assert "Lines 5–6: no number in “PV”, column 2: “Bad”." in way.notes.text()


def test_without_a_time_the_step_is_asked(qtbot: QtBot, way: Record, tmp_path: Path) -> None:
    rows = [f"{5 + at % 3 / 8},{40 - at % 5}" for at in range(20)]
    opened(qtbot, way, table(tmp_path, "PV [V],OP [%]", rows))
    assert way.measured is not None
    typed(qtbot, way, way.columns.rows["time"].step, "4 s")
    assert way.measured.step == 4.0


def test_a_file_that_is_no_table_is_refused_with_what_to_do(qtbot: QtBot, way: Record, tmp_path: Path) -> None:
    path = tmp_path / "picture.csv"
    path.write_bytes(b"\x89PNG\r\n\0\0\0")
    opened(qtbot, way, path)
    assert "not a text file" in way.state.text()
    assert way.measured is None
    assert way.view.picture is None


def test_a_choice_that_can_not_be_is_said_in_its_row(qtbot: QtBot, way: Record) -> None:
    opened(qtbot, way, TWO_TANKS)
    choose(qtbot, way, way.columns.rows["output"].unit, "rpm")
    assert "Both ends must be numbers" in way.columns.rows["output"].trouble.text()
    assert way.measured is None
    typed(qtbot, way, way.columns.rows["output"].low, "0")
    typed(qtbot, way, way.columns.rows["output"].high, "5")
    assert not way.columns.rows["output"].trouble.isVisible()
    assert way.measured is not None


def test_the_wheel_zooms_around_the_pointer_and_home_shows_all(qtbot: QtBot, way: Record) -> None:
    opened(qtbot, way, TWO_TANKS)
    view = way.view
    whole = view.times
    at = QPointF(view.width() * 0.6, 120)
    under = view.picture.time_at(at.x()) if view.picture else 0.0
    turn = QWheelEvent(
        at, view.mapToGlobal(at), QPoint(), QPoint(0, 120), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(view, turn)
    assert view.times[1] - view.times[0] == pytest.approx((whole[1] - whole[0]) / 1.25)
    assert view.picture is not None
    assert view.picture.time_at(at.x()) == pytest.approx(under)
    qtbot.keyClick(view, Qt.Key.Key_Right)
    assert view.times[1] <= whole[1]
    qtbot.keyClick(view, Qt.Key.Key_Home)
    assert view.times == whole


def test_a_long_line_keeps_its_peaks_and_a_gap_stays_a_gap() -> None:
    time = np.arange(1_000_000.0)
    values = np.zeros(len(time))
    values[123_456] = 9.0
    line = RecordLine("PV", time, values)
    _, shown = line.part(0.0, 1e6, 500)
    assert len(shown) == 1000
    assert shown.max() == 9.0
    broken = line.broken(np.array([[500_000.0, 500_500.0]]))
    assert np.isnan(broken.part(0.0, 1e6, 500)[1]).any()


def test_a_record_let_go_on_the_window_is_opened_under_tune(qtbot: QtBot, window: MainWindow) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(TWO_TANKS))])
    event = QDropEvent(
        QPointF(300, 300), Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    )
    QApplication.sendEvent(window.windowHandle(), event)
    way = window.tune.way
    assert isinstance(way, Record)
    qtbot.waitUntil(lambda: way.measured is not None, timeout=LONG)
    assert way.view.isVisible()
    assert way.measured is not None
    assert way.measured.name == TWO_TANKS.name
