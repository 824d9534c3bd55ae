"""The number format that a person prefers: chosen in the dialog, seen everywhere, typed and pasted back."""

import re
from collections.abc import Iterator

import pytest
from hands import LONG, Running
from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QApplication, QComboBox, QLabel, QLineEdit, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.fields.field import Field
from levelbench.gui.fields.forms import Form
from levelbench.gui.findings.findings_text import as_csv
from levelbench.gui.help.pages import WRITTEN
from levelbench.gui.look import look
from levelbench.gui.look.figures import reason_of
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences import Preferences
from levelbench.gui.preferences_dialog import PreferencesDialog
from levelbench.gui.station.entry import targets
from levelbench.gui.station.pad import Pad
from levelbench.gui.tuning.way_hand import Hand
from levelbench.gui.work.jobs import Job
from levelbench.project import Project, units
from levelbench.quantity import Dimension, Figure, NumberFormat, number_format, show_numbers_as
from levelbench.quantity.notation import COMMA, POINT, THIN_SPACE

POINTED = re.compile(r"[0-9]+\.[0-9]+")
WITH_COMMA = re.compile(r"[0-9],[0-9]")


@pytest.fixture(autouse=True)
def a_point_again() -> Iterator[None]:
    yield
    show_numbers_as(POINT)


def dialog_of(qtbot: QtBot, parent: QWidget) -> PreferencesDialog:
    made = PreferencesDialog(parent, Preferences())  # goes when it is closed
    with qtbot.waitActive(made):
        made.open()
    return made


def choose_next(qtbot: QtBot, box: QComboBox) -> None:
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Down)


def shown_by(window: QWidget) -> list[str]:
    """Give every text that stands in labels, buttons and boxes of a window, seen or not."""
    parts = [one for kind in (QLabel, QPushButton, QLineEdit) for one in window.findChildren(kind)]
    held = [one.placeholderText() for one in parts if isinstance(one, QLineEdit)]
    return [one.text() for one in parts] + held


def pointed(window: MainWindow) -> set[str]:
    """Give the numbers with a decimal point that nobody typed."""
    return {
        number
        for words in shown_by(window)
        for number in POINTED.findall(words)
        if number not in window.document.project.text
    }


def test_every_number_that_nobody_typed_takes_the_mark(qtbot: QtBot, running: Running) -> None:
    window, bench, live = running
    live.scan_once()
    qtbot.waitUntil(lambda: live.view is not None and live.view["time"] > 0, timeout=10_000)
    for at in range(5):
        window.rail.choose(at)
    assert len(pointed(window)) > 40
    dialog = dialog_of(qtbot, window)
    choose_next(qtbot, dialog.mark)
    dialog.accept()
    qtbot.waitUntil(lambda: window.answers.working)
    qtbot.waitUntil(lambda: not window.answers.working, timeout=LONG)
    assert Preferences().number_format == COMMA
    for at in range(5):  # a stage shows its numbers anew when it comes into sight
        window.rail.choose(at)
    qtbot.waitUntil(lambda: pointed(window) == set(), timeout=10_000)
    assert sum(len(WITH_COMMA.findall(words)) for words in shown_by(window)) > 40
    axis = bench.trend.panes.panes["tank"].plot.getAxis("left")
    assert axis.tickStrings([2.8, 3.0], 1.0, 0.2)[0].startswith("2,8")
    assert WITH_COMMA.search(bench.trend.keys["pv"].shown)
    assert window.answers.checked is not None
    table = as_csv(window.answers.checked.findings, units(window.document.project))
    assert "3.59 mA" in table or POINTED.search(table)
    figures = [figure for one in window.answers.checked.findings for figure in one.figures]
    assert any(WITH_COMMA.search(words) for one in figures for _, words in one.inputs)


def test_the_choice_is_there_again_at_the_next_start(qtbot: QtBot, qapp: QApplication, window: MainWindow) -> None:
    dialog = dialog_of(qtbot, window)
    choose_next(qtbot, dialog.mark)
    choose_next(qtbot, dialog.groups)
    dialog.accept()
    show_numbers_as(POINT)
    look.put_on(qapp, Preferences())
    assert number_format() == NumberFormat(",", THIN_SPACE)


@pytest.mark.parametrize(
    ("typed", "kept", "litres"),
    [("2,125 l", "2.125 l", 2.125), ("2,5 l", "2,5 l", 2.5), ("12\u2009000,5 ml", "12\u2009000,5 ml", 12.0005)],
)
def test_a_number_as_it_is_shown_can_be_pasted_into_a_field(
    qtbot: QtBot, document: Document, typed: str, kept: str, litres: float
) -> None:
    """Only what another person would read as thousands is kept with a point."""
    show_numbers_as(NumberFormat(",", THIN_SPACE))
    form = Form(document, ("start.tank_volume",))
    qtbot.addWidget(form)
    with qtbot.waitActive(form):
        form.show()
        form.activateWindow()
    box = form.findChildren(QLineEdit)[0]
    box.selectAll()
    QApplication.clipboard().setText(typed)
    qtbot.keyClick(box, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    beside = form.findChildren(Field)[0].beside.text()
    assert WITH_COMMA.search(beside)
    assert not POINTED.search(beside)
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert document.project.start.tank_volume.si == pytest.approx(litres / 1000, rel=1e-12)
    assert document.project.start.tank_volume.text == kept


def test_the_pad_shows_the_mark_that_its_key_types(qtbot: QtBot, house: Project) -> None:
    show_numbers_as(COMMA)
    pad = Pad()
    qtbot.addWidget(pad)
    sent: list[tuple[str, float]] = []
    pad.chose.connect(lambda what, si: sent.append((what, si)))
    pad.begin(targets(house), {"set point": house.start.set_point.si, "manual output": 0.0, "valve opening": 0.35})
    assert pad.display.text() == "3,00"
    for key in "3.10":
        qtbot.mouseClick(pad.keys[key], Qt.MouseButton.LeftButton)
    assert pad.keys["."].text() == ","
    assert pad.display.text() == "3,10"
    qtbot.mouseClick(pad.enter, Qt.MouseButton.LeftButton)
    assert sent == [("set point", pytest.approx(3.10 * 3.785411784e-3))]
    assert "3,10 US gal" in pad.note.text()


def test_a_cell_of_the_settings_takes_what_it_shows(qtbot: QtBot, running: Running) -> None:
    window, _, _ = running
    window.rail.choose(2)
    dialog = dialog_of(qtbot, window)
    choose_next(qtbot, dialog.mark)
    dialog.accept()
    qtbot.waitUntil(lambda: window.answers.working)
    qtbot.waitUntil(lambda: not window.answers.working, timeout=LONG)
    tune = window.findChild(Hand)
    assert isinstance(tune, Hand)
    tuned = window.answers.tuned
    assert tuned is not None
    cell = tune.grid.cells["standard", "band"]
    qtbot.waitUntil(lambda: cell.text() == "1,207", timeout=10_000)
    cell.setFocus()
    cell.selectAll()
    qtbot.keyClicks(cell, "1,315")
    qtbot.keyClick(cell, Qt.Key.Key_Return)
    gain = window.document.project.loop_settings.gain  # typed per gallon, and kept so
    assert gain is not None, tune.grid.reason.text()
    assert 1 / (gain.si * tuned.span) == pytest.approx(0.01315, rel=1e-4)
    qtbot.waitUntil(lambda: not window.answers.working, timeout=LONG)


def test_long_work_writes_numbers_as_whoever_began_it(qtbot: QtBot, window: MainWindow) -> None:
    show_numbers_as(COMMA)
    heard: list[NumberFormat] = []
    job = Job(window, lambda _progress: number_format(), heard.append, lambda error: pytest.fail(str(error)))
    with qtbot.waitSignal(job.ended):
        pass
    assert heard == [COMMA]


CODE = re.compile(r"`[^`]*`|^ {4}.*$", re.MULTILINE)  # is typed or pasted as it stands
STANDARD = re.compile(r"\b(ISA|HI|IEC|ISO)[ -][0-9][0-9.:-]*")


def test_the_numbers_of_the_help_take_the_mark(window: MainWindow) -> None:
    told = {page.name: page.markdown for page in window.help.pages()}
    assert sum(len(POINTED.findall(words)) for words in told.values()) > 30
    show_numbers_as(NumberFormat(",", THIN_SPACE))
    later = {page.name: page.markdown for page in window.help.pages()}
    for name, words in later.items():
        if name != "figures":  # its formulas are of findings that are worked out anew only then
            assert POINTED.findall(STANDARD.sub("", CODE.sub("", words))) == [], name
        for kept in (CODE, STANDARD) if name in WRITTEN else (STANDARD,):
            assert [one[0] for one in kept.finditer(words)] == [one[0] for one in kept.finditer(told[name])]
    show_numbers_as(POINT)
    assert {page.name: page.markdown for page in window.help.pages()} == told


def test_what_a_figure_means_and_its_formula_take_the_mark(qtbot: QtBot) -> None:
    def said() -> str:
        figure = Figure("margin.sensitivity", "Ms", 1.4, Dimension.NUMBER, "2.3·v; 4 to 10", (), "ISA-5.1, section 2.4")
        box = reason_of(figure)
        qtbot.addWidget(box)
        return " ".join(one.text() for one in box.findChildren(QLabel))

    assert {"1.4", "2.3"} <= set(POINTED.findall(said()))
    show_numbers_as(COMMA)
    assert set(POINTED.findall(said())) == {"5.1", "2.4"}


def test_what_a_field_is_for_takes_the_mark(qtbot: QtBot, document: Document) -> None:
    form = Form(document, ("drain.fittings_loss",))
    qtbot.addWidget(form)
    (field,) = form.findChildren(Field)
    (box,) = field.boxes()
    assert "0.5" in box.toolTip()
    show_numbers_as(COMMA)
    QApplication.sendEvent(field, QEvent(QEvent.Type.LocaleChange))
    for words in (box.toolTip(), box.accessibleDescription()):
        assert "0,5" in words
        assert not POINTED.search(words)
