"""The station's messages: what the rig said, newest first, and the button that says they were seen."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QAbstractItemView, QListView, QListWidget, QScroller, QWidget

from levelbench.gui.bench.bench_bar import ALARMS
from levelbench.gui.look.parts import column, row, text
from levelbench.gui.station.pad import large
from levelbench.gui.trend.clock import clock
from levelbench.rig import Entry
from levelbench.rig.panel import event_words

KEPT = 200  # messages
_MARKS = {"new": "▲ new", "seen": "✓ seen", "told": "·"}
_UNTOLD = ("horn", "silenced", "automatic")  # they stand on the station anyway


@dataclass(frozen=True)
class Message:
    """One thing that the rig said: when [s], what, and whether it still waits to be seen ("new", "seen", "told")."""

    time: float
    words: str
    state: str

    @property
    def line(self) -> str:
        """The message as it stands in the list."""
        return f"{_MARKS[self.state]}  {clock(self.time)}  {self.words}"


class MessageList(QListWidget):
    """What the rig said, newest first; alarms are new until somebody has acknowledged them here."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[Message] = []
        self.setAccessibleName("messages, newest first")
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # page up and page down reach it from anywhere on the station
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setWordWrap(True)
        self.setTextElideMode(Qt.TextElideMode.ElideNone)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setMinimumHeight(96)
        QScroller.grabGesture(self.viewport(), QScroller.ScrollerGestureType.TouchGesture)

    @property
    def new(self) -> int:
        """How many wait to be seen."""
        return sum(one.state == "new" for one in self.said)

    def begin(self) -> None:
        """Forget what was said in an earlier run."""
        self.said.clear()
        self.clear()

    def add(self, messages: Sequence[Message]) -> None:
        """Take what was said, the oldest first."""
        for one in messages:
            self.said.insert(0, one)
            self.insertItem(0, one.line)
        while len(self.said) > KEPT:
            self.said.pop()
            self.model().removeRow(self.count() - 1)  # an item that is taken would not go

    def see_all(self) -> None:
        """Mark everything as seen."""
        for at, one in enumerate(self.said):
            if one.state == "new":
                self.said[at] = replace(one, state="seen")
                self.item(at).setText(self.said[at].line)
        self.scheduleDelayedItemsLayout()

    def page(self, *, up: bool) -> None:
        """Turn a page."""
        bar = self.verticalScrollBar()
        bar.setValue(bar.value() + (-1 if up else 1) * self.viewport().height())


class Messages(QWidget):
    """The list, two buttons that turn its pages, and the one that marks everything as seen."""

    seen = Signal()  # acknowledged

    def __init__(self) -> None:
        super().__init__()
        self.list = MessageList()
        self.newer = large("▲ Newer", partial(self.list.page, up=True), "newer messages (Page up)")
        self.older = large("▼ Older", partial(self.list.page, up=False), "older messages (Page down)")
        self.acknowledge = large(
            "", self._acknowledge, "messages seen: marks them in this list and silences the horn (F9)"
        )
        layout = column(text("messages, newest first", "name"), self.list, row(self.newer, self.older))
        layout.addWidget(self.acknowledge)
        layout.setStretch(1, 1)
        self.setLayout(layout)
        self._say_new()

    def begin(self) -> None:
        """Forget what was said in an earlier run."""
        self.list.begin()
        self._say_new()

    def tell(self, journal: Sequence[Entry]) -> None:
        """Add what the rig said; alarms that came wait to be seen."""
        said = [one for one in journal if one.kind == "event" and one.what not in _UNTOLD]
        self.list.add(
            [Message(one.time, event_words(one.what, one.value), "new" if _is_alarm(one) else "told") for one in said]
        )
        self._say_new()

    def _say_new(self) -> None:
        new = self.list.new
        self.acknowledge.setText(f"Acknowledge {new}  F9" if new else "Acknowledge  F9")
        self.acknowledge.setEnabled(new > 0)

    def _acknowledge(self) -> None:
        self.list.see_all()
        self._say_new()
        self.seen.emit()


def _is_alarm(entry: Entry) -> bool:
    return entry.what in ALARMS and entry.value > 0
