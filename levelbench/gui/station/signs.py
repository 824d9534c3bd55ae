"""The stack light of the station: lamps with their words. Word and shape first, colour last."""

from PySide6.QtCore import QPointF, QSize, Qt, QTimer
from PySide6.QtGui import QColor, QHideEvent, QPainter, QPaintEvent, QPen, QShowEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from levelbench.gui.bench.stack_light import BLINK, COLOURS, lamp_colour
from levelbench.gui.look import theme
from levelbench.gui.look.parts import column, restyle, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.station import look as station_look

LAMP = 64  # px; the disc and its rays
_MODE_WORDS = {"off": "off", "steady": "on", "flashing": "flashes"}


class Lamp(QWidget):
    """A disc: filled when it is lit, with rays when it flashes, an empty ring when it is dark."""

    def __init__(self, colour: str) -> None:
        super().__init__()
        self._colour = colour
        self.mode = "off"
        self.dark = False
        self.setFixedSize(QSize(LAMP, LAMP))
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Paint the disc."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look, middle = station_look.current(), QPointF(self.width() / 2, self.height() / 2)
        lit = self.mode != "off" and not (self.mode == "flashing" and self.dark)
        painter.setPen(QPen(QColor(look.ink if self.mode != "off" else look.edge), 3 if self.mode != "off" else 2))
        painter.setBrush(lamp_colour(theme.current(), self._colour) if lit else QColor(look.card))
        painter.translate(middle)
        painter.scale(self.width() / LAMP, self.width() / LAMP)
        painter.drawEllipse(QPointF(0, 0), 20, 20)
        if self.mode == "flashing":
            for ray in range(8):
                painter.save()
                painter.rotate(45 * ray)
                painter.drawLine(QPointF(0, -24), QPointF(0, -30))
                painter.restore()


class Lamps(QWidget):
    """The stack light, its words under each lamp."""

    def __init__(self) -> None:
        super().__init__()
        self.lamps = {colour: Lamp(colour) for colour in COLOURS}
        self.words = {colour: text("", "calm") for colour in COLOURS}
        self._blink = QTimer(self, interval=BLINK)
        self._blink.timeout.connect(self._turn)
        line = row(gap=GRID)
        for colour in COLOURS:
            inside = column(self.lamps[colour], self.words[colour], gap=0)
            inside.setAlignment(self.lamps[colour], Qt.AlignmentFlag.AlignHCenter)
            self.words[colour].setAlignment(Qt.AlignmentFlag.AlignHCenter)
            line.addLayout(inside, 1)
        self.setLayout(line)
        self.setToolTip("stack light: what each colour means stands on the help's page of the alarms")
        self.show_modes(dict.fromkeys(COLOURS, "off"))

    def resize_lamps(self, *, compact: bool) -> None:
        """Take less room on a small screen."""
        for lamp in self.lamps.values():
            lamp.setFixedSize(QSize(*([LAMP * 3 // 4] * 2 if compact else [LAMP] * 2)))

    def show_modes(self, modes: dict[str, str]) -> None:
        """Show every lamp "off", "steady" or "flashing"."""
        for colour, mode in modes.items():
            lamp, words = self.lamps[colour], f"{colour}\n{_MODE_WORDS[mode]}"
            if lamp.mode != mode or not self.words[colour].text():
                lamp.mode = mode
                lamp.update()
                self.words[colour].setText(words)
                restyle(self.words[colour], role="calm" if mode == "off" else "lit")
                lamp.setAccessibleName(words.replace("\n", " lamp "))
        self._beat()

    def _beat(self) -> None:
        flashing = any(lamp.mode == "flashing" for lamp in self.lamps.values())
        if not flashing or not self.isVisible():
            self._blink.stop()
        elif not self._blink.isActive():
            self._blink.start()

    def _turn(self) -> None:
        for lamp in self.lamps.values():
            lamp.dark = not lamp.dark
            lamp.update()

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802  Qt's name
        """Blink where there is something to blink."""
        super().showEvent(event)
        self._beat()

    def hideEvent(self, event: QHideEvent) -> None:  # noqa: N802  Qt's name
        """Do not blink unseen."""
        self._blink.stop()
        super().hideEvent(event)
