"""Actions in words, as a person types them: a time, the name of a panel entry, and its value where it takes one.

"60 s: set point 3.10 gal", "2 min: stop", "3 min: stop off", "90 s: prime", "2 min: integral time off",
"5 min: high acknowledge", "5 min: high shelve 30 min", "6 min: low suppression not started",
"7 min: lamps high yellow steady, blue flashing".
"""

import difflib
import math
import re
from collections.abc import Sequence

from levelbench.project import units
from levelbench.project.records import GRAVITY
from levelbench.quantity import Dimension, QuantityError, read, written
from levelbench.records.errors import ActionError
from levelbench.rig import lamps
from levelbench.rig.assemble import Rig
from levelbench.rig.panel import ENTRIES, PanelEntry
from levelbench.rig.recording import Action

FORM = "Type it as TIME: WHAT VALUE, for example “60 s: set point 3.10 gal” or “90 s: prime”."
_YES_NO = {"on": 1.0, "yes": 1.0, "pressed": 1.0, "1": 1.0, "": 1.0, "off": 0.0, "no": 0.0, "released": 0.0, "0": 0.0}
_WITHOUT_LIMIT = ("integral time", "output rate", "ramp")  # the word "off" means no integral action, no limit


def read_action(text: str) -> Action:
    """Read one action; raises ActionError with what can be typed in its place."""
    when, colon, what = text.partition(":")
    if not colon or not what.strip():
        raise ActionError(text, "This is not an action.", FORM)
    try:
        time = read(when.strip(), Dimension.TIME).si
    except QuantityError as error:
        raise ActionError(text, f"The time can't be read. {error.reason}", error.hint) from error
    if time < 0:
        raise ActionError(text, "The time is before the start.", "The run starts at 0 s.")
    entry, value = _split(text, " ".join(what.split()))
    return Action(time, entry.name, _value(text, entry, value))


def read_actions(texts: Sequence[str], rig: Rig, duration: float) -> list[Action]:
    """Read the actions of a run of a rig that lasts `duration` [s].

    Raises ActionError for one that can't be read, and for one that would do nothing: after the end of the run, on a
    part that the rig has not, or a set point that its panel refuses.
    """
    actions = [read_action(text) for text in texts]
    for text, action in zip(texts, actions, strict=True):
        if action.time >= duration:
            raise ActionError(
                text, f"The run is over by then: it lasts {written(duration, 'g')} s.", "Run it for longer."
            )
        _part_is_there(text, action, rig)
        if not {"set point low", "set point high"} & {one.what for one in actions}:
            _panel_takes(text, action, rig)
    _hands_on(texts, actions, rig)
    return actions


def _hands_on(texts: Sequence[str], actions: Sequence[Action], rig: Rig) -> None:
    """Refuse an output typed in automatic: there the controller writes it, and a change to manual takes it over."""
    automatic = rig.project.start.mode == "auto"
    for text, action in sorted(zip(texts, actions, strict=True), key=lambda pair: pair[1].time):
        if action.what == "auto":
            automatic = action.value > 0
        elif action.what == "manual output" and automatic:
            when = f"{written(action.time, 'g')} s: auto off"
            raise ActionError(text, "In automatic the controller sets the output.", f"Put “{when}” before it.")


def _part_is_there(text: str, action: Action, rig: Rig) -> None:
    kind = rig.project.drain.kind
    needs = {"draw": ("forced draw",), "valve opening": GRAVITY, "prime": ("siphon over the rim",)}.get(action.what)
    if needs is None or kind in needs:
        return
    instead = "valve opening" if kind in GRAVITY else "draw" if kind == "forced draw" else ""
    hint = f"Its flow is set by “{instead}”." if instead and action.what != "prime" else "Leave this action out."
    what = f"This rig's drain is a {kind}" if kind != "none" else "This rig has no drain"
    raise ActionError(text, f"{what}: “{action.what}” does nothing to it.", hint)


def _panel_takes(text: str, action: Action, rig: Rig) -> None:
    settings, shown = rig.project.loop_settings, units(rig.project)
    low, high = settings.set_point_low.si, settings.set_point_high.si
    slack = 1e-9 * high  # rounding of the conversion between units
    if action.what == "set point" and not low - slack <= action.value <= high + slack:
        entered = shown.show(action.value, Dimension.VOLUME)
        limits = f"{settings.set_point_low.shown} to {settings.set_point_high.shown}"
        raise ActionError(text, f"The panel refuses {entered}: it takes {limits}.", "Set “set point high” first.")


def _split(text: str, words: str) -> tuple[PanelEntry, str]:
    """Find the panel entry with the longest name that these words begin with, and what follows it."""
    low = words.casefold()
    fitting = [name for name in ENTRIES if low == name or low.startswith(name + " ")]
    if not fitting:
        near = difflib.get_close_matches(re.split(r"\d", low)[0].strip(), ENTRIES, n=1, cutoff=0.4)
        nearest = f"The nearest name is “{near[0]}”. " if near else ""
        raise ActionError(text, "There is no such thing on the panel.", f"{nearest}There are: {', '.join(ENTRIES)}.")
    name = max(fitting, key=len)
    return ENTRIES[name], words[len(name) :].strip()


def _value(text: str, entry: PanelEntry, value: str) -> float:
    if entry.choices:
        return _choice(text, entry, value)
    if entry.dimension is None:
        return _yes_no(text, entry, value)
    if value.casefold() == "off" and entry.name in _WITHOUT_LIMIT:
        return math.inf
    try:
        quantity = read(value, entry.dimension)
    except QuantityError as error:
        raise ActionError(text, f"The value can't be read. {error.reason}", error.hint) from error
    if entry.dimension is Dimension.GAIN and not quantity.per_volume:
        raise ActionError(text, "On the panel the gain is per volume.", "Type for example “750 %/gal”.")
    return quantity.si


def _choice(text: str, entry: PanelEntry, value: str) -> float:
    if value.casefold() not in entry.choices:
        raise ActionError(text, f"“{value}” can't follow “{entry.name}”.", f"It takes {_choices(entry)}.")
    return float(entry.choices.index(value.casefold()))


def _choices(entry: PanelEntry) -> str:
    if entry.choices is not lamps.CHOICES:
        return ", ".join(entry.choices)
    return "lamps and horn in the table's order, for example “red flashing, blue steady, horn” or “dark”"


def _yes_no(text: str, entry: PanelEntry, value: str) -> float:
    found = _YES_NO.get(value.casefold())
    if found is None or (entry.momentary and found == 0.0):
        allowed = "nothing after it: it is pressed" if entry.momentary else "on or off after it"
        raise ActionError(text, f"“{value}” can't follow “{entry.name}”.", f"It takes {allowed}.")
    return found
