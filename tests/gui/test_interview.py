"""A new project from ten questions, as a person goes through them."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QPushButton
from pytestqt.qtbot import QtBot
from test_window import clipped

from levelbench.gui.document.document import Document
from levelbench.gui.interview.interview import Interview, Notes
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences import UNITS, Preferences
from levelbench.gui.work.jobs import stop_all
from levelbench.project import Project
from levelbench.project.interview import QUESTIONS

ENTER = Qt.Key.Key_Return


@pytest.fixture
def notes() -> Notes:
    return Notes()


@pytest.fixture
def interview(qtbot: QtBot, notes: Notes) -> Interview:
    return opened(qtbot, notes)


def opened(qtbot: QtBot, notes: Notes) -> Interview:
    made = Interview(None, notes)
    made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(made)
    with qtbot.waitActive(made):
        made.show()
        made.activateWindow()
    return made


def box(interview: Interview, key: str) -> QLineEdit:
    found = interview.pages[interview.at].fields[key].box
    assert isinstance(found, QLineEdit)
    return found


def type_into(qtbot: QtBot, interview: Interview, key: str, words: str) -> None:
    there = box(interview, key)
    there.setFocus()
    there.selectAll()
    qtbot.keyClicks(there, words)


def choose(qtbot: QtBot, interview: Interview, key: str, words: str) -> None:
    there = interview.pages[interview.at].fields[key].box
    assert isinstance(there, QComboBox)
    while there.currentText() != words:
        before = there.currentText()
        qtbot.keyClick(there, Qt.Key.Key_Down)
        assert there.currentText() != before, words


def press(qtbot: QtBot, interview: Interview, which: str) -> None:
    qtbot.mouseClick(getattr(interview, which), Qt.MouseButton.LeftButton)


def made_by(qtbot: QtBot, interview: Interview) -> Project:
    with qtbot.waitSignal(interview.made, timeout=60_000) as told:
        press(qtbot, interview, "next")
    (project,) = told.args
    assert isinstance(project, Project)
    return project


def test_ten_questions_make_a_project(qtbot: QtBot, interview: Interview) -> None:
    assert len(QUESTIONS) == 10
    type_into(qtbot, interview, "title", "Dye bath")
    qtbot.keyClick(box(interview, "title"), ENTER)
    assert box(interview, "loop").hasFocus()
    qtbot.keyClicks(box(interview, "loop"), "42")
    qtbot.keyClick(box(interview, "loop"), ENTER)
    assert interview.count.text() == "Question 2 of 10"
    choose(qtbot, interview, "units", "litres and millimetres")
    press(qtbot, interview, "next")
    choose(qtbot, interview, "shape", "box")
    press(qtbot, interview, "next")
    type_into(qtbot, interview, "length", "400 mm")
    type_into(qtbot, interview, "width", "0,3 m")
    assert interview.pages[3].fields["width"].beside.text() == "= 0.9843 ft"  # 0.3 m/0.3048 m
    assert not interview.pages[3].fields["diameter"].isVisible()
    assert interview.pages[3].picture.lit == "tank.width"
    press(qtbot, interview, "next")
    for _ in range(5):
        press(qtbot, interview, "skip")
    assert interview.next.text() == "Make the project"
    project = made_by(qtbot, interview)
    assert (project.title, project.loop, project.tank.shape) == ("Dye bath", "42", "box")
    assert (project.tank.length.text, project.tank.width.text) == ("400 mm", "0,3 m")  # type: ignore[union-attr]
    assert project.display.volume == "l"
    assert "# assumed: " in project.text


def test_half_typed_text_is_there_after_back_and_after_closing(
    qtbot: QtBot, notes: Notes, interview: Interview
) -> None:
    interview.steps.buttons[4].click()
    type_into(qtbot, interview, "largest_flow", "1.2 ga")
    press(qtbot, interview, "back")
    assert interview.count.text() == "Question 4 of 10"
    interview.steps.buttons[4].click()
    assert box(interview, "largest_flow").text() == "1.2 ga"
    qtbot.keyClick(interview, Qt.Key.Key_Escape)
    assert not interview.isVisible()
    again = opened(qtbot, notes)
    assert again.at == 4
    assert box(again, "largest_flow").text() == "1.2 ga"


def test_an_answer_that_can_not_be_read_is_explained_beside_its_box(qtbot: QtBot, interview: Interview) -> None:
    interview.steps.buttons[4].click()
    type_into(qtbot, interview, "largest_flow", "1.2")
    press(qtbot, interview, "next")
    assert interview.at == 4
    reason = interview.pages[4].fields["largest_flow"].reason
    assert reason.isVisible()
    assert reason.text().startswith("✗ ")
    assert box(interview, "largest_flow").hasFocus()
    type_into(qtbot, interview, "largest_flow", "1.2 gal/min")
    assert not reason.isVisible()
    press(qtbot, interview, "skip")
    interview.steps.buttons[4].click()
    assert box(interview, "largest_flow").text() == ""


def test_what_can_not_be_read_is_marked_at_its_question_too(qtbot: QtBot, interview: Interview) -> None:
    interview.show_question(3)
    type_into(qtbot, interview, "diameter", "0 in")
    press(qtbot, interview, "back")
    size = interview.steps.buttons[3]
    assert size.text() == "✗ 4 size: 0 in"
    assert "at least" in size.toolTip()
    assert "at least" in size.accessibleName()
    assert interview.steps.buttons[4].text().startswith("○")
    qtbot.mouseClick(size, Qt.MouseButton.LeftButton)
    type_into(qtbot, interview, "diameter", "12 in")
    press(qtbot, interview, "next")
    assert size.text().startswith("✓")


def test_enter_goes_on_from_a_list_of_choices(qtbot: QtBot, interview: Interview) -> None:
    interview.show_question(2)
    choose(qtbot, interview, "shape", "box")
    qtbot.keyClick(interview.pages[2].fields["shape"].box, ENTER)
    assert interview.at == 3
    assert interview.notes.texts["shape"] == "box"


def test_a_double_click_goes_one_question_on(qtbot: QtBot, interview: Interview) -> None:
    for do in (qtbot.mousePress, qtbot.mouseRelease, qtbot.mouseDClick, qtbot.mouseRelease):
        do(interview.next, Qt.MouseButton.LeftButton)
    assert interview.at == 1


def test_it_can_be_closed_and_is_taken_up_again(qtbot: QtBot, interview: Interview, notes: Notes) -> None:
    type_into(qtbot, interview, "title", "Dye bath")
    (close,) = (one for one in interview.findChildren(QPushButton) if one.text() == "Close")
    qtbot.mouseClick(close, Qt.MouseButton.LeftButton)
    assert not interview.isVisible()
    assert box(opened(qtbot, notes), "title").text() == "Dye bath"


def test_answers_that_do_not_go_together_lead_back_to_the_question(qtbot: QtBot, interview: Interview) -> None:
    interview.steps.buttons[7].click()
    type_into(qtbot, interview, "high", "7 gal")  # a tank of 12 in × 15 in holds 7.34 US gal up to its rim
    interview.steps.buttons[9].click()
    press(qtbot, interview, "next")
    qtbot.waitUntil(lambda: interview.at == 7, timeout=60_000)
    assert "limits and switch need the room" in interview.pages[7].fields["high"].reason.text()
    assert box(interview, "high").text() == "7 gal"
    stop_all()


def test_a_slip_at_an_earlier_question_is_found_before_the_end(qtbot: QtBot, interview: Interview) -> None:
    interview.steps.buttons[8].click()
    type_into(qtbot, interview, "step", "half a gallon")
    interview.steps.buttons[9].click()
    press(qtbot, interview, "next")
    assert interview.at == 8
    assert interview.pages[8].fields["step"].reason.isVisible()


def test_every_question_says_what_is_assumed_when_it_is_left_open(interview: Interview) -> None:
    for at, page in enumerate(interview.pages):
        interview.show_question(at)
        for one in page.fields.values():
            if one.isVisible():
                assert one.beside.text().startswith("assumed: ")
                assert len(one.beside.text()) > len("assumed: ")
                assert one.box.accessibleName()


def test_nothing_is_clipped_at_any_question(interview: Interview) -> None:
    for at in range(len(QUESTIONS)):
        interview.show_question(at)
        QApplication.processEvents()
        assert clipped(interview) == [], at


def test_the_new_project_is_open_and_not_saved(qtbot: QtBot, document: Document, window: MainWindow) -> None:
    interviews = window.menus.interviews
    interviews.open()
    (interview,) = window.findChildren(Interview)
    interview.steps.buttons[9].click()
    with qtbot.waitSignal(document.replaced, timeout=60_000):
        press(qtbot, interview, "next")
    assert document.project.title == "New tank"
    assert document.path is None
    assert document.edited


def test_the_interview_begins_in_the_units_that_are_preferred(qtbot: QtBot, window: MainWindow) -> None:
    interviews = window.menus.interviews
    Preferences().units = next(name for name, units in UNITS.items() if units and units[0] == "l")
    Preferences().paper = "Letter"
    interviews.open()
    (interview,) = window.findChildren(Interview)
    assert interview.pages[1].fields["units"].box.currentText() == "litres and millimetres"  # type: ignore[union-attr]
    interview.steps.buttons[9].click()
    with qtbot.waitSignal(window.document.replaced, timeout=60_000):
        press(qtbot, interview, "next")
    project = window.document.project
    assert (project.display.volume, project.display.length, project.sheet.paper) == ("l", "mm", "Letter")
    assert project.tank.diameter.text == "300 mm"  # type: ignore[union-attr]
