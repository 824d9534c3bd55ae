"""Lines of a run's journal in words: what happened, what somebody did, and who it was."""

from math import isinf

from levelbench.gui.bench.live import OPERATOR
from levelbench.quantity import Units
from levelbench.rig.panel import ALARM_NAMES, ENTRIES, WHO, alarm_words, event_words
from levelbench.rig.recording import Entry

_BY = {"process": "", "clock": ": its time is over", "design": ""}


def words_of(entry: Entry, units: Units) -> str:
    """Say what a line of the journal is about, with values in these units; who did it is not said."""
    if entry.kind == "action":
        return f"{entry.what} {set_to(entry, units)}"
    return alarm_words(entry.what, entry.value) if entry.kind == "alarm" else event_words(entry.what, entry.value)


def set_to(entry: Entry, units: Units) -> str:
    """Say what a person set something to."""
    panel = ENTRIES[entry.what]
    if panel.momentary and panel.dimension is None:
        return "pressed"
    if panel.choices:
        return panel.choices[int(entry.value)]
    if panel.dimension is None or isinf(entry.value):
        return "on" if entry.value and not isinf(entry.value) else "off"
    return units.show(entry.value, panel.dimension, abs(entry.value) / 1000)


def because(entry: Entry) -> str:
    """Say, behind the words of an alarm's new state, who or what brought it there; "" for its condition."""
    return _BY.get(entry.who, f" by {entry.who}")


def who(entry: Entry) -> str:
    """Name in a word who did what a line tells: "you" for a person without a name, "rig", "clock" or "design"."""
    if entry.kind == "event" or entry.who == WHO[0]:
        return "rig"
    return "you" if entry.who == OPERATOR else entry.who


def alarm_in(entry: Entry) -> str:
    """Give the alarm that a line is about; "every" for what is done to all of them, "" for none."""
    if entry.kind == "action" and entry.what in ("acknowledge", "silence"):
        return "every"
    if entry.kind != "action":
        return entry.what if entry.what in ALARM_NAMES else ""
    fitting = [name for name in ALARM_NAMES if entry.what.startswith(f"{name} ")]
    return max(fitting, key=len, default="")
