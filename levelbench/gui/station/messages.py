"""The station's messages: what the rig said, newest first, and the button that says they were seen."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QAbstractItemView, QListView, QListWidget, QScroller, QWidget

from levelbench.gui.bench.abnormal import TO_ACKNOWLEDGE, TRIPS
from levelbench.gui.bench.told import because
from levelbench.gui.look.parts import column, row, text
from levelbench.gui.station.pad import large
from levelbench.gui.trend.clock import clock
from levelbench.rig import Entry
from levelbench.rig.panel import ALARM_NAMES, ALARM_STATES, alarm_words, event_words, goes_without_saying

KEPT = 200  # messages
_MARKS = {"new": "▲ new", "seen": "✓ seen", "over": "✓ over", "told": "·"}
_COME = ALARM_STATES.index("unacknowledged")
_SEEN = tuple(ALARM_STATES.index(one) for one in ("acknowledged", "latched acknowledged"))
_UNTOLD = ("horn", "silenced", "automatic")  # they stand on the station anyway


@dataclass(frozen=True)
class Message:
    """One thing that the rig said: when [s], what, and whether it still waits to be acknowledged (`_MARKS`).

    That of an alarm follows the alarm's own state: "seen" once somebody has acknowledged it, here or elsewhere, "over"
    when it needs nobody any more.
    """

    time: float
    words: str
    state: str
    alarm: str = ""  # whose coming it tells

    @property
    def line(self) -> str:
        """The message as it stands in the list."""
        return f"{_MARKS[self.state]}  {clock(self.time)}  {self.words}"


class MessageList(QListWidget):
    """What the rig said, newest first; alarms are new until somebody has acknowledged them."""

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

    def answer(self, alarm: str, state: str) -> None:
        """Give everything new of an alarm, or with "" of no alarm, another state."""
        for at, one in enumerate(self.said):
            if one.state == "new" and one.alarm == alarm:
                self._mark(at, state)
        self.scheduleDelayedItemsLayout()

    def raise_one(self, time: float, alarm: str) -> bool:
        """Let the message of this time that tells an alarm's coming wait to be acknowledged; False: there is none."""
        for at, one in enumerate(self.said):
            if one.time < time:
                break
            if one.alarm == alarm:
                self._mark(at, "new")
                return True
        return False

    def _mark(self, at: int, state: str) -> None:
        self.said[at] = replace(self.said[at], state=state)
        self.item(at).setText(self.said[at].line)

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
            "", self._acknowledge, "acknowledges every alarm that waits, and silences the horn (F9)"
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
        """Add what the rig said, and what became of its alarms; those that came wait to be acknowledged."""
        for entry in journal:
            if entry.kind == "alarm":
                self._tell_alarm(entry)
            elif entry.kind == "event" and entry.what not in _UNTOLD:
                state = "new" if entry.what in TRIPS and entry.value > 0 else "told"
                alarm = entry.what if entry.what in ALARM_NAMES and entry.value > 0 else ""
                self.list.add([Message(entry.time, event_words(entry.what, entry.value), state, alarm)])
        self._say_new()

    def _tell_alarm(self, entry: Entry) -> None:
        """Take an alarm's new state; one that its condition brought has been told with the condition."""
        state = int(entry.value)
        waits = state in TO_ACKNOWLEDGE
        if not waits:
            self.list.answer(entry.what, "seen" if state in _SEEN else "over")
        told = state == _COME and self.list.raise_one(entry.time, entry.what)
        if not told and not goes_without_saying(entry.kind, entry.value, entry.who):
            words = f"{alarm_words(entry.what, entry.value)}{because(entry)}"
            self.list.add([Message(entry.time, words, "new" if waits else "told", entry.what if waits else "")])

    def _say_new(self) -> None:
        new = self.list.new
        self.acknowledge.setText(f"Acknowledge {new}  F9" if new else "Acknowledge  F9")
        self.acknowledge.setEnabled(new > 0)

    def _acknowledge(self) -> None:
        self.list.answer("", "seen")  # trips have no state of their own
        self._say_new()
        self.seen.emit()
