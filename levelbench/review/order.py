"""Rules on the ladder: the order of its rungs, the room between them, and the time that each leaves to a person."""

from itertools import pairwise

from levelbench.alarms.ladder import Rung, in_order
from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure
from levelbench.review.edits import Edits, set_points
from levelbench.review.finding import Finding, Severity
from levelbench.rig import Rig
from levelbench.rig.bench import Bench
from levelbench.rig.sources import BALANCE

L, V, T = Dimension.LENGTH, Dimension.VOLUME, Dimension.TIME
_FIXED = {"drain takes air", "spill"}


def figure_key(name: str) -> str:
    """Turn a rung's name into part of a figure's key."""
    return name.replace(", ", "_").replace(" ", "_").replace("-", "_")


def order(rig: Rig) -> Finding:
    """Every rung must lie above the one that comes before it in meaning."""
    key, title = "ladder.order", "Order of the ladder, from the drain's inlet to the spill"
    bench, rungs = Bench(rig), in_order(rig)
    figures = tuple(_place(bench, rung) for rung in rungs if rung.name != "spill")
    wrong = [(low, high) for low, high in pairwise(rungs) if not _typed_volume(bench, low) < _typed_volume(bench, high)]
    if not wrong:
        names = ", ".join(rung.name for rung in rungs)
        return Finding(key, title, Severity.GOOD, f"From the bottom: {names}.", figures, go_to="bands")
    text = " ".join(
        f"“{high.name}” at {bench.volume(_typed_volume(bench, high))} is not above “{low.name}” at "
        f"{bench.volume(_typed_volume(bench, low))}."
        for low, high in wrong
    )
    # What guards against a spill, and the set points themselves, may never stand in the wrong order.
    grave = {"switch", "spill", "high-high", "set point, highest", "set point, lowest"}
    stop = any(rung.name in grave and _below_an_earlier(bench, rungs, at) for at, rung in enumerate(rungs))
    what_if = _laid_anew(bench, rungs)
    moved = "; ".join(f"{rung.name} {what_if[rung.entry]}" for rung in rungs if rung.entry in what_if)
    severity = Severity.STOP if stop else Severity.ATTEND
    return Finding(key, title, severity, text, figures, f"Lay the ladder anew: {moved}.", wrong[0][1].entry, what_if)


def _below_an_earlier(bench: Bench, rungs: list[Rung], at: int) -> bool:
    """Tell whether a rung lies at or below one that comes before it in meaning."""
    return any(_typed_volume(bench, rungs[at]) <= _typed_volume(bench, earlier) for earlier in rungs[:at])


def _typed_volume(bench: Bench, rung: Rung) -> float:
    """Give a rung's volume, not held within the tank when it was typed as a volume above the rim."""
    section, _, rest = rung.entry.partition(".")
    if section == "bands":
        return bench.bands()[rest.partition(".")[0]].limit.si
    if section == "loop_settings":
        settings = bench.project.loop_settings
        return settings.set_point_low.si if rest == "set_point_low" else settings.set_point_high.si
    if rung.name == "switch" and rung.level > bench.rim:
        return bench.volume_at(bench.rim) * rung.level / bench.rim
    return rung.volume


def _place(bench: Bench, rung: Rung) -> Figure:
    """Make the figure of one rung: how much room is left up to the spill."""
    return bench.figure(
        f"ladder.{figure_key(rung.name)}", f"from {rung.name} to the spill", (bench.spill_volume - rung.volume, V),
        "V(spill) − V(rung)", BALANCE, inputs=[("V(spill)", bench.spill_volume, V), ("V(rung)", rung.volume, V)],
        resolution=bench.volume_step,
    )  # fmt: skip


def _laid_anew(bench: Bench, rungs: list[Rung]) -> Edits:
    """Give the edits that spread the rungs evenly in volume between the drain's inlet and the spill."""
    bottom = rungs[0].volume if rungs[0].name == "drain takes air" else 0.0
    what_if: Edits = {}
    if bottom > 0.4 * bench.spill_volume:
        what_if[rungs[0].entry], level = bench.typed(bench.level_at(0.1 * bench.spill_volume), L, up=False)
        bottom = bench.volume_at(level)
    moving = [rung for rung in rungs if rung.name not in _FIXED]
    widths = [3.0 if rung.name == "set point, highest" else 1.0 for rung in moving]  # the set points keep the middle
    total = sum(widths) + 1.0
    reached, ends = 0.0, {}
    for rung, width in zip(moving, widths, strict=True):
        reached += width
        volume = bottom + (bench.spill_volume - bottom) * reached / total
        if rung.name == "switch":
            what_if[rung.entry] = bench.typed(bench.level_at(volume), L, up=False)[0]
        elif rung.name.startswith("set point"):
            ends[rung.name] = volume
        else:
            what_if[rung.entry] = bench.typed(volume, V, up=False)[0]
    return what_if | set_points(bench, ends["set point, lowest"], ends["set point, highest"])


def spacing(rig: Rig) -> Finding:
    """Two rungs closer than the noise, or than a dead band, act as one."""
    key, title = "ladder.spacing", "Spacing of the ladder in volume, height and seconds"
    bench, rungs = Bench(rig), in_order(rig)
    least = 6.0 * bench.noise(1.0)
    figures = tuple(one for low, high in pairwise(rungs) for one in _gap(bench, low, high))
    tight: list[tuple[Rung, Rung, float]] = []
    for low, high in pairwise(rungs):
        needed = max(least, *(_dead_band(bench, rung) for rung in (low, high)))
        if 0.0 < high.volume - low.volume < needed * (1 - 1e-9):
            tight.append((low, high, needed))
    if not tight:
        narrow = min(pairwise(rungs), key=lambda pair: pair[1].volume - pair[0].volume)
        gap = bench.volume(narrow[1].volume - narrow[0].volume)
        text = f"The narrowest step is {gap}, from {narrow[0].name} to {narrow[1].name}."
        return Finding(key, title, Severity.GOOD, text, figures, go_to="bands")
    text = " ".join(
        f"From {low.name} to {high.name} there are {bench.volume(high.volume - low.volume)}; noise and dead band take "
        f"{bench.volume(needed)}."
        for low, high, needed in tight
    )
    low, high, needed = tight[0]
    what_if = _parted(bench, rungs, low, high, needed)
    if what_if:
        change = f"Move {_name_of(rungs, what_if)} to {next(iter(what_if.values()))}."
    else:
        change = f"Leave {bench.volume(needed)} between them: lay the ladder wider, or average the reading more."
    return Finding(key, title, Severity.ATTEND, text, figures, change, high.entry, what_if)


def _name_of(rungs: list[Rung], what_if: Edits) -> str:
    return next(rung.name for rung in rungs if rung.entry in what_if)


def _gap(bench: Bench, low: Rung, high: Rung) -> tuple[Figure, Figure, Figure]:
    """Make the three figures of the room between two rungs: volume, height, seconds at the worst net rate."""
    volume = high.volume - low.volume
    names = f"from {low.name} to {high.name}"
    inputs = (("lower", low.volume, V), ("upper", high.volume, V))
    return (
        bench.figure(f"ladder.gap.{figure_key(high.name)}", names, (volume, V), "V(upper) − V(lower)", BALANCE,
                     inputs=inputs, resolution=bench.volume_step),
        bench.figure(f"ladder.height.{figure_key(high.name)}", f"{names}, height", (high.level - low.level, L),
                     "h(upper) − h(lower)", BALANCE, inputs=[("lower", low.level, L), ("upper", high.level, L)],
                     resolution=1e-3),
        bench.figure(f"ladder.seconds.{figure_key(high.name)}", f"{names}, time at the worst net rate",
                     (volume / bench.fill_rate, T), "(V(upper) − V(lower))/Q", BALANCE,
                     inputs=[*inputs, bench.rate_shown], resolution=1.0),
    )  # fmt: skip


def _dead_band(bench: Bench, rung: Rung) -> float:
    """Give the dead band of a limit, 0 for what is none."""
    section, _, rest = rung.entry.partition(".")
    return bench.bands()[rest.partition(".")[0]].dead_band.si if section == "bands" else 0.0


def _parted(bench: Bench, rungs: list[Rung], low: Rung, high: Rung, needed: float) -> Edits:
    """Give the edit that moves one of two rungs away from the other, where its other neighbour leaves the room."""
    at = rungs.index(low)
    above = rungs[at + 2].volume if at + 2 < len(rungs) else bench.spill_volume
    below = rungs[at - 1].volume if at else 0.0
    if high.entry.startswith("bands") and above - low.volume > 2 * needed:
        return {high.entry: bench.typed(low.volume + needed, V, up=True)[0]}
    if low.entry.startswith("bands") and high.volume - below > 2 * needed:
        return {low.entry: bench.typed(high.volume - needed, V, up=False)[0]}
    return {}


def high_text(bench: Bench) -> str:
    """Give a place for a high limit that is missing: half-way from the highest set point to the switch or the spill."""
    top = bench.volume_at(bench.trip) if bench.trip is not None else bench.spill_volume
    low = bench.project.loop_settings.set_point_high.si
    return bench.typed((low + max(low, top)) / 2, V, up=False)[0]


def switch_level(bench: Bench) -> str:
    """Give a place for an overflow switch: half-way from the highest limit or set point to the spill."""
    upper = [band.limit.si for name, band in bench.bands().items() if name.startswith("high")]
    low = min(max([*upper, bench.project.loop_settings.set_point_high.si]), bench.spill_volume)
    return bench.typed((bench.level_at(low) + bench.spill) / 2, L, up=False)[0]


def fit_switch(bench: Bench) -> Edits:
    """Give the edits that fit an overflow switch."""
    return {"overflow_switch.fitted": True, "overflow_switch.trips_at": switch_level(bench)}


def missing_limits(rig: Rig) -> Finding:
    """A loop without a high and a low limit has no status word and nothing to light a lamp by."""
    key, title = "bands.missing", "High and low limits are there"
    bench, bands = Bench(rig), rig.project.bands
    settings = rig.project.loop_settings
    floor = bench.volume_at(bench.inlet) if bench.inlet is not None else 0.0
    what_if: Edits = {}
    if bands.high is None:
        what_if["bands.high.limit"] = high_text(bench)
    if bands.low is None:
        middle = (floor + max(floor, settings.set_point_low.si)) / 2
        what_if["bands.low.limit"] = bench.typed(max(middle, 0.05 * bench.spill_volume), V, up=True)[0]
    count = bench.figure(
        "bands.in_use", "limits in use", (float(len(bench.bands())), Dimension.NUMBER),
        "high-high, high, low and low-low that are given", COMMON_PRACTICE, resolution=1.0,
    )  # fmt: skip
    if not what_if:
        return Finding(key, title, Severity.GOOD, "Both are given.", (count,), go_to="bands")
    names = " and ".join(one.split(".")[1] for one in what_if)
    change = "Add " + " and ".join(f"a {one.split('.')[1]} limit at {text}" for one, text in what_if.items()) + "."
    text = f"There is no {names} limit: the status word can never say {names.upper().replace(' AND ', ' or ')}."
    return Finding(key, title, Severity.ATTEND, text, (count,), change, next(iter(what_if)), what_if)
