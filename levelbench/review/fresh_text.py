"""The text of a new project: what was answered, and behind each value that was not, from where it comes."""

from levelbench.alarms.rationale import PROPOSED
from levelbench.project.interview import Answers, applies, assumed, check, said, text_of
from levelbench.project.page import rendered
from levelbench.project.records import DISTANCE_SENSORS, GRAVITY
from levelbench.quantity import Dimension, in_unit
from levelbench.review.fresh_numbers import Wanted

L, V, Q, T = Dimension.LENGTH, Dimension.VOLUME, Dimension.FLOW, Dimension.TIME
_PLACE = 44  # the column at which the comments begin
_HEAD = """\
# Begun with the ten questions. What you answered stands here as you typed it. Everything else is an assumption, and
# its comment says by which rule: go through them with the rig in front of you, and put in what you measured.

"""
Lines = list[str]


def sections(answers: Answers, wanted: Wanted) -> str:
    """Write the whole project file."""
    parts = (_job, _vessels, _pump, _drain, _sensor, _switch, _loop, _bands, _duty)
    return _HEAD + "\n".join("\n".join(part(answers, wanted)) + "\n" for part in parts)


def _entry(name: str, value: str | bool | int | list[str], why: str = "") -> str:
    line = f"{name} = {rendered(value)}"
    return f"{line:<{_PLACE - 1}} # assumed: {why}" if why else line


def _asked(name: str, key: str, answers: Answers, value: str = "") -> str:
    """Write an entry that was asked for: as answered, or what is assumed in its place and why."""
    if said(answers, key):
        return _entry(name, said(answers, key))
    told = assumed(key, answers)
    return _entry(name, value or text_of(key, answers), told if value else "nothing was answered")


def _job(answers: Answers, wanted: Wanted) -> Lines:
    units = wanted.units
    return [
        "levelbench = 1",
        _asked("title", "title", answers),
        _asked("loop", "loop", answers),
        "",
        "[display]",
        _entry("volume", units.volume, "" if said(answers, "units") else "nothing was answered"),
        _entry("length", units.length),
        _entry("flow", units.flow),
        "",
        "[liquid]",
        _entry("name", "water", "water at 20 °C"),
    ]


def _vessels(answers: Answers, wanted: Wanted) -> Lines:
    rim, held = wanted.rim, wanted.spill_volume
    sizes = [_asked(key, key, answers) for key in ("diameter", "length", "width", "height") if applies(key, answers)]
    shape = text_of("shape", answers)
    if shape == "cone bottom":
        sizes.append(_entry("cone_depth", wanted.typed(rim / 3, L, digits=6), "a third of the height"))
    if shape == "lying cylinder":
        sizes.append(_entry("ends", "flat", "flat ends; dished, elliptical and hemispherical can be chosen"))
    drop = wanted.typed(0.04 * rim, L, up=False)
    return [
        "[tank]",
        _asked("shape", "shape", answers),
        *sizes,
        _entry("rim_to_spill", drop, "a spout or overflow pipe 4 % of the height below the rim"),
        "",
        "[reservoir]",
        _entry("capacity", wanted.typed(2 * held, V), "twice the tank"),
        _entry("charge", wanted.typed(1.6 * held, V, up=False), "four fifths of that, so that all can come home"),
        _entry("height", wanted.typed(rim, L), "as high as the tank"),
        _entry("floor_below_tank_floor", wanted.typed(1.5 * rim, L), "one and a half heights of the tank below it"),
        _entry("suction_above_floor", wanted.typed(0.05 * rim, L), "a twentieth of its height"),
    ]


def _pump(answers: Answers, wanted: Wanted) -> Lines:
    head = [_asked("shut_off_head", "shut_off_head", answers)] if said(answers, "shut_off_head") else []
    unknown = [] if head else ["# shut_off_head left out: the flow does not depend on the lift"]
    return [
        "[pump]",
        _asked("largest_flow", "largest_flow", answers, wanted.typed(wanted.flow, Q, up=False)),
        *head,
        *unknown,
        _entry("starts_moving_at", "10 %", "common practice for a small pump on a speed drive"),
        _entry("stalls_at", "7 %", "a little under its start"),
        _entry("slowest_flow", wanted.typed(0.07 * wanted.flow, Q), "7 % of the largest"),
        _entry("spin_up", "0.5 s", "common practice for a small pump"),
        _entry("check_valve", True, "one is fitted"),
    ]


def _drain(answers: Answers, wanted: Wanted) -> Lines:
    kind, rim = text_of("drain", answers), wanted.rim
    lines = ["[drain]", _asked("kind", "drain", answers)]
    if kind == "forced draw":
        lines.append(_entry("draw", wanted.typed(wanted.draw / 2, Q), "half of the largest draw"))
    if kind not in GRAVITY:
        return lines
    crest = []
    if kind == "siphon over the rim":
        crest = [_entry("crest_above_floor", wanted.typed(1.1 * rim, L), "a tenth above the rim")]
    valve = wanted.typed(wanted.valve, Dimension.FLOW_COEFFICIENT, up=True)
    length = wanted.typed((2.5 if crest else 0.6) * rim, L)
    return [
        *lines,
        _entry("inlet_above_floor", wanted.typed(wanted.inlet, L), "near the floor, well under the lowest volume"),
        *crest,
        _entry("outlet_above_floor", wanted.typed(-0.3 * rim, L), "below the floor, above the reservoir's brim"),
        _entry("tube_diameter", wanted.typed(wanted.bore, L, up=True), "wide enough for the largest draw"),
        _entry("tube_length", length, "the straight way"),
        _entry("valve_cv", valve, "open at the lowest volume it takes a tenth more than the largest draw"),
        _entry("opening", "30 %", "so that something happens"),
    ]


def _sensor(answers: Answers, wanted: Wanted) -> Lines:
    kind, rim = text_of("sensor", answers), wanted.rim
    lines = ["[sensor]", _asked("kind", "sensor", answers)]
    inches = wanted.units.length == "in"
    span_why = "floor to rim"
    if kind in DISTANCE_SENSORS:
        blind = 0.0508 if inches else 0.05
        face = wanted.typed(rim + blind, L, up=True, digits=5)
        span = [face, wanted.typed(blind, L, digits=5)]
        lines += [
            _entry("face_above_floor", face, "on a riser, as far over the rim as its dead zone is long"),
            _entry("near_dead_zone", "2 in" if inches else "50 mm", "common for small level sensors"),
        ]
    else:
        foot = min(0.02 * rim, 0.3 * wanted.inlet)
        bottom = wanted.typed(foot, L, digits=4) if kind == "hydrostatic" else f"0 {wanted.units.length}"
        span = [bottom, wanted.typed(rim, L, up=True, digits=5)]
        if kind == "hydrostatic":
            lines.append(_entry("face_above_floor", bottom, "its diaphragm just above the floor"))
            span_why = "diaphragm to rim"
    quiet = kind in ("hydrostatic", "plain 4-20 mA")
    return [
        *lines,
        _entry("signal_span", span, span_why),
        _entry("averaging", 8, "eight readings, 0.1 s apart"),
        _entry("noise", wanted.typed(0.0002 if quiet else 0.0005, L, digits=2), "one standard deviation, still liquid"),
        _entry("ripple", wanted.typed(0.0005 if quiet else 0.001, L, digits=2), "added while the pump runs flat out"),
        _entry("resolution", wanted.typed(0.0001, L, digits=2), "data sheets of small sensors"),
    ]


def _switch(_answers: Answers, wanted: Wanted) -> Lines:
    return [
        "[overflow_switch]                           # hard-wired: it stops the pump whatever the program does",
        _entry("trips_at", wanted.typed(wanted.trip, L, digits=4), "seven tenths of the room from highest to spill"),
        _entry("hysteresis", wanted.typed(0.01 * wanted.rim, L, digits=2), "a hundredth of the height"),
    ]


def _loop(answers: Answers, wanted: Wanted) -> Lines:
    step = wanted.typed(wanted.step, V, digits=6)
    return [
        "[loop_settings]",
        "# assumed: gain and integral for a calm loop on this very pump, tank and delay: K = 1/(k' (τc + θ)),",
        "# Ti = 4 (τc + θ), τc = θ (Skogestad 2003); slower where the noise would shake the pump by more than 1.5 %",
        _entry("gain", f"1 %/{wanted.units.volume}"),
        _entry("integral", "60 s"),
        _entry("set_point_weight", "0.5", "the pump can only add, so steps are taken gently"),
        _entry("pv_filter", "0.5 s", "a little calmer than the raw reading"),
        _asked("set_point_low", "low", answers, wanted.typed(wanted.low, V, digits=6)),
        _asked("set_point_high", "high", answers, wanted.typed(wanted.high, V, digits=6)),
        _asked("entry_step", "step", answers, step),
    ]


def _bands(_answers: Answers, wanted: Wanted) -> Lines:
    under, over = wanted.low - wanted.floor_volume, wanted.spill_volume - wanted.high
    places = {
        "high_high": (wanted.high + 0.5 * over, "high"),
        "high": (wanted.high + 0.25 * over, "medium"),
        "low": (wanted.floor_volume + 0.7 * under, "medium"),
        "low_low": (wanted.floor_volume + 0.35 * under, "high"),
    }
    delay = f"{max(0.1, min(5.0, 0.05 * over / wanted.flow)):.1f} s"
    band = wanted.typed(0.03 * min(under, over), V, digits=2)
    lines = [
        "[bands]",
        "# assumed: high and high-high at a quarter and a half of the room from the highest volume to the spill;",
        "# low and low-low at 70 % and 35 % of the room above the drain's inlet; dead bands at least as wide as six",
        "# standard deviations of the reading; delays short against the room to the next limit; what the operator does",
        "# is a proposal: put it in your own words",
    ]
    for name, (limit, priority) in places.items():
        text = wanted.typed(limit, V, digits=4)
        entries = {"limit": text, "dead_band": band, "on_delay": delay, "priority": priority}
        lines.append(f"{name} = {rendered(entries | _reasons(name))}")
    away = wanted.typed(max(0.05 * wanted.spill_volume, 3 * wanted.step), V, digits=2)
    deviation = {"limit": away, "dead_band": band, "on_delay": "3 min", "priority": "low"}
    return [*lines, f"deviation = {rendered(deviation | _reasons('deviation'))}"]


def _reasons(name: str) -> dict[str, str]:
    """Give the proposal of what an alarm is there for."""
    return dict(zip(("cause", "consequence", "operator_action"), PROPOSED[name], strict=True))


def _duty(answers: Answers, wanted: Wanted) -> Lines:
    unit = _step_unit(answers, wanted)
    begin = f"{in_unit(wanted.start, V, unit):.10g} {unit}"
    return [
        "[start]",
        _entry("tank_volume", begin, "the run begins at its set point"),
        _entry("set_point", begin, "in the middle, on a whole step"),
        "",
        "[duty]",
        _asked("largest_draw", "draw", answers, wanted.typed(wanted.draw, Q, up=False)),
    ]


def _step_unit(answers: Answers, wanted: Wanted) -> str:
    """Give the unit of the entry step, so that its multiples come out whole."""
    step = check("step", said(answers, "step"))
    return step.unit if step is not None else wanted.units.volume
