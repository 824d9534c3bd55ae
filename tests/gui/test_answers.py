"""What is worked out in the background, as the stages show it: findings, tuning, limits, the sheet."""

from pathlib import Path

import pypdfium2
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.findings.finding_box import FindingBox
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.paper.pages import PageView
from levelbench.gui.stages.alarms import Alarms
from levelbench.gui.stages.check import Check
from levelbench.gui.stages.hand_over import HandOver
from levelbench.gui.tuning.way_hand import Hand
from levelbench.gui.work.answers import Answers
from levelbench.gui.work.states import states
from levelbench.project import Project, edit_many
from levelbench.review.finding import Finding
from levelbench.rig import RigError

LONG = 100_000  # ms; the first test of a run compiles the scan


@pytest.fixture
def bad(house: Project) -> Project:
    """The house with a sensor that stands so low that its dead zone reaches below the rim and the switch."""
    return edit_many(house, {"sensor.face_above_floor": "13 in", "sensor.signal_span": ["12 in", "1 in"]})


@pytest.fixture
def answers(qtbot: QtBot, document: Document) -> Answers:
    made = Answers(document)
    qtbot.waitUntil(lambda: not made.working, timeout=LONG)
    assert made.trouble == ""
    return made


def shown(qtbot: QtBot, widget: QWidget, width: int = 408) -> None:
    qtbot.addWidget(widget)
    widget.resize(width, 720)
    widget.show()
    qtbot.waitExposed(widget)


def words_of(widget: QWidget) -> str:
    return "\n".join(one.text() for one in widget.findChildren(QLabel) if one.isVisible())


def press(qtbot: QtBot, parent: QWidget, words: str) -> None:
    def found() -> list[QAbstractButton]:
        return [one for one in parent.findChildren(QAbstractButton) if one.text() == words and one.isVisible()]

    qtbot.waitUntil(lambda: found() != [])
    qtbot.mouseClick(found()[0], Qt.MouseButton.LeftButton)


def boxes_of(qtbot: QtBot, stage: Check, answers: Answers) -> list[FindingBox]:
    """Give the findings on the card in their order, once all are there (they come in steps)."""
    checked = answers.checked
    assert checked is not None
    qtbot.waitUntil(lambda: len(stage.boxes()) == len(checked.findings))
    return stage.boxes()


def opened(qtbot: QtBot, stage: Check, answers: Answers, has: str) -> tuple[Finding, FindingBox]:
    """Give the first finding that has something, and its box, unfolded."""
    assert answers.checked is not None
    finding = next(one for one in answers.checked.findings if getattr(one, has))
    box = boxes_of(qtbot, stage, answers)[answers.checked.findings.index(finding)]
    qtbot.waitUntil(box.fold.isVisible)
    if not box.fold.isChecked():
        qtbot.mouseClick(box.fold, Qt.MouseButton.LeftButton)
    return finding, box


def again(qtbot: QtBot, answers: Answers) -> None:
    qtbot.waitUntil(lambda: answers.checked is None, timeout=LONG)
    qtbot.waitUntil(lambda: not answers.working, timeout=LONG)


def test_findings_come_worst_first_and_bad_ones_say_why(
    qtbot: QtBot, document: Document, answers: Answers, bad: Project
) -> None:
    stage = Check(document, answers)
    shown(qtbot, stage)
    document.replace(bad, None)
    again(qtbot, answers)
    assert answers.checked is not None
    assert [box.title for box in boxes_of(qtbot, stage, answers)] == [one.title for one in answers.checked.findings]
    ranks = [one.severity.rank for one in answers.checked.findings]
    assert ranks == sorted(ranks)
    assert ranks[0] == 0
    assert stage.aside.text().startswith(f"{ranks.count(0)} to fix")
    assert answers.checked.findings[0].text in words_of(stage)
    assert states(document, answers)[1].headline.startswith(f"{ranks.count(0)} to fix")


def test_why_opens_formula_inputs_and_source(qtbot: QtBot, document: Document, answers: Answers) -> None:
    stage = Check(document, answers)
    shown(qtbot, stage)
    finding, box = opened(qtbot, stage, answers, "figures")
    row = box.findChildren(FigureRow)[0]
    qtbot.waitUntil(row.why.isVisible)
    figure = finding.figures[0]
    assert figure.formula not in words_of(row)
    qtbot.mouseClick(row.why, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: figure.formula in words_of(row))
    words = words_of(row)
    assert f"Source: {figure.source}" in words
    assert all(name in words and value in words for name, value in figure.inputs)
    qtbot.mouseClick(row.why, Qt.MouseButton.LeftButton)
    assert figure.formula not in words_of(row)


def test_what_was_tried_is_adopted_in_one_undo_step_that_helps(
    qtbot: QtBot, document: Document, answers: Answers, bad: Project
) -> None:
    stage = Check(document, answers)
    shown(qtbot, stage)
    document.replace(bad, None)
    again(qtbot, answers)
    finding, box = opened(qtbot, stage, answers, "what_if")
    press(qtbot, box, "Try it")
    qtbot.waitUntil(lambda: box.outcome is not None and box.outcome.adopt.isEnabled(), timeout=LONG)
    assert document.project == bad
    press(qtbot, box, "Adopt")
    assert document.undo_stack.undoText() == f"adopt: {finding.title}"
    assert document.undo_stack.count() == 1
    again(qtbot, answers)
    assert answers.checked is not None
    after = next(one for one in answers.checked.findings if one.key == finding.key)
    assert after.severity.rank > finding.severity.rank
    document.undo_stack.undo()
    assert document.project == bad


def test_go_there_names_the_entry(qtbot: QtBot, document: Document, answers: Answers) -> None:
    stage = Check(document, answers)
    shown(qtbot, stage)
    finding, box = opened(qtbot, stage, answers, "go_to")
    with qtbot.waitSignal(stage.go_to) as heard:
        press(qtbot, box, "Go there")
    assert heard.args == [finding.go_to]


def test_a_rig_that_cannot_be_built_says_so(qtbot: QtBot, document: Document, answers: Answers) -> None:
    stage = Check(document, answers)
    shown(qtbot, stage)
    # a pump that was measured at a lift above its own shut-off head gives no flow: a project, but no rig
    document.edit_several({"pump.shut_off_head": "1 ft", "pump.measured_at_lift": "3 ft"})
    qtbot.waitUntil(lambda: bool(answers.trouble), timeout=LONG)
    assert "no flow at the lift" in answers.trouble
    assert answers.trouble in words_of(stage)
    assert states(document, answers)[1].headline == "can't be built"
    document.undo_stack.undo()
    qtbot.waitUntil(lambda: not answers.working, timeout=LONG)
    assert answers.trouble == ""


def test_a_rig_without_a_prediction_is_still_checked(
    qtbot: QtBot, document: Document, answers: Answers, monkeypatch: pytest.MonkeyPatch
) -> None:
    tune = Hand(document, answers)
    shown(qtbot, tune)

    def fail(*_a: object) -> None:
        raise RigError("The pump gives no flow here.", "pump", "Take another.")

    monkeypatch.setattr("levelbench.tuning.prediction.predict", fail)
    document.edit("loop_settings.integral", "25 s")
    qtbot.waitUntil(lambda: bool(answers.tune_trouble), timeout=LONG)
    assert answers.checked is not None
    assert answers.trouble == ""
    assert "The pump gives no flow here." in words_of(tune)
    heads = [one.headline for one in states(document, answers)]
    assert heads[2] == "can't be worked out"
    assert heads[1] != "can't be built"
    assert heads[5] == "no sheet yet"


def test_tuning_shows_what_it_will_do(qtbot: QtBot, document: Document, answers: Answers) -> None:
    stage = Hand(document, answers)
    shown(qtbot, stage)
    tuned = answers.tuned
    assert tuned is not None
    figures = (*tuned.prediction.figures, *tuned.margins.figures)
    qtbot.waitUntil(lambda: len(stage.does.table.words()) == len(figures) + 1)  # and the noise on the output
    qtbot.waitUntil(lambda: stage.does.table.words()[-1][1] in words_of(stage))  # Qt shows it a turn later
    words = words_of(stage)
    for figure in figures:
        assert figure.name in words
        assert tuned.units.tell(figure) in words
    for plot in (stage.does.step, stage.does.load):
        assert plot.isVisible()


def test_a_new_gain_gives_a_new_prediction(qtbot: QtBot, document: Document, answers: Answers) -> None:
    stage = Hand(document, answers)
    shown(qtbot, stage)
    assert answers.tuned is not None
    before = answers.tuned.margins.gain.si
    assert stage.go_to("loop_settings.gain")
    box = stage.first.fields["loop_settings.gain"].boxes()[0]
    assert isinstance(box, QLineEdit)
    gain = document.project.loop_settings.gain
    assert gain is not None
    number, unit = gain.text.split(" ", 1) if " " in gain.text else (gain.text, "")
    box.selectAll()
    qtbot.keyClicks(box, f"{float(number) / 2:g} {unit}".strip())
    qtbot.keyClick(box, Qt.Key.Key_Return)
    again(qtbot, answers)
    assert answers.tuned is not None
    # the gain margin is the ultimate gain over the gain: half the gain, twice the margin (Åström & Hägglund, Advanced
    # PID Control, 2006, definition of the gain margin); the integral time is the same, so the phase is too
    assert answers.tuned.margins.gain.si == pytest.approx(2 * before, rel=1e-6)


def test_limits_are_shown_as_volume_height_and_current(qtbot: QtBot, document: Document, answers: Answers) -> None:
    document.edit_several({"tank.dead_wood": None, "bands.high.limit": "4.896 gal"})
    again(qtbot, answers)
    stage = Alarms(document, answers)
    stage.begin()
    shown(qtbot, stage)
    cells = {key: stage.ladder.table.cell("high", key).text() for key in ("volume", "height", "signal")}
    # An upright 12 in cylinder: 4.896 US gal of 231 in3 each on 113.10 in2 stand 10.0 in high (NIST SP 811: 231 in3).
    assert cells["height"] == "10.00"
    face, (low, high) = document.project.sensor.face_above_floor, document.project.sensor.signal_span
    assert face is not None
    current = 4 + 16 * (low.si - (face.si - 0.254)) / (low.si - high.si)  # linear between 4 and 20 mA, IEC 60381-1
    assert cells["signal"] == f"{current:.1f}"


def test_the_sheet_is_rendered_and_saved(
    qtbot: QtBot, document: Document, answers: Answers, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stage = HandOver(document, answers)
    shown(qtbot, stage, 1060)
    qtbot.waitUntil(lambda: stage.printed is not None, timeout=LONG)
    assert stage.printed is not None
    assert len(stage.pages.views()) == len(pypdfium2.PdfDocument(stage.printed.pdf)) >= 1
    assert len(stage.findChildren(PageView)) == len(stage.pages.views())
    for button, name in ((stage.save_pdf, "sheet.pdf"), (stage.save_html, "sheet.html")):
        target = tmp_path / name
        monkeypatch.setattr(
            "PySide6.QtWidgets.QFileDialog.getSaveFileName", lambda *_a, target=target, **_k: (str(target), "")
        )
        qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
        assert stage.state_words.text() == f"✓ {name} written"
    assert (tmp_path / "sheet.pdf").read_bytes() == stage.printed.pdf
    assert document.project.title in (tmp_path / "sheet.html").read_text(encoding="utf-8")


def test_another_paper_is_another_sheet(qtbot: QtBot, document: Document, answers: Answers) -> None:
    stage = HandOver(document, answers)
    shown(qtbot, stage, 1060)
    qtbot.waitUntil(lambda: stage.printed is not None, timeout=LONG)
    assert stage.printed is not None
    sizes = {"A4": (595, 842), "Letter": (612, 792)}  # points: ISO 216 (210 x 297 mm); ANSI/ASME Y14.1 (8.5 x 11 in)
    for paper in ("A4", "Letter"):
        if document.project.sheet.paper != paper:
            document.edit("sheet.paper", paper)
            again(qtbot, answers)
            qtbot.waitUntil(lambda: stage.printed is not None, timeout=LONG)
        page = pypdfium2.PdfDocument(stage.printed.pdf)[0]
        assert (round(page.get_width()), round(page.get_height())) == sizes[paper]


def test_a_sheet_that_cannot_be_written_says_so(
    qtbot: QtBot, document: Document, answers: Answers, tmp_path: Path
) -> None:
    stage = HandOver(document, answers)
    qtbot.addWidget(stage)
    stage.write(tmp_path / "nowhere" / "sheet.pdf", b"")
    assert "could not be written" in stage.state_words.text() or "was not saved" in stage.state_words.text()
    assert QApplication.activeModalWidget() is None
