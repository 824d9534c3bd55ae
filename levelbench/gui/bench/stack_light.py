"""Two painted signs of the bench: the stack light, and the status word. Letter, word and shape first, colour last."""

from PySide6.QtCore import QRectF, QSize, Qt, QTimer
from PySide6.QtGui import QColor, QFont, QFontMetrics, QHideEvent, QPainter, QPaintEvent, QPen, QShowEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.look.theme import BODY, GRID, SMALL, TITLE, Theme, font

COLOURS = ("red", "yellow", "green", "blue")
_EDGE = 6  # px beside the word of a lamp
BLINK = 500  # ms on, and as long off
NO_SIGNAL = "NO SIGNAL"
STATUS_MARKS = {"HIGH": "▲ HIGH", "OK": "● OK", "LOW": "▼ LOW", NO_SIGNAL: f"■ {NO_SIGNAL}", "": "–"}


def lamp_colour(colours: Theme, lamp: str) -> QColor:
    """Give the colour of a lit lamp in a theme."""
    found = {
        "red": colours.colour(Role.STOP),
        "yellow": "#e3b221",
        "green": colours.lamp_green,
        "blue": colours.colour(Role.WATER_LINE),
    }
    return QColor(found[lamp])


class StackLight(QWidget):
    """One segment a colour, from the top: red, yellow, green, blue; each says its letter and whether it is lit."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._modes = dict.fromkeys(COLOURS, "off")
        self._dark = False
        self._blink = QTimer(self, interval=BLINK)
        self._blink.timeout.connect(self._turn)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._describe()

    def show_modes(self, modes: dict[str, str]) -> None:
        """Show every lamp "off", "steady" or "flashing"."""
        if modes == self._modes:
            return
        self._modes = dict(modes)
        if "flashing" not in modes.values():
            self._blink.stop()
            self._dark = False
        elif self.isVisible():
            self._blink.start()
        self._describe()
        self.update()

    @property
    def words(self) -> str:
        """What the lamps show, in words."""
        lit = [f"{name} {mode}" for name, mode in self._modes.items() if mode != "off"]
        return ", ".join(lit) or "all lamps off"

    def _describe(self) -> None:
        self.setAccessibleName(f"stack light: {self.words}")
        self.setToolTip(f"Stack light: {self.words}")

    def _turn(self) -> None:
        self._dark = not self._dark
        self.update()

    def sizeHint(self) -> QSize:  # noqa: N802
        """Give the room for four segments with their longest word."""
        metrics = QFontMetrics(theme.font(SMALL, bold=True))
        wide = max(metrics.horizontalAdvance(_said(lamp, "flashing")) for lamp in COLOURS)
        return QSize(wide + 2 * _EDGE + 2, 72)

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Blink again where there is something to blink."""
        super().showEvent(event)
        if "flashing" in self._modes.values():
            self._blink.start()

    def hideEvent(self, event: QHideEvent) -> None:  # noqa: N802
        """Do not blink unseen."""
        self._blink.stop()
        super().hideEvent(event)

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802
        """Paint the segments."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours = theme.current()
        height = self.height() / len(COLOURS)
        for at, lamp in enumerate(COLOURS):
            place = QRectF(0.5, at * height + 1, self.width() - 1, height - 2)
            _paint_lamp(painter, place, lamp, self._modes[lamp], unlit=self._dark, colours=colours)


def _paint_lamp(painter: QPainter, place: QRectF, lamp: str, mode: str, *, unlit: bool, colours: Theme) -> None:
    lit = mode == "steady" or (mode == "flashing" and not unlit)
    ground = lamp_colour(colours, lamp) if lit else QColor(colours.colour(Role.CARD))
    edge = Role.HAIRLINE if mode == "off" else Role.INK
    painter.setPen(QPen(QColor(colours.colour(edge)), 1))
    painter.setBrush(ground)
    painter.drawRoundedRect(place, 3, 3)
    painter.setFont(theme.font(SMALL, bold=mode != "off"))
    bright = ground.lightnessF() > 0.5
    ink = QColor("#1a2128" if bright else "#ffffff") if lit else QColor(colours.colour(Role.QUIET))
    painter.setPen(ink if mode == "off" or lit else QColor(colours.colour(Role.INK)))
    painter.drawText(place.adjusted(_EDGE, 0, -_EDGE, 0), Qt.AlignmentFlag.AlignVCenter, _said(lamp, mode))


def _said(lamp: str, mode: str) -> str:
    """Give what stands on a lamp."""
    word = {"off": "", "steady": "on", "flashing": "flashes"}[mode]
    return f"{lamp[0].upper()}  {word}".rstrip()


class StatusWord(QWidget):
    """HIGH, OK, LOW or NO SIGNAL, each with its mark, in a frame that stands out when it is not OK."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.word = ""
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("status: none yet")

    def show_word(self, word: str) -> None:
        """Show HIGH, OK, LOW or NO SIGNAL; nothing: not known."""
        if word != self.word:
            self.word = word
            self.setAccessibleName(f"status: {word or 'none yet'}")
            self.update()

    @property
    def shown(self) -> str:
        """The mark and the word as they stand there."""
        return STATUS_MARKS[self.word]

    def sizeHint(self) -> QSize:  # noqa: N802
        """Give the room for the longest word."""
        wide = [
            QFontMetrics(_font_of(one)).horizontalAdvance(line)
            for one in STATUS_MARKS.values()
            for line in _lines_of(one).split("\n")
        ]
        return QSize(max(wide) + 2 * GRID, 40)

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802
        """Paint the frame and the word."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours = theme.current()
        abnormal = self.word not in ("OK", "")
        role = Role.ATTENTION if abnormal else Role.INK
        painter.setPen(QPen(QColor(colours.colour(role)), 2 if abnormal else 1))
        painter.setBrush(QColor(colours.colour(Role.ATTENTION_TINT if abnormal else Role.CARD)))
        painter.drawRoundedRect(QRectF(1, 1, self.width() - 2, self.height() - 2), 4, 4)
        painter.setFont(_font_of(self.shown))
        painter.setPen(QColor(colours.colour(role if self.word else Role.QUIET)))
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, _lines_of(self.shown))


def _lines_of(shown: str) -> str:
    """Break a status of two words, so that the frame is no wider for it."""
    mark, *words = shown.split(" ")
    return f"{mark} " + "\n".join(words) if words else mark


def _font_of(shown: str) -> QFont:
    return font(TITLE if _lines_of(shown) == shown else BODY, bold=True)
