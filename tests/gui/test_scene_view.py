"""Small drawings: drawn once for their room, and anew when the room or the way of writing numbers changes."""

from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from levelbench.drawing.frame import Size
from levelbench.drawing.scene import Scene
from levelbench.gui.look.scene_view import SceneView


def test_a_drawing_is_made_anew_for_another_room_and_other_numbers_and_not_for_a_theme(qtbot: QtBot) -> None:
    made: list[Size] = []

    def draw(size: Size) -> Scene:
        made.append(size)
        return Scene(size.width, size.height, ())

    view = SceneView(draw, 80, "a drawing")
    qtbot.addWidget(view)
    view.resize(200, 80)
    with qtbot.waitExposed(view):
        view.show()
    view.grab()
    made.clear()
    view.repaint()
    assert made == []
    QApplication.sendEvent(view, QEvent(QEvent.Type.PaletteChange))
    view.repaint()
    assert made == []
    QApplication.sendEvent(view, QEvent(QEvent.Type.LocaleChange))
    view.repaint()
    assert [one.width for one in made] == [200.0]
    view.resize(300, 80)
    view.repaint()
    assert [one.width for one in made] == [200.0, 300.0]
