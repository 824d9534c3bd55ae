"""The section on the screen: seen as near as one likes, its heights moved by pointer and keys or typed beside it."""

from dataclasses import replace

from PySide6.QtCore import QEvent, QPointF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from levelbench.drawing.column import SET_POINT
from levelbench.drawing.frame import Fit
from levelbench.drawing.state import start_state
from levelbench.gui.bench.live_pacer import LiveView
from levelbench.gui.fields.entry_keys import in_words, typed
from levelbench.gui.section.canvas import REACH, Canvas
from levelbench.gui.section.editor import SectionEditor
from levelbench.gui.section.hand import Hand, Take
from levelbench.gui.section.handles import Handle, hint
from levelbench.gui.section.keys import can_be_typed, press_key
from levelbench.gui.section.sight import STEP, Sight
from levelbench.gui.section.state import Moment
from levelbench.rig import Rig

FRAME = 66  # ms between two paintings at least
LEAST = QSize(624, 312)
NAME = "section of the tank, to scale"


class SectionView(QWidget):
    """A rig's section at one moment. What is moved or typed goes to `take`; nothing changes here by itself."""

    selected = Signal(str)  # key of what was pressed on; "" for nothing
    tried = Signal(str, str)  # key, text as it would be typed, while something is dragged; "" when it is given up
    seen = Signal(str)  # which part of the drawing is seen, in words

    def __init__(self, take: Take, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMinimumSize(LEAST)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName(NAME)
        self.rig: Rig | None = None
        self.sight, self.canvas, self.hand = Sight(), Canvas(), Hand(take, self.tried.emit, self.update)
        self.editor = SectionEditor(self)
        self.editor.closed.connect(lambda: self.setFocus(Qt.FocusReason.OtherFocusReason))
        self.moment = Moment()
        self._laid = False
        self._from: QPointF | None = None  # where the drawing was taken hold of to be moved
        self._soon = QTimer(self, singleShot=True, interval=FRAME)
        self._soon.timeout.connect(self.update)

    # What is shown -----------------------------------------------------------------------------------------------

    def show_rig(self, rig: Rig) -> None:
        """Show a rig as it stands before a run."""
        self.rig = rig
        self.moment.start(start_state(rig), rig.scan)
        self.hand.take_rig(rig)
        self.refresh()

    def show_view(self, view: LiveView) -> None:
        """Show a moment of a live run."""
        self.moment.follow(view)
        self.hand.set_point = view.set_point_wanted
        if not self._soon.isActive():
            self._soon.start()

    def choose(self, key: str) -> None:
        """Let the item of an entry stand out, and say it to a screen reader."""
        if key != self.hand.chosen:
            self.hand.choose(key)
            handle = self.hand.handle
            self.setAccessibleDescription(self._hint(handle) if handle else "")
            self.setAccessibleName(f"{NAME}: {handle.words} {handle.typed(self.hand.now(handle))}" if handle else NAME)
            self.update()

    def refresh(self) -> None:
        """Lay the drawing out anew at its next painting."""
        self._laid = False
        self.update()

    def fit(self, fit: Fit | None) -> None:
        """Show the tank as large as it can be, or everything; None takes what is more legible."""
        self.sight.fit_to(fit)
        self.refresh()

    def zoom(self, steps: float, about: tuple[float, float] | None = None) -> None:
        """Zoom in or out by some steps."""
        self.sight.zoom_by(STEP**steps, about)
        self.refresh()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Paint the moment, and what is held or warned of."""
        if self.rig is None or self.moment.state is None:
            return
        if not self._laid:
            self.canvas.lay(self.rig, self.sight, self.size())
            self._laid = True
            self.seen.emit(self.sight.words)
        painter = QPainter(self)
        self.canvas.paint(painter, replace(self.moment.state, selected=self.hand.chosen), self.size())
        if self.hasFocus():
            self.canvas.paint_focus(painter, self.hand.chosen)
        said = self.hand.said(self.moment)
        if said is not None:
            self.canvas.paint_held(painter, *said)

    # Moving and typing -------------------------------------------------------------------------------------------

    def handle_at(self, place: QPointF) -> Handle | None:
        """Give what could be moved at a place of the widget."""
        return self.hand.handles.get(self.canvas.tag_at(place, set(self.hand.handles)))

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Choose what is pressed on and take hold of it; on empty ground take hold of the whole drawing."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        handle = self.handle_at(event.position())
        self.choose(handle.key if handle else self.canvas.tag_at(event.position(), reach=REACH / 2))
        if handle:
            self.hand.grasp(event.position().y())
        elif not self.hand.chosen:
            self._from = event.position()
        self.selected.emit(self.hand.chosen)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Drag what was taken hold of, or the drawing."""
        if self._from is not None:
            way = event.position() - self._from
            self._from = event.position()
            self.sight.move(way.x(), way.y())
            self.refresh()
        elif self.hand.holds:
            self.hand.drag(event.position().y(), self.canvas.frame)
            self.update()
        else:
            over = self.handle_at(event.position())
            self.setCursor(Qt.CursorShape.SizeVerCursor if over else Qt.CursorShape.ArrowCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Let go: what was moved is taken as typed."""
        self._from = None
        if event.button() == Qt.MouseButton.LeftButton and self.hand.holds:
            self.hand.let_go()
            self.update()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Open the editor of what is pressed on."""
        self.mousePressEvent(event)
        self.hand.give_up()
        self._from = None
        self.open_editor()

    def open_editor(self) -> None:
        """Let the value of what is chosen be typed beside it."""
        key, handle = self.hand.chosen, self.hand.handle
        if self.rig is None or not can_be_typed(key):
            return
        operator = key == SET_POINT and self.moment.begun
        words = handle.typed(self.hand.now(handle)) if handle and operator else in_words(typed(self.rig.project, key))
        rule = self._hint(handle).splitlines()[-1] if handle and key == SET_POINT else "Enter takes it, Esc closes."
        self.editor.open(key, words, rule, self.hand.take)
        self.editor.put_at(self.canvas.place_of(key).toPoint())

    def _hint(self, handle: Handle) -> str:
        return hint(handle, self.hand.now(handle), operating=self.moment.begun)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802  Qt's name
        """Zoom about the pointer."""
        self.zoom(event.angleDelta().y() / 120, (event.position().x(), event.position().y()))
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Move, choose, type, zoom and copy by keys."""
        if not press_key(self, event):
            super().keyPressEvent(event)

    def focusNextPrevChild(self, forward: bool) -> bool:  # noqa: N802  Qt's name and way
        """Tab goes from handle to handle, and on to the next widget after the last one."""
        key = "" if self.editor.isVisible() else self.hand.neighbour(1 if forward else -1, around=False)
        if not key or not self.hasFocus():
            return super().focusNextPrevChild(forward)
        self.choose(key)
        self.selected.emit(key)
        return True

    def event(self, event: QEvent) -> bool:
        """Show what is under the pointer in words; paint anew in a new theme."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            handle = self.handle_at(QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), self._hint(handle) if handle else "", self)
            return True
        if event.type() == QEvent.Type.PaletteChange:
            self.canvas.stale()
        return super().event(event)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  Qt's name
        """Lay the section out for the new room."""
        super().resizeEvent(event)
        self.refresh()
