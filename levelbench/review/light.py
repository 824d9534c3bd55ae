"""The rule on the stack light's truth table: no state dark, none told by colour alone."""

from levelbench.project.records import LAMP_COLOURS, LAMP_STATES, LampRow
from levelbench.quantity import Dimension
from levelbench.review.finding import Finding, Severity
from levelbench.rig import Rig
from levelbench.rig.bench import Bench
from levelbench.rig.sources import LAMPS

_ALARMS = {
    "high-high": "high_high",
    "high": "high",
    "low": "low",
    "low-low": "low_low",
    "deviation": "deviation",
    "rate of change": "rate_of_change",
    "frozen signal": "frozen_signal",
    "no rise": "no_rise",
    "spill": "spill",
}
_GRAVE = {"stop pressed", "switch tripped", "sensor failed"}
_LAMP_FOR: dict[str, dict[str, str | bool]] = {
    "stop pressed": {"red": "steady", "horn": True},
    "switch tripped": {"red": "steady", "horn": True},
    "sensor failed": {"yellow": "flashing", "horn": True},
    "waiting for start": {"blue": "flashing"},
    "high-high": {"red": "flashing", "horn": True},
    "normal": {"green": "steady"},
}
"""A lamp for a state that shows none; yellow, flashing, for the others (IEC 60073: abnormal)."""


def truth_table(rig: Rig) -> Finding:
    """Every state that can come must light something, and none may be told from normal by colour alone."""
    key, title, go_to = "light.truth_table", "Stack light's truth table", "stack_light"
    bench = Bench(rig)
    rows = {row.state: row for row in rig.project.stack_light}
    states = _states(rig)
    dark = [state for state in states if state not in rows or not _lit(rows[state])]
    normal = rows.get("normal")
    alike = [
        state
        for state in states
        if state not in dark and state != "normal" and normal is not None and _shape(rows[state]) == _shape(normal)
    ]
    figures = (
        bench.figure(
            "light.dark_states", "states that light nothing", (float(len(dark)), Dimension.NUMBER),
            "states that can come on this rig, without a lit lamp in their row", LAMPS,
            inputs=[("states", str(len(states))), ("dark", ", ".join(dark) or "none")], resolution=1.0,
        ),
        bench.figure(
            "light.colour_only", "states told by colour alone", (float(len(alike)), Dimension.NUMBER),
            "abnormal states with as many steady and flashing lamps as “normal”, and no horn either", LAMPS,
            inputs=[("told by colour alone", ", ".join(alike) or "none")], resolution=1.0,
        ),
    )  # fmt: skip
    if not dark and not alike:
        text = "Every state lights a lamp, and each abnormal one flashes or sounds or lights more than “normal” does."
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    text, change = _words(", ".join(dark), ", ".join(alike))
    severity = Severity.STOP if _GRAVE & set(dark) else Severity.ATTEND
    return Finding(key, title, severity, text, figures, change, go_to, {"stack_light": _mended(rows, dark, alike)})


def _words(dark: str, alike: str) -> tuple[str, str]:
    """Say what is dark and what is told by colour alone, and what to do about it."""
    found, do = [], []
    if dark:
        found.append(f"Dark: {dark}.")
        do.append(f"Give {dark} a lamp each: red for act at once, yellow for abnormal, blue for a person to act.")
    if alike:
        found.append(f"Told from “normal” by colour alone: {alike} (some eight men in a hundred miss that).")
        do.append(f"Let {alike} flash.")
    return " ".join(found), " ".join(do)


def _mended(rows: dict[str, LampRow], dark: list[str], alike: list[str]) -> list[dict[str, str | bool]]:
    """Give the whole table with a lamp for each dark state, and flashing where only a colour told one."""
    table: list[dict[str, str | bool]] = []
    for state in LAMP_STATES:
        row: dict[str, str | bool] = dict(vars(rows[state])) if state in rows else {"state": state}
        if state in dark:
            row |= _LAMP_FOR.get(state, {"yellow": "flashing"})
        elif state in alike:
            row |= {colour: "flashing" for colour in LAMP_COLOURS if row[colour] == "steady"}
        if state in rows or state in dark:
            table.append(row)
    return table


def _states(rig: Rig) -> list[str]:
    """Give the states that can come on this rig; “manual” adds to another state and is never alone."""
    bands = rig.project.bands
    return [
        state
        for state in LAMP_STATES
        if state != "manual"
        and (state != "switch tripped" or rig.project.overflow_switch.fitted)
        and (state not in _ALARMS or getattr(bands, _ALARMS[state]) is not None)
    ]


def _lit(row: LampRow) -> bool:
    return any(getattr(row, colour) != "off" for colour in LAMP_COLOURS)


def _shape(row: LampRow) -> tuple[int, int, bool]:
    """Give what a row shows to someone who sees no colours: lamps steady, lamps flashing, horn."""
    modes = [getattr(row, colour) for colour in LAMP_COLOURS]
    return modes.count("steady"), modes.count("flashing"), row.horn
