"""Every edit's undo step is named by what was done, whichever part of the window did it."""

from collections.abc import Callable

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from levelbench.gui.bands import ways as bands
from levelbench.gui.document.document import Document
from levelbench.gui.fields.entry_keys import in_words, name_of, sections, typed
from levelbench.gui.fields.lamp_grid import LampGrid
from levelbench.gui.fields.line_box import LineBox
from levelbench.gui.main_window import MainWindow
from levelbench.gui.section.take import take
from levelbench.gui.stages.describe import Describe, keys_of
from levelbench.gui.tuning import ways as tuning
from levelbench.project.records import LAMP_COLOURS, LAMP_STATES


def undo(document: Document) -> str:
    return document.undo_stack.undoText()


def test_a_lamp_is_set_and_its_table_left_out(qtbot: QtBot, document: Document) -> None:
    lamps = LampGrid(document)
    qtbot.addWidget(lamps)
    lamps.show()
    red, high = LAMP_COLOURS.index("red"), LAMP_STATES.index("high")
    lamps.grid.setCurrentCell(high, red)
    qtbot.keyClick(lamps.grid, Qt.Key.Key_Space)
    mode = next(one for one in document.project.stack_light if one.state == "high").red
    assert undo(document) == f"set stack light, high: red to {mode}"
    qtbot.mouseClick(lamps.back, Qt.MouseButton.LeftButton)
    assert undo(document) == "leave out the stack light's own table"
    assert typed(document.project, "stack_light") is None


def plain_keys() -> list[str]:
    return [key for section in sections() if section != "bands" for key in keys_of(section)]


def test_every_typed_entry_is_named_with_its_value(document: Document) -> None:
    """Entries are typed again with a blank more: another text in the file, the same project."""
    named = 0
    for key in plain_keys():
        value = typed(document.project, key)
        if isinstance(value, str) and value[0].isdigit() and " " in value:
            words = value.replace(" ", "  ", 1)
            document.edit(key, words)
            assert undo(document) == f"set {name_of(key)} to {in_words(words)}"
            named += 1
    assert named > 40
    assert document.undo_stack.count() == named


CASES: list[tuple[str, Callable[[Document], object], str]] = [
    ("a gain in the place of a band",
     lambda one: (one.edit_several({"loop_settings.gain": None, "loop_settings.proportional_band": "1.2 %"}),
                  one.edit_several({"loop_settings.proportional_band": None, "loop_settings.gain": "83"})),
     "set gain to 83 (and 1 more)"),
    ("a limit that was left out", lambda one: one.edit("bands.deviation", None), "leave out deviation alarm"),
    ("a height dragged", lambda one: take(one, None, "overflow_switch.trips_at", "11.5 in"),
     "set overflow switch trips at to 11.5 in"),
    ("a finding", lambda one: one.adopt({"loop_settings.integral": "40 s"}, "Slow cycling"), "adopt: Slow cycling"),
]  # fmt: skip


@pytest.mark.parametrize(("act", "name"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_other_edits_are_named_by_what_they_do(
    document: Document, act: Callable[[Document], object], name: str
) -> None:
    act(document)
    assert undo(document) == name


def test_a_field_names_what_was_typed_in_it(qtbot: QtBot, document: Document) -> None:
    stage = Describe(document)
    qtbot.addWidget(stage)
    with qtbot.waitActive(stage):
        stage.show()
        stage.activateWindow()
    assert stage.go_to("tank.rim_to_spill")
    box = stage.focusWidget()
    assert isinstance(box, QLineEdit)
    box.selectAll()
    qtbot.keyClicks(box, "40 mm")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert undo(document) == f"set {name_of('tank.rim_to_spill')} to 40 mm"
    assert typed(document.project, "tank.rim_to_spill") == "40 mm"


def keeps_undo(box: QLineEdit) -> bool:
    """Whether Ctrl+Z in a box is for its letters, and not for the project."""
    event = QKeyEvent(QEvent.Type.ShortcutOverride, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    event.ignore()
    QApplication.sendEvent(box, event)
    return event.isAccepted()


def test_ctrl_z_undoes_the_project_from_every_box_in_which_nothing_was_typed(qtbot: QtBot, window: MainWindow) -> None:
    for stage, offers in ((window.tune, tuning), (window.alarms, bands)):
        for offer in offers.OFFERS.every:
            stage.choose(offer.key)
    stages = (window.describe, window.tune, window.alarms, window.rehearse, window.hand_over)
    boxes = [one for made in stages for one in made.findChildren(QLineEdit)]
    assert len(boxes) > 60
    assert [one.accessibleName() for one in boxes if keeps_undo(one)] == []


def test_ctrl_z_takes_back_the_letters_that_were_typed_first(qtbot: QtBot) -> None:
    box = LineBox("4.3 gal")
    qtbot.addWidget(box)
    qtbot.keyClicks(box, "3")
    assert keeps_undo(box)
    box.undo()
    assert not keeps_undo(box)
