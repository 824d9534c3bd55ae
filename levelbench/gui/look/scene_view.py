"""A small drawing on a card: a scene of `levelbench.drawing`, drawn anew for the room that there is."""

from collections.abc import Callable

from PySide6.QtCore import QEvent
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from levelbench.drawing.frame import Size
from levelbench.drawing.scene import Scene
from levelbench.gui.look import theme
from levelbench.gui.section.paint import paint

Draw = Callable[[Size], Scene]
TEXT = float(theme.SMALL)  # px


class Drawn(QWidget):
    """Shows what is drawn for its size; nothing while there is nothing to draw."""

    def __init__(self, name: str, draw: Draw | None = None) -> None:
        super().__init__()
        self._draw = draw
        self._scene: Scene | None = None
        self.setAccessibleName(name)

    @property
    def scene(self) -> Scene | None:
        """What is shown."""
        return self._scene

    def show_drawn(self, draw: Draw) -> None:
        """Show another drawing."""
        self._draw, self._scene = draw, None
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Paint the scene."""
        if self._draw is None:
            return
        if self._scene is None:
            self._scene = self._draw(Size(float(self.width()), float(self.height()), TEXT))
        paint(QPainter(self), self._scene.items, theme.current().palette)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  Qt's name
        """Draw anew for the new room."""
        super().resizeEvent(event)
        self._scene = None

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802  Qt's name
        """Paint anew in a new theme; draw anew when numbers are written otherwise."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.LocaleChange:
            self._scene = None
            self.update()
        if event.type() == QEvent.Type.PaletteChange:
            self.update()


class SceneView(Drawn):
    """A drawing of a fixed height."""

    def __init__(self, draw: Draw, height: int, name: str) -> None:
        super().__init__(name, draw)
        self.setFixedHeight(height)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
