"""The alarms that stand on the running rig, and those that are kept apart, with what a person does about them."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Qt, QTimer
from PySide6.QtWidgets import QAbstractItemView, QCheckBox, QListWidget, QListWidgetItem, QSizePolicy

from levelbench.gui.bench.abnormal import state_words
from levelbench.gui.fields.line_box import LineBox
from levelbench.gui.fields.typed_value import TypedValue
from levelbench.gui.look.parts import Seen, button, column, holder, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.look.wrapping import Wrapping
from levelbench.gui.preferences import LONGEST_NAME
from levelbench.gui.trend.clock import clock
from levelbench.quantity import Dimension, Quantity

if TYPE_CHECKING:
    from levelbench.gui.bands.watch import Stand, Watch

_NAME = Qt.ItemDataRole.UserRole
_OFTEN = 150  # ms between two looks at the run, at least
_LATCHED, _SHELVED, _OUT = 5, 6, 8  # places in ALARM_STATES
_JOURNAL = ("process", "clock", "design")  # words of the journal that are no person
_NOTHING = "✓ No alarm stands, and none is kept apart."
_NO_RUN = "Nothing is on the bench yet: the alarms of the run stand here."
_PROPOSED = 600.0  # s on the shelf, where the project allows as much


class AlarmList(QListWidget):
    """A line for each alarm under the head of its group; the arrows go past the heads."""

    def __init__(self, highest: int) -> None:
        super().__init__()
        self._highest = highest  # px; from there on it scrolls
        self.setAccessibleName("alarms of the run: those that stand, and those kept apart")
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setWordWrap(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._lines: list[tuple[str, str]] = []  # name and words; a head has no name

    @property
    def chosen(self) -> str:
        """The alarm in hand; "" for none."""
        item = self.currentItem()
        return "" if item is None else str(item.data(_NAME))

    def show_lines(self, lines: list[tuple[str, str]]) -> None:
        """Show these lines; the alarm in hand stays in hand, and the first is taken where it is gone."""
        if lines == self._lines:
            return
        if [name for name, _ in lines] == [name for name, _ in self._lines]:
            for at, (_, words) in enumerate(lines):
                self._word(self.item(at), words)
        else:
            self._rebuild(lines)
        self._lines = lines

    def _rebuild(self, lines: list[tuple[str, str]]) -> None:
        before = self.chosen
        with QSignalBlocker(self):
            self.clear()
            for name, words in lines:
                item = QListWidgetItem()
                item.setData(_NAME, name)
                self._word(item, words)
                if not name:
                    item.setFlags(Qt.ItemFlag.NoItemFlags)
                self.addItem(item)
            names = [name for name, _ in lines]
            wanted = before if before and before in names else next((name for name in names if name), "")
            if wanted:
                self.setCurrentRow(names.index(wanted))
        high = sum(self.sizeHintForRow(at) for at in range(self.count())) + 2 * self.frameWidth()
        self.setFixedHeight(min(high, self._highest))
        self.currentRowChanged.emit(self.currentRow())

    @staticmethod
    def _word(item: QListWidgetItem, words: str) -> None:
        item.setText(words)
        item.setData(Qt.ItemDataRole.AccessibleTextRole, words.replace("\n", ", "))


class StandingList(Seen):
    """The list, the alarm in hand in full, what can be done about it, and the name of who does it."""

    def __init__(self, highest: int = 252) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._watch: Watch | None = None
        self._stands: dict[str, Stand] = {}
        self._soon = QTimer(self, singleShot=True, interval=_OFTEN)
        self._soon.timeout.connect(lambda: self.when_seen(self._again))
        self.says, self.about = text(_NO_RUN, "strong", wrap=True), text("", wrap=True)
        self.list = AlarmList(highest)
        self.normal = QCheckBox("normal ones too")
        self.normal.setAccessibleName("list the alarms that are normal too")
        self._make_buttons()
        self.shelve = TypedValue("shelve for", Dimension.TIME, self._shelve, "Shelve")
        self.shelve.check = self._check_shelf
        self.person = LineBox()
        self.note = text("", "refusal", wrap=True)
        self._explain()
        self._place()
        self._connect()
        self._show_chosen()

    def _make_buttons(self) -> None:
        self.one = button("Acknowledge", lambda: self._do("acknowledge"), "", "acknowledge the alarm in hand")
        self.every = button("All", lambda: self._do("every"), "", "acknowledge every alarm that waits")
        self.reset = button("Reset latched", lambda: self._do("reset"), "", _RESET)
        self.out = button("Take out of service", lambda: self._do("out"), "", _TAKE_OUT)
        self.down = button("Take off the shelf", lambda: self._do("down"), "", "take the alarm in hand off the shelf")

    def _explain(self) -> None:
        self.normal.setToolTip("list the alarms that are normal as well, to shelve one or take it out of service")
        self.person.setAccessibleName("your name, for the journal")
        self.person.setToolTip("stands in the journal with whatever is done on the bench; remembered")
        self.person.setPlaceholderText("operator")
        self.person.setMaxLength(LONGEST_NAME)
        self.shelve.box.setToolTip("for how long nobody is to be told; then it comes back by itself")

    def _place(self) -> None:
        head = row(self.says, self.normal)
        head.setStretch(0, 1)
        name = text("your name", "quiet")
        name.setFixedWidth(96)
        buttons = Wrapping(4, 4).add(self.one, self.every, self.reset, self.out, self.down)
        named = row(name, self.person)
        layout = column(head, self.list, self.about, holder(buttons), self.shelve, named, self.note, gap=GRID // 2)
        self.setLayout(layout)

    def _connect(self) -> None:
        self.normal.toggled.connect(lambda _on: self._again())
        self.list.currentRowChanged.connect(lambda _row: self._show_chosen())
        self.list.itemActivated.connect(lambda _item: self._do("acknowledge"))
        self.person.editingFinished.connect(self._name)

    def take(self, watch: Watch) -> None:
        """Follow the alarms of a run."""
        self._watch = watch
        watch.changed.connect(self._look)
        watch.named.connect(self._show_person)
        self._show_person()
        self._look()

    def _look(self) -> None:
        if not self._soon.isActive():
            self._soon.start()

    # what it shows -----------------------------------------------------------------------------------------------

    def _again(self) -> None:
        """Show how the alarms stand now."""
        watch = self._watch
        if watch is None or watch.view is None:
            self.says.setText(_NO_RUN)
            return
        stands = watch.stands()
        self._stands = {one.name: one for one in stands}
        groups = (
            ("Standing", [one for one in stands if one.stands]),
            ("Kept apart", [one for one in stands if one.apart]),
            ("Normal", [one for one in stands if not one.stands and not one.apart]),
        )
        shown = groups if self.normal.isChecked() else groups[:2]
        lines: list[tuple[str, str]] = []
        for title, found in shown:
            if found:
                lines += [("", f"{title}: {len(found)}"), *((one.name, _line(one)) for one in found)]
        self.list.show_lines(lines)
        self.list.setVisible(bool(lines))
        (_, standing), (_, apart), _ = groups
        waits = sum(one.waits for one in standing)
        words = f"{len(standing)} standing, {waits} to acknowledge, {len(apart)} kept apart"
        self.says.setText(words if standing or apart else _NOTHING)
        self._show_chosen()

    def _show_chosen(self) -> None:
        """Show the alarm in hand, and offer what can be done about it."""
        one = self._stands.get(self.list.chosen) if not self.list.isHidden() else None
        self.about.setText(_in_full(one) if one is not None else "")
        self.about.setVisible(one is not None)
        self.one.setEnabled(one is not None and one.waits)
        self.every.setEnabled(any(each.waits for each in self._stands.values()))
        self.reset.setEnabled(any(each.state == _LATCHED for each in self._stands.values()))
        self.out.setEnabled(one is not None)
        self.out.setText("Bring back into service" if one is not None and one.state == _OUT else "Take out of service")
        self.down.setVisible(one is not None and one.left > 0)
        may = one is not None and one.state <= _SHELVED
        if self.shelve.box.isEnabled() != may:
            self.shelve.allow(may, "")
        if may and not self.shelve.box.text() and self._watch is not None:
            longest, seconds = self._watch.shelf
            self.shelve.put("10 min" if seconds >= _PROPOSED else longest)

    # what is done ------------------------------------------------------------------------------------------------

    def _do(self, what: str) -> None:
        watch, one = self._watch, self._stands.get(self.list.chosen)
        if watch is None:
            return
        if what == "every":
            watch.acknowledge()
        elif what == "reset":
            watch.act("reset")
        elif one is not None and (what != "acknowledge" or one.waits):
            {
                "acknowledge": partial(watch.acknowledge, one.name),
                "out": partial(watch.take_out, one.name, out=one.state != _OUT),
                "down": partial(watch.shelve, one.name, 0.0),
            }[what]()

    def _shelve(self, seconds: float) -> None:
        one = self._stands.get(self.list.chosen)
        if self._watch is not None and one is not None:
            self._watch.shelve(one.name, seconds)

    def _check_shelf(self, quantity: Quantity) -> str:
        if self._watch is None:
            return _NO_RUN
        longest, seconds = self._watch.shelf
        if 0.0 < quantity.si <= seconds * (1 + 1e-9):
            return ""
        return f"An alarm can be shelved for up to {longest}; the alarm handling of the project says so."

    def _name(self) -> None:
        if self._watch is None:
            return
        typed = self.person.text()
        if typed.strip().casefold() in _JOURNAL:
            self.note.setText(f"✗ “{typed.strip()}” is a word of the journal. Type a person's name.")
            return
        self.note.clear()
        if typed != self._watch.person:
            self._watch.person = typed

    def _show_person(self) -> None:
        if self._watch is not None:
            self.person.setText(self._watch.person)


_RESET = (
    "let go of latched alarms that were acknowledged; clears trips that are gone as well, as the panel's reset does"
)
_TAKE_OUT = "take the alarm in hand out of service for maintenance, or bring it back"


def _line(one: Stand) -> str:
    """Give the two lines of an alarm in the list."""
    told = [f"{one.alarm.priority} priority"]
    if one.since > 0 or one.state:
        told.append(f"since {clock(one.since)}")
    if one.left > 0:
        told.append(f"shelf {clock(one.left)}")
    return f"{state_words(one.state)}  {one.name} {one.tag}\n     {' · '.join(told)}"


def _in_full(one: Stand) -> str:
    """Say what the project says of an alarm, and who brought it into its state."""
    action = one.alarm.operator_action or "The project names no operator action for it."
    by = f" So by {one.who} since {clock(one.since)}." if one.who else ""
    return f"{one.name.capitalize()} {one.tag}: {action[:1].upper()}{action[1:].rstrip('.')}.{by}"
