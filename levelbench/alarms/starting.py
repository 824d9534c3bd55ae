"""Published starting values for a level alarm, beside what they would mean on this rig, and a practice of large tanks.

Sources:
[1] ANSI/ISA-18.2-2009 and EEMUA Publication 191 give 5 % of the span as a dead band to begin with for a level; as open
    training texts on alarms quote it.
[2] The same give 60 s as a delay to begin with for a level; quoted from memory. Both say that what is begun with must
    still leave the operator time.
[3] API Standard 2350, as its summaries quote it: from a limit to the next level of concern 5 min or 75 mm, whichever is
    more. It leaves process tanks out; here it stands for comparison only.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from levelbench.alarms.ladder import Rung, in_order
from levelbench.alarms.timing import Timed, end_of, timing
from levelbench.quantity import Dimension, Figure
from levelbench.rig import Rig
from levelbench.rig.bench import Bench

V, T, Q, L = Dimension.VOLUME, Dimension.TIME, Dimension.FLOW, Dimension.LENGTH
DEAD_BAND = 0.05  # of the span [1]
DELAY = 60.0  # [s] [2]
LARGE_TANKS = (300.0, 0.075)  # [s] and [m] [3]
BAND_SOURCE = "ISA-18.2-2009 and EEMUA 191, starting value for a level (as open training texts quote it)"
DELAY_SOURCE = "ISA-18.2-2009 and EEMUA 191, starting value for a level (quoted from memory)"
TANKS_SOURCE = "API 2350, as summaries quote it; process tanks are left out there, so for comparison only"
_LIMITS = ("high_high", "high", "low", "low_low")


@dataclass(frozen=True)
class Start:
    """What the starting values would mean for one limit.

    `moved` is what comes in or goes out in the delay, `left` the time that stays to act, `returns` the volume at which
    it would go again; `crossed` names what is passed while the delay runs, and `words` says both in a sentence.
    """

    key: str
    name: str
    tag: str
    moved: Figure
    left: Figure
    returns: Figure
    crossed: tuple[str, ...]
    words: str
    fits: bool


@dataclass(frozen=True)
class Starting:
    """The starting values as figures, what each limit would make of them, and what large tanks go by."""

    dead_band: Figure
    delay: Figure
    lines: tuple[Start, ...]
    practice: tuple[Figure, ...]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All figures."""
        each = (figure for line in self.lines for figure in (line.moved, line.left, line.returns))
        return (self.dead_band, self.delay, *each, *self.practice)


def starting(rig: Rig) -> Starting:
    """Say what the published starting values mean on a rig."""
    bench = Bench(rig)
    empty, full = rig.span
    band = bench.figure(
        "timing.starting.dead_band", "dead band to begin with", (DEAD_BAND * (full - empty), V), "5 % of the span",
        BAND_SOURCE, inputs=[("PV at 4 mA", empty, V), ("PV at 20 mA", full, V)], resolution=bench.volume_step,
    )  # fmt: skip
    delay = bench.figure("timing.starting.delay", "delay to begin with", (DELAY, T), "as published", DELAY_SOURCE)
    rungs = in_order(rig)
    lines = tuple(_line(bench, rungs, one, band.si) for one in timing(rig) if one.key in _LIMITS)
    return Starting(band, delay, lines, _practice(bench))


def _line(bench: Bench, rungs: Sequence[Rung], timed: Timed, band: float) -> Start:
    volume, rate = timed.start.si, timed.rate.si
    way = 1.0 if timed.rising else -1.0
    moved = bench.figure(
        f"timing.starting.moved.{timed.key}", "what moves in it", (rate * DELAY, V), "worst net rate × delay",
        DELAY_SOURCE, inputs=[("rate", rate, Q), ("delay", DELAY, T)], resolution=bench.volume_step,
    )  # fmt: skip
    typed = next((one.si for one in timed.parts if one.key == f"timing.on_delay.{timed.key}"), 0.0)
    left = bench.figure(
        f"timing.starting.left.{timed.key}", "time left to act with it", (_left(timed, typed), T),
        "(V(end) − V(alarm) − coast)/rate − delay with this on-delay, none below 0", DELAY_SOURCE,
        inputs=[*timed.left.inputs[:-1], ("delay", timed.late.si - typed + DELAY, T)], resolution=1.0,
    )  # fmt: skip
    returns = bench.figure(
        f"timing.starting.returns.{timed.key}", "goes again at", (volume - way * band, V), "limit ∓ dead band",
        BAND_SOURCE, inputs=[("limit", volume, V), ("dead band", band, V)], resolution=bench.volume_step,
    )  # fmt: skip
    end = end_of(bench, rising=timed.rising)
    crossed = _crossed(rungs, (volume, volume + way * moved.si), end)
    words, fits = _words(bench, timed, crossed, (returns.si, left.si))
    return Start(timed.key, timed.name, timed.tag, moved, left, returns, crossed, words, fits)


def _left(timed: Timed, typed: float) -> float:
    """Give the time left [s] with the published delay in the place of the typed one [s]."""
    if timed.rate.si <= 0.0:
        return timed.to_end.si
    return max(timed.to_end.si - timed.coast.si / timed.rate.si - (timed.late.si - typed + DELAY), 0.0)


def _crossed(rungs: Sequence[Rung], ends: tuple[float, float], end: tuple[str, float]) -> tuple[str, ...]:
    """Name what lies between two volumes [m3], in the order in which it is passed; the end is among it."""
    first, last = ends
    places = [(rung.volume, rung.name) for rung in rungs if not rung.name.startswith("set point")]
    if end[0] not in {name for _, name in places}:
        places.append((end[1], end[0]))
    passed = [one for one in places if min(first, last) <= one[0] <= max(first, last) and one[0] != first]
    return tuple(name for _, name in sorted(passed, reverse=last < first))


def _words(bench: Bench, timed: Timed, crossed: tuple[str, ...], reckoned: tuple[float, float]) -> tuple[str, bool]:
    """Say what the starting values would do to a limit, and whether they would do here.

    reckoned: where it goes again [m3] and the time left [s].
    """
    settings, (returns, left) = bench.project.loop_settings, reckoned
    ends = settings.set_point_high.si if timed.rising else settings.set_point_low.si
    stands = returns < ends if timed.rising else returns > ends
    told = []
    if crossed:
        told.append(f"“{'”, “'.join(crossed)}” {'is' if len(crossed) == 1 else 'are'} passed before it comes")
    if stands:
        side = "highest" if timed.rising else "lowest"
        told.append(f"it would still stand with the loop at its {side} set point")
    if not told and left < timed.needed * (1 - 1e-9):
        told.append(f"{bench.time(left)} would be left to act, and people are given {bench.time(timed.needed)}")
    if not told:
        return "They would do here.", True
    told[0] = told[0][0].upper() + told[0][1:]
    return "; ".join(told) + ".", False


def _practice(bench: Bench) -> tuple[Figure, Figure]:
    """Give what five minutes of the worst rise are on this rig, and the room that large tanks would have."""
    seconds, height = LARGE_TANKS
    area = bench.area_at(bench.spill)
    five = bench.figure(
        "timing.five_minutes", "rise in 5 min", (seconds * bench.fill_rate / area, L), "Q × 5 min/(dV/dh)",
        TANKS_SOURCE, inputs=[bench.rate_shown], resolution=1e-3,
    )  # fmt: skip
    room = max(seconds * bench.fill_rate, height * area)
    return five, bench.figure(
        "timing.large_tanks", "room that large tanks would have below the spill", (room, V),
        "the larger of Q × 5 min and 75 mm × dV/dh", TANKS_SOURCE,
        inputs=[bench.rate_shown, ("of the tank", bench.spill_volume, V)], resolution=bench.volume_step,
    )  # fmt: skip
