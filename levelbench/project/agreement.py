"""What two or more entries must have in common, beyond what each may be alone.

Only contradictions are refused here, those that no rig can be built from; whether a rig is any good is for the review.
"""

from collections.abc import Callable
from itertools import pairwise
from operator import ge, le, lt
from typing import Any

from levelbench.project.alarms import LAMP_STATES
from levelbench.project.checking import Check
from levelbench.quantity import Dimension, Quantity, in_marks, show

_STEP_SLACK = 1e-6  # of an entry step: rounding of the conversion between units

# (the entry that is named when it is wrong, how it must stand to the other, the other)
_ORDERED = (
    ("loop_settings.set_point_low", "less than", "loop_settings.set_point_high"),
    ("loop_settings.output_low", "less than", "loop_settings.output_high"),
    ("as_found.output_low", "less than", "as_found.output_high"),
    ("start.set_point", "at least", "loop_settings.set_point_low"),
    ("start.set_point", "at most", "loop_settings.set_point_high"),
    ("start.tank_volume", "at most", "reservoir.charge"),
    ("reservoir.suction_above_floor", "less than", "reservoir.height"),
    ("pump.stalls_at", "at most", "pump.starts_moving_at"),
    ("pump.slowest_flow", "less than", "pump.largest_flow"),
    ("pump.least_on", "at most", "pump.cycle"),
    ("tank.rim_to_spill", "less than", "tank.height"),
    ("tank.cone_tip", "at most", "tank.diameter"),
    ("tank.cone_depth", "at most", "tank.height"),
    ("drain.inlet_above_floor", "less than", "drain.crest_above_floor"),
)
_HOLDS: dict[str, Callable[[float, float], bool]] = {"less than": lt, "at most": le, "at least": ge}
_RISING_PAIRS = (
    "sensor.converter_range",
    "sensor.measures_within",
    "sensor.fails_beyond",
    "sensor.volume_at_ends",
)


def check_agreement(check: Check) -> None:
    """Look for contradictions among the sound values of a file, and keep each as a problem."""
    for key, relation, other in _ORDERED:
        wrong = {one.key for one in check.problems}
        if key != "start.set_point" or "loop_settings.set_point_low" not in wrong:  # limits that cross say nothing
            _ordered(check, key, relation, other)
    for key in _RISING_PAIRS:
        _pair(check, key, rising=True)
    for rule in (
        _span,
        _failure_currents,
        _lying,
        _gain,
        _integral,
        _entry_step,
        _fittings,
        _strapping,
        _lamps,
        _letter,
    ):
        rule(check)


def _value(check: Check, key: str) -> Any:
    """Give the sound value of an entry that applies; None otherwise."""
    return check.values.get(key) if key in check.asked else None


def _ordered(check: Check, key: str, relation: str, other: str) -> None:
    one, against = _value(check, key), _value(check, other)
    if one is None or against is None or _HOLDS[relation](one.si, against.si):
        return
    message = f"“{one.shown}” must be {relation} {other}, “{against.shown}”."
    check.problem(key, one.text, f"{relation} {against.shown}", message)


def _pair(check: Check, key: str, *, rising: bool) -> None:
    pair = _value(check, key)
    if pair and pair[0].si != pair[1].si and (pair[0].si < pair[1].si) == rising:
        return
    if pair:
        words = "the smaller one first" if rising else "the larger one first"
        check.problem(key, [one.text for one in pair], words, f"The pair must be two different values, {words}.")


def _span(check: Check) -> None:
    if "sensor.kind" in check.values:
        _pair(check, "sensor.signal_span", rising=check.values["sensor.kind"] not in ("ultrasonic", "radar"))


def _failure_currents(check: Check) -> None:
    inner, outer = _value(check, "sensor.measures_within"), _value(check, "sensor.fails_beyond")
    if inner and outer and not (outer[0].si <= inner[0].si and inner[1].si <= outer[1].si):
        allowed = f"at or outside {inner[0].shown} and {inner[1].shown}"
        message = f"The failure currents must lie {allowed}, within which the signal measures."
        check.problem("sensor.fails_beyond", [one.text for one in outer], allowed, message)


def _lying(check: Check) -> None:
    if check.values.get("tank.shape") == "lying cylinder":
        _ordered(check, "tank.height", "at most", "tank.diameter")


_CONTROLLERS = ("loop_settings", "as_found")


def _gain(check: Check) -> None:
    for section in _CONTROLLERS:
        _one_gain(check, (f"{section}.gain", f"{section}.proportional_band"))


def _one_gain(check: Check, keys: tuple[str, str]) -> None:
    if any(key not in check.values for key in keys):
        return
    given = [check.values[key] for key in keys if check.values[key] is not None]
    if len(given) == 2:
        message = "Gain and proportional band say the same thing twice: leave one of them out."
        check.problem(keys[1], given[1].text, "a gain or a proportional band", message)
    if not given:
        message = "The controller needs a gain or a proportional band."
        check.problem(keys[0], "nothing", "a gain or a proportional band", message)


def _integral(check: Check) -> None:
    for section in _CONTROLLERS:
        _integral_of(check, section)


def _integral_of(check: Check, section: str) -> None:
    integral = check.values.get(f"{section}.integral")
    if integral is None or check.values.get(f"{section}.form") != "parallel":
        return
    what = "a time" if integral.dimension is Dimension.TIME else "repeats" if "repeats" in integral.unit else ""
    if what:
        allowed = in_marks("a rate: gain per time, for example 3.3 1/min, or off")
        verb = "belongs" if what == "a time" else "belong"
        message = f"The parallel form integrates with {allowed}; {what} {verb} to the standard and series forms."
        check.problem(f"{section}.integral", integral.text, allowed, message)


def _entry_step(check: Check) -> None:
    step, start = _value(check, "loop_settings.entry_step"), _value(check, "start.set_point")
    if not step or not start:
        return
    steps = start.si / step.si
    if abs(steps - round(steps)) > _STEP_SLACK:
        near = show(round(steps) * step.si, Dimension.VOLUME, start.unit, step.si / 10)
        message = f"“{start.shown}” can't be entered in steps of {step.shown}; the nearest is {near}."
        check.problem("start.set_point", start.text, f"a multiple of {step.shown}", message, near)


def _fittings(check: Check) -> None:
    for key in [one for one in check.values if one.startswith("tank.dead_wood[") and one.endswith(".bottom")]:
        _ordered(check, key, "less than", f"{key.removesuffix('bottom')}top")


def _strapping(check: Check) -> None:
    table: tuple[tuple[Quantity, Quantity], ...] | None = _value(check, "tank.table")
    if table is None:
        return
    key = "tank.table"
    if len(table) < 2:
        check.problem(
            key, f"{len(table)} rows", "at least two rows", "A table needs at least two rows of level and volume."
        )
    for before, after in pairwise(table):
        for one, other in zip(before, after, strict=True):
            if not one.si < other.si:
                message = f"The table must rise from row to row: “{other.shown}” follows “{one.shown}”."
                check.problem(key, other.text, f"more than {one.shown}", message)


def _lamps(check: Check) -> None:
    seen: dict[str, str] = {}
    for key in [one for one in check.values if one.startswith("stack_light[") and one.endswith(".state")]:
        state = check.values[key]
        if state in seen:
            left = ", ".join(one for one in LAMP_STATES if one not in check.values.values())
            check.problem(
                key, state, f"each state once; left: {left}", f"The state “{state}” has a row already, {seen[state]}."
            )
        seen.setdefault(state, key.rpartition(".")[0])


def _letter(check: Check) -> None:
    letter, means = check.values.get("first_letter"), check.values.get("first_letter_means")
    if letter is None or means is None:
        return
    if not (len(letter) == 1 and "A" <= letter <= "Z"):
        check.problem(
            "first_letter", letter, "one capital letter", f"“{letter}” must be one capital letter, as in ISA-5.1."
        )
    elif letter != "L" and not means.strip():
        message = f"ISA-5.1 has no first letter for volume: say in first_letter_means what your “{letter}” stands for."
        check.problem("first_letter_means", "nothing", "what the letter stands for", message)
