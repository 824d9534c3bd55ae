"""The rail: the six stages in the order of the job, each with its state in a few words and a mark."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFocusEvent, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QFrame, QVBoxLayout, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.look.theme import GRID

STAGES = ("Describe", "Check", "Tune", "Alarms", "Rehearse", "Hand over")
WIDTH = 208
_STEP = 76


@dataclass(frozen=True)
class State:
    """What a stage says of itself: a mark, a headline, and the role that colours them."""

    mark: str
    headline: str
    role: Role = Role.QUIET

    @property
    def words(self) -> str:
        """The mark and the headline in one line."""
        return f"{self.mark} {self.headline}".strip()


class StageButton(QAbstractButton):
    """One stage: its number in a ring, its name, its state."""

    def __init__(self, number: int, name: str) -> None:
        super().__init__()
        self.number = number
        self.setText(name)
        self.setCheckable(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._by_key = False
        self.say(State("", ""))

    def say(self, state: State) -> None:
        """Show what the stage says of itself."""
        self.state = state
        self.setAccessibleName(f"{self.number} {self.text()}")
        self.setAccessibleDescription(state.headline)
        self.setToolTip(f"{self.text()}: {state.headline} (Ctrl+{self.number})" if state.headline else self.text())
        self.update()

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802  Qt's name
        """Show where the keyboard is, once it is the keyboard that brought it there."""
        self._by_key = event.reason() in (Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason)
        super().focusInEvent(event)

    def sizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the size of one step of the rail."""
        return QSize(WIDTH - 1, _STEP)

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Draw the step."""
        look = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_ground(painter, look)
        ring = QRectF(2 * GRID, 10, 26, 26)
        ink = QColor(look.colour(Role.INK))
        if self.number < len(STAGES):
            painter.setPen(QPen(QColor(look.colour(Role.HAIRLINE)), 2))
            painter.drawLine(
                QPointF(ring.center().x(), ring.bottom() + 5), QPointF(ring.center().x(), self.height() + 4)
            )
        painter.setPen(QPen(ink, 1.3))
        painter.setBrush(QColor(look.colour(Role.INK if self.isChecked() else Role.CARD)))
        painter.drawEllipse(ring)
        painter.setPen(QColor(look.colour(Role.CARD if self.isChecked() else Role.INK)))
        painter.setFont(theme.font(theme.BODY))
        painter.drawText(ring, Qt.AlignmentFlag.AlignCenter, str(self.number))
        self._paint_words(painter, look, ring.right() + GRID + 4)

    def _paint_ground(self, painter: QPainter, look: theme.Theme) -> None:
        if self.isChecked():
            painter.fillRect(self.rect().adjusted(0, 0, 0, -8), QColor(look.colour(Role.CARD)))
            painter.fillRect(0, 0, 4, self.height() - 8, QColor(look.colour(Role.WATER_LINE)))
        elif self.underMouse():
            painter.fillRect(self.rect().adjusted(0, 0, 0, -8), QColor(look.chosen))
        if self.hasFocus() and self._by_key:
            painter.setPen(QPen(QColor(look.colour(Role.WATER_LINE)), 1, Qt.PenStyle.DotLine))
            painter.drawRect(self.rect().adjusted(6, 2, -3, -11))

    def _paint_words(self, painter: QPainter, look: theme.Theme, left: float) -> None:
        font = theme.font(theme.TITLE, bold=self.isChecked())
        painter.setFont(font)
        painter.setPen(QColor(look.colour(Role.INK)))
        painter.drawText(QRectF(left, 6, self.width() - left - 4, 18), Qt.AlignmentFlag.AlignVCenter, self.text())
        small = theme.font(theme.SMALL)
        painter.setFont(small)
        painter.setPen(QColor(look.colour(self.state.role)))
        for at, words in enumerate(_two_lines(self.state.words, QFontMetricsF(small), self.width() - left - 6)):
            box = QRectF(left, 26 + 14 * at, self.width() - left - 4, 14)
            painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, words)


class Rail(QFrame):
    """The six stage buttons; exactly one is chosen."""

    chosen = Signal(int)

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "rail")
        self.setFixedWidth(WIDTH)
        self.setAccessibleName("stages of the job")
        self._group = QButtonGroup(self)
        layout = self._column = QVBoxLayout(self)
        layout.setContentsMargins(0, GRID, 0, 0)
        layout.setSpacing(0)
        self.buttons = [StageButton(at + 1, name) for at, name in enumerate(STAGES)]
        for at, one in enumerate(self.buttons):
            self._group.addButton(one, at)
            layout.addWidget(one)
        layout.addStretch(1)
        self._group.idToggled.connect(self._toggled)

    @property
    def at(self) -> int:
        """The chosen stage, from 0; the first as long as none is chosen."""
        return max(self._group.checkedId(), 0)

    def choose(self, at: int) -> None:
        """Choose a stage."""
        self.buttons[at].setChecked(True)

    def say(self, states: Sequence[State]) -> None:
        """Show what every stage says of itself."""
        for one, state in zip(self.buttons, states, strict=True):
            one.say(state)

    def add(self, widget: QWidget) -> None:
        """Put something at the foot of the rail, where it moves nothing else when it comes and goes."""
        self._column.addWidget(widget)

    def _toggled(self, at: int, on: bool) -> None:
        if on:
            self.chosen.emit(at)


def _two_lines(words: str, metrics: QFontMetricsF, width: float) -> list[str]:
    """Break words into at most two lines; the second ends in an ellipsis when even that is too short."""
    if metrics.horizontalAdvance(words) <= width:
        return [words]
    first, rest = "", words.split(" ")
    while rest and metrics.horizontalAdvance(f"{first} {rest[0]}".strip()) <= width:
        first = f"{first} {rest.pop(0)}".strip()
    second = " ".join(rest)
    while rest and metrics.horizontalAdvance(second) > width:
        rest.pop()
        second = f"{' '.join(rest)} …"
    return [first, second]
