"""The panes of the trend one under another over their strip of flags, all on the same stretch of time."""

from collections.abc import Iterator, Sequence

from PySide6.QtCore import QEvent, QObject, QPointF, QSize, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from levelbench.gui.look.theme import Theme
from levelbench.gui.trend.key import CurveKey
from levelbench.gui.trend.pane import LEFT, Pane
from levelbench.gui.trend.pens import PANES
from levelbench.gui.trend.strip import Strip


class Panes(QWidget):
    """Every pane and the strip. Values come in already converted to the units of the axes."""

    moved_by_hand = Signal(float, float)  # [s] from, to
    pointed = Signal(object)  # float | None: [s] under the pointer, None when it has gone

    def __init__(self, panes: Sequence[Pane] = ()) -> None:
        """Put panes that were made beforehand, or new ones, under one another."""
        super().__init__()
        self.setProperty("role", "on-card")
        made = panes or [Pane(kind) for kind in PANES]
        self.panes = {kind.name: pane for kind, pane in zip(PANES, made, strict=True)}
        self.strip = Strip()
        self._left = LEFT
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        for kind in PANES:
            layout.addWidget(self.panes[kind.name], kind.share)
        layout.addWidget(self.strip)
        for one in self.parts():
            one.moved_by_hand.connect(self.moved_by_hand)
            one.view.scene().sigMouseMoved.connect(self._point)
            one.view.viewport().installEventFilter(self)

    def parts(self) -> Iterator[Pane | Strip]:
        """Give every pane and the strip, from the top."""
        yield from self.panes.values()
        yield self.strip

    def keys(self) -> dict[str, CurveKey]:
        """Give the key of every pen by its column."""
        return {column: key for pane in self.panes.values() for column, key in pane.keys.items()}

    def dress(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        for one in self.parts():
            one.dress(theme)

    def width_of_plot(self) -> int:
        """Give the width of the panes without their axes [px]."""
        return max(int(self.strip.plot.vb.width()), 50)

    def span(self) -> tuple[float, float]:
        """Give the times shown [s]: from, to."""
        (start, end), _ = self.strip.plot.vb.viewRange()
        return float(start), float(end)

    def show_span(self, start: float, end: float) -> None:
        """Show the times from start to end [s] everywhere."""
        for one in self.parts():
            one.show_span(start, end)

    def draw_grid(self) -> None:
        """Draw a line at every tick, and give all scales the same room so that the panes stand in line."""
        across = self.strip.ticks()
        seen = [pane for pane in self.panes.values() if not pane.isHidden()]
        for pane in seen:
            pane.draw_grid(across)
        self._left = max([self._left, *(pane.room_for_scale() for pane in seen)])
        for one in self.parts():
            axis = one.plot.getAxis("left")
            if axis.width() != self._left:
                axis.setWidth(self._left)

    def show_cursor(self, time: float | None) -> None:
        """Put the cursor at a time [s], or take it away."""
        for one in self.parts():
            one.show_cursor(time)

    def _point(self, place: QPointF) -> None:
        box = self.strip.plot.vb  # every plot has the same place across
        self.pointed.emit(float(box.mapSceneToView(QPointF(place.x(), 0.0)).x()))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Notice when the pointer has left the curves."""
        if event.type() == QEvent.Type.Leave:
            self.pointed.emit(None)
        return super().eventFilter(watched, event)

    def minimumSizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Leave room for two lines of keys and a curve that can still be read."""
        return super().minimumSizeHint().expandedTo(QSize(320, 150))

    def sizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Take what there is."""
        return self.minimumSizeHint()
