"""The section on the screen: still parts painted once, moving ones every frame; limits and set point are dragged."""

from PySide6.QtCore import QEvent, QPointF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPixmap, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from levelbench.drawing.column import SET_POINT
from levelbench.drawing.frame import Size
from levelbench.drawing.scene import Anchor, Item, Line, Role, Stroke, Text
from levelbench.drawing.section import Section
from levelbench.drawing.state import SectionState, start_state
from levelbench.gui import theme
from levelbench.gui.live_pacer import LiveView
from levelbench.gui.scales import scales
from levelbench.gui.section_handles import Handle, handles, hint
from levelbench.gui.section_paint import paint, tag_at
from levelbench.rig import Rig

TEXT = 11.0  # px
REACH = 6.0  # px within which a shape is caught
FRAME = 66  # ms between two paintings at least
MARGIN = 8  # px of paper at the left and the right
LEAST = QSize(640, 380)


class SectionView(QWidget):
    """A rig's section at one moment. Moving something emits what would be typed; nothing changes here by itself."""

    moved = Signal(str, str)  # key of the entry, the text as a person would type it
    selected = Signal(str)  # key of what was pressed on; "" for nothing

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMinimumSize(LEAST)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("section of the tank, to scale")
        self._rig: Rig | None = None
        self._section: Section | None = None
        self._state: SectionState | None = None
        self._still: QPixmap | None = None
        self._items: tuple[Item, ...] = ()  # all of what was painted last, for finding what was pressed on
        self._handles: dict[str, Handle] = {}
        self._chosen = ""
        self._dragged: float | None = None  # value (SI) under the pointer while something is dragged
        self._grip: float | None = None  # y where the pointer took hold
        self._soon = QTimer(self, singleShot=True, interval=FRAME)
        self._soon.timeout.connect(self.update)

    # What is shown -----------------------------------------------------------------------------------------------

    def show_rig(self, rig: Rig) -> None:
        """Show a rig as it stands before a run."""
        self._rig = rig
        self._state = start_state(rig)
        self._handles = handles(rig, scales(rig))
        self._dragged = None
        self._lay_out()

    def show_state(self, state: SectionState) -> None:
        """Show one moment of this rig."""
        self._state = state
        if not self._soon.isActive():
            self._soon.start()

    def show_view(self, view: LiveView) -> None:
        """Show a moment of a live run."""
        known = view.spread == view.spread
        self.show_state(
            SectionState(
                level=view["level"],
                reservoir=view["reservoir"],
                pv=view["pv"],
                set_point=view["set_point"],
                output=view["output"],
                pump_flow=view["pump_flow"],
                drain_flow=view["drain_flow"],
                opening=view.opening,
                spread=view.spread if known else None,
                siphon_primed=view.has("siphon primed"),
                spilling=view.has("spilling"),
                switch_tripped=view.has("switch open"),
            )
        )

    def choose(self, key: str) -> None:
        """Let the item of an entry stand out."""
        if key != self._chosen:
            self._chosen = key
            self.update()

    def _lay_out(self) -> None:
        if self._rig is not None:
            self._section = Section(self._rig, Size(float(self.width() - 2 * MARGIN), float(self.height()), TEXT))
        self._still = None
        self.update()

    # Painting ----------------------------------------------------------------------------------------------------

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802
        """Paint liquid, still parts, moving parts, and what is being dragged."""
        painter = QPainter(self)
        palette = theme.current().palette
        painter.fillRect(self.rect(), QColor(palette[Role.PAPER]))
        if self._section is None or self._state is None:
            return
        painter.translate(MARGIN, 0)
        state = SectionState(**{**self._state.__dict__, "selected": self._chosen})
        under, over = self._section.under(state), self._section.over(state)
        paint(painter, under.items, palette)
        if self._still is None or self._still.devicePixelRatioF() != self.devicePixelRatioF():
            self._still = self._paint_still()
        painter.drawPixmap(0, 0, self._still)
        paint(painter, over.items, palette)
        self._items = under.items + self._section.still.items + over.items
        if self._dragged is not None:
            paint(painter, self._ghost(self._handles[self._chosen], self._dragged), palette)

    def _paint_still(self) -> QPixmap:
        assert self._section is not None
        ratio = self.devicePixelRatioF()
        pixmap = QPixmap(self.size() * ratio)
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        paint(painter, self._section.still.items, theme.current().palette)
        painter.end()
        return pixmap

    def _ghost(self, handle: Handle, value: float) -> list[Item]:
        """Give the line that follows the pointer, with the value it would get."""
        assert self._section is not None
        frame = self._section.frame
        y = frame.y(handle.at(value))
        words = f"{handle.words} {handle.typed(value)}"
        return [
            Line((frame.left, y), (frame.axis, y), Role.SELECTION, 2.0, Stroke.SOLID),
            Text((frame.left + TEXT, y - 0.6 * TEXT), words, TEXT + 1, Role.SELECTION, Anchor.START, True, True),
        ]

    # Moving ------------------------------------------------------------------------------------------------------

    def handle_at(self, place: QPointF) -> Handle | None:
        """Give what could be dragged at a place of the widget."""
        movable = [item for item in self._items if item.tag in self._handles]
        return self._handles.get(tag_at(movable, (place.x() - MARGIN, place.y()), REACH))

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Choose what is pressed on; begin to drag it."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        handle = self.handle_at(event.position())
        place = (event.position().x() - MARGIN, event.position().y())
        self._chosen = handle.key if handle else tag_at(self._items, place, REACH / 2)
        self.selected.emit(self._chosen)
        self._grip = event.position().y() if handle else None
        self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Drag what was taken hold of, once the pointer has moved a little."""
        y = event.position().y()
        if self._grip is None or not event.buttons() & Qt.MouseButton.LeftButton:
            over = self.handle_at(event.position())
            self.setCursor(Qt.CursorShape.SizeVerCursor if over else Qt.CursorShape.ArrowCursor)
            return
        if self._dragged is not None or abs(y - self._grip) > 2:
            handle = self._handles[self._chosen]
            assert self._section is not None
            start = self._section.frame.y(handle.at(self._now(handle)))
            level = self._section.frame.level(start + y - self._grip)
            self._dragged = handle.snapped(handle.value_at(max(level, 0.0)))
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Let go: say what would be typed."""
        if event.button() == Qt.MouseButton.LeftButton and self._dragged is not None:
            self._emit(self._handles[self._chosen], self._dragged)
        self._let_go()

    def _let_go(self) -> None:
        self._grip = self._dragged = None
        self.update()

    def _now(self, handle: Handle) -> float:
        """Give where a handle stands: the set point at its working value, the rest as typed."""
        return self._state.set_point if handle.key == SET_POINT and self._state else handle.value

    def _emit(self, handle: Handle, value: float) -> None:
        if handle.typed(value) != handle.typed(self._now(handle)):
            self.moved.emit(handle.key, handle.typed(value))

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Esc puts back what is dragged; left and right choose; up and down move by a step, with Shift by ten."""
        key, keys = Qt.Key(event.key()), list(self._handles)
        steps = 10 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
        if key == Qt.Key.Key_Escape and self._grip is not None:
            self._let_go()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down) and self._chosen in self._handles:
            handle = self._handles[self._chosen]
            turn = steps if key == Qt.Key.Key_Up else -steps
            self._emit(handle, handle.snapped(self._now(handle) + turn * handle.step))
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right) and keys:
            turn = 1 if key == Qt.Key.Key_Right else -1
            place = keys.index(self._chosen) + turn if self._chosen in keys else 0
            self.choose(keys[place % len(keys)])
            self.selected.emit(self._chosen)
        else:
            super().keyPressEvent(event)

    def event(self, event: QEvent) -> bool:
        """Show what is under the pointer in words; paint anew in a new theme."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            handle = self.handle_at(QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), hint(handle) if handle else "", self)
            return True
        if event.type() == QEvent.Type.PaletteChange:
            self._still = None
        return super().event(event)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Lay the section out for the new room."""
        super().resizeEvent(event)
        self._lay_out()
