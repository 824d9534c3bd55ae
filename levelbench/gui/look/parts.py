"""Small pieces that every card is made of: headings, lines of text, buttons, a card, a scrolling column."""

from collections.abc import Callable, Iterable
from functools import partial
from typing import TypeVar

from PySide6.QtCore import QEvent, QObject, QSize, Qt, QTimer
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLayout,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)
from shiboken6 import delete

from levelbench.gui.look.theme import GRID

Box = TypeVar("Box", bound=QBoxLayout)


def text(words: str, role: str = "body", *, wrap: bool = False, selectable: bool = False) -> QLabel:
    """Make a line of text; `role` names its look in the style sheet."""
    label = QLabel(words)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setProperty("role", role)
    label.setWordWrap(wrap)
    if wrap:
        label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
    if selectable:
        label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return label


def restyle(widget: QWidget, **properties: str) -> None:
    """Set properties that the style sheet looks at, and show the look that goes with them."""
    if all((widget.property(name) or "") == value for name, value in properties.items()):
        return  # one that was never set is empty: no form is put on anew for saying so
    for name, value in properties.items():
        widget.setProperty(name, value)
    widget.style().unpolish(widget)
    widget.style().polish(widget)


def button(words: str, pressed: Callable[[], object], role: str = "", tip: str = "") -> QPushButton:
    """Make a button with its words, what it does, and a longer word for it."""
    made = QPushButton(words)
    made.setProperty("role", role)
    made.setAccessibleName(tip or words)
    made.setToolTip(tip)
    made.setAutoDefault(False)
    if role == "link":
        made.setCursor(Qt.CursorShape.PointingHandCursor)
        made.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
    made.clicked.connect(lambda _checked=False: pressed())
    return made


def choice(words: str, chosen: Callable[[], object], name: str, tip: str = "") -> QPushButton:
    """Make one of several words to choose by, which stays down while it is chosen; name: for a screen reader."""
    made = button(words, chosen, "way", tip)
    made.setCheckable(True)
    made.setAccessibleName(name)
    return made


def line() -> QFrame:
    """Make a hairline."""
    made = QFrame()
    made.setProperty("role", "line")
    made.setFixedHeight(1)
    return made


def row(*items: QWidget | QLayout | None, gap: int = GRID) -> QHBoxLayout:
    """Lay widgets and columns side by side; None takes the room that is left."""
    return _laid(QHBoxLayout(), items, gap)


def column(*items: QWidget | QLayout | None, gap: int = GRID) -> QVBoxLayout:
    """Lay widgets and rows one under another; None takes the room that is left."""
    return _laid(QVBoxLayout(), items, gap)


def _laid(made: Box, items: Iterable[QWidget | QLayout | None], gap: int) -> Box:
    made.setContentsMargins(0, 0, 0, 0)
    made.setSpacing(gap)
    for item in items:
        if item is None:
            made.addStretch(1)
        elif isinstance(item, QLayout):
            made.addLayout(item)
        else:
            made.addWidget(item)
    return made


def holder(layout: QLayout) -> QWidget:
    """Put a layout on a widget of its own that takes the ground of the card it lies on."""
    made = QWidget()
    made.setProperty("role", "on-card")
    made.setLayout(layout)
    return made


class Scrolling(QScrollArea):
    """A column that scrolls up and down only, so it is never narrower than what it holds and the bar beside it."""

    def minimumSizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the width that nothing is cut in."""
        least = super().minimumSizeHint()
        inside = self.widget()
        if inside is None:
            return least
        bar = self.verticalScrollBar().sizeHint().width()
        return QSize(max(least.width(), inside.minimumSizeHint().width() + bar), least.height())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Hand on that what it holds needs another width."""
        if watched is self.widget() and event.type() == QEvent.Type.LayoutRequest:
            self.updateGeometry()
        return super().eventFilter(watched, event)


class Fitted(QFrame):
    """Never higher than its words need at its width; Qt would keep the room that they need in a narrow one."""

    def minimumSizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the least height at the present width."""
        least, layout = super().minimumSizeHint(), self.layout()
        if layout is None:
            return least
        return QSize(least.width(), layout.totalMinimumHeightForWidth(max(self.width(), least.width())))

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  Qt's name
        """Ask for another height where the width is another."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.updateGeometry()


def scrolling(inside: QWidget) -> QScrollArea:
    """Let a column scroll when the window is too low for it."""
    area = Scrolling()
    area.setWidgetResizable(True)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setWidget(inside)
    return area


def scroller_of(inside: QWidget) -> QScrollArea | None:
    """Give what a widget scrolls in, the innermost; None where nothing scrolls."""
    area = inside.parentWidget()
    while area is not None and not isinstance(area, QScrollArea):
        area = area.parentWidget()
    return area


def bring_up(inside: QWidget) -> None:
    """Scroll to a widget, now and again once everything has its place."""
    area = scroller_of(inside)
    if area is not None:
        area.ensureWidgetVisible(inside)
        QTimer.singleShot(0, inside, partial(area.ensureWidgetVisible, inside))


class Sheet(QScrollArea):
    """Holds all of a window: as large as the window, and in a window too small for it, it scrolls both ways."""

    def __init__(self, inside: QWidget) -> None:
        super().__init__()
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._inside = inside
        self.setWidget(inside)
        inside.installEventFilter(self)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  Qt's name
        """Go with the window."""
        super().resizeEvent(event)
        self._fit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Hear that what it holds needs another size."""
        if watched is self._inside and event.type() == QEvent.Type.LayoutRequest:
            self._fit()
        return super().eventFilter(watched, event)

    def _fit(self) -> None:
        """Make what it holds as large as the window, and not smaller than its least; Qt would take its best height."""
        room, least = self.maximumViewportSize(), self._inside.minimumSizeHint()
        bar = self.verticalScrollBar().sizeHint().width()
        lower = bar if least.width() > room.width() else 0
        narrower = bar if least.height() > room.height() - lower else 0
        self._inside.resize(least.expandedTo(room - QSize(narrower, lower)))


def clear(layout: QLayout) -> None:
    """Take everything out of a layout and let it go."""
    while (item := layout.takeAt(0)) is not None:
        if (widget := item.widget()) is not None:
            widget.hide()  # it stays where it is until it goes: another parent would put the style on it anew
            widget.deleteLater()
        if (inner := item.layout()) is not None:
            clear(inner)
            inner.deleteLater()
        else:
            delete(item)  # it would not go by itself


class Seen(QFrame):
    """A part that does not draw while nobody sees it."""

    def __init__(self) -> None:
        super().__init__()
        self._owed: list[Callable[[], object]] = []

    def when_seen(self, show: Callable[[], object]) -> None:
        """Do this now when the part is in sight, else once when it comes into sight; nothing is drawn for nobody."""
        if self.isVisible():
            show()
        elif show not in self._owed:
            self._owed.append(show)

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802  Qt's name
        """Do what was put off while nobody saw it."""
        super().showEvent(event)
        owed, self._owed = self._owed, []
        for show in owed:
            show()


class Card(Seen):
    """A white sheet with a heading, a short word on the right, and a scrolling column under them."""

    def __init__(self, heading: str, aside: str = "") -> None:
        super().__init__()
        self.setProperty("role", "card")
        self.heading = text(heading, "heading")
        self.aside = text(aside, "quiet", wrap=True)
        self.aside.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.body = QVBoxLayout()
        self.body.setContentsMargins(0, 0, GRID, GRID)
        self.body.setSpacing(GRID)
        self.head, self.foot = column(gap=GRID), column(gap=GRID)
        self.area = scrolling(holder(self.body))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(2 * GRID, GRID + 4, GRID, GRID + 4)
        layout.setSpacing(GRID)
        top = row(self.heading, self.aside)
        top.setStretch(1, 1)
        layout.addLayout(top)
        layout.addLayout(self.head)
        layout.addWidget(self.area, 1)
        layout.addLayout(self.foot)


class Pages(QStackedWidget):
    """One page at a time; only the one in sight may ask for room, so that no other makes the window too large."""

    def __init__(self) -> None:
        super().__init__()
        self.currentChanged.connect(lambda _at: self.updateGeometry())

    def minimumSizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the least room of the page in sight."""
        page = self.currentWidget()
        return QSize() if page is None else page.minimumSizeHint().expandedTo(page.minimumSize())


class Cards(Pages):
    """One card at a time, as wide as is asked for; wider where its words need it, narrower where there is no room."""

    def __init__(self, width: int) -> None:
        super().__init__()
        self._wide = width
        self.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Preferred)

    def sizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the width of the cards."""
        return QSize(max(self._wide, self.minimumSizeHint().width()), super().sizeHint().height())


class Note(QFrame):
    """A tinted box that says one thing with a mark, and may offer a button or two."""

    def __init__(self, words: str, role: str, *buttons: QPushButton) -> None:
        super().__init__()
        self.setProperty("role", "note")
        self.words = text(words, role, wrap=True)
        self.buttons = buttons
        layout = QVBoxLayout(self)
        layout.setContentsMargins(GRID, GRID, GRID, GRID)
        layout.setSpacing(GRID // 2)
        layout.addWidget(self.words)
        if buttons:
            layout.addLayout(row(*buttons, None))
