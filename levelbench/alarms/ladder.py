"""The ladder: every level that means something, from the drain's inlet to the rim, with the time that each leaves."""

from dataclasses import dataclass, replace
from itertools import pairwise

from levelbench.alarms.names import name_of, tag_of
from levelbench.rig import Rig
from levelbench.rig.bench import Bench

ORDER = (
    "drain takes air", "low-low", "low", "set point, lowest", "set point, highest",
    "high", "high-high", "switch", "spill",
)  # fmt: skip


@dataclass(frozen=True)
class Rung:
    """One level that means something.

    Level [m] above the floor, volume [m3] there, and seconds [s] to the spill and to the next rung above when the pump
    fills at its largest flow with the drain shut (0 at and above the spill; None above the top rung).
    """

    name: str
    tag: str  # ISA-5.1, empty for what is no instrument
    entry: str  # the key of the entry that sets it: "bands.high.limit"
    level: float
    volume: float
    seconds_to_spill: float
    seconds_to_next: float | None


def ladder(rig: Rig) -> tuple[Rung, ...]:
    """Give the rungs of a rig, lowest first. At equal levels the order of meaning holds."""
    bench = Bench(rig)
    ranked = (*_ends(bench), *_by_volume(bench))
    ordered = [rung for _, rung in sorted(ranked, key=lambda one: (one[1].level, one[0]))]
    timed = [
        replace(low, seconds_to_next=(high.volume - low.volume) / bench.fill_rate) for low, high in pairwise(ordered)
    ]
    return (*timed, ordered[-1])


def in_order(rig: Rig) -> list[Rung]:
    """Give the rungs that have a place in the order of meaning, in that order, whatever their levels."""
    by_name = {rung.name: rung for rung in ladder(rig)}
    return [by_name[name] for name in ORDER if name in by_name]


def _rung(bench: Bench, name: str, tag: str, entry: str, place: tuple[float, float]) -> Rung:
    """Make a rung at a (level, volume)."""
    level, volume = place
    return Rung(name, tag, entry, level, volume, bench.seconds_to_spill(volume), None)


def _ends(bench: Bench) -> list[tuple[int, Rung]]:
    """Give the rungs that are set by a level, each with its rank in meaning."""
    inlet, trip, readable = bench.inlet, bench.trip, bench.readable
    places = [
        (0, "drain takes air", "", "drain.inlet_above_floor", inlet),
        (7, "switch", bench.tag("SHH"), "overflow_switch.trips_at", trip),
        (8, "spill", "", "tank.rim_to_spill", bench.spill),
        (9, "highest readable", bench.tag("T"), "sensor.face_above_floor", readable),
        (10, "rim", "", "tank.height", bench.rim),
    ]
    return [
        (rank, _rung(bench, name, tag, entry, (level, bench.volume_at(level))))
        for rank, name, tag, entry, level in places
        if level is not None
    ]


def _by_volume(bench: Bench) -> list[tuple[int, Rung]]:
    """Give the rungs that are set by a volume, each with its rank in meaning."""
    settings = bench.project.loop_settings
    ranks = {"low_low": 1, "low": 2, "high": 5, "high_high": 6}
    places = [
        (ranks[key], name_of(key), tag_of(bench, key), f"bands.{key}.limit", band.limit.si)
        for key, band in bench.bands().items()
    ]
    control = bench.tag("IC")
    places += [
        (3, "set point, lowest", control, "loop_settings.set_point_low", settings.set_point_low.si),
        (4, "set point, highest", control, "loop_settings.set_point_high", settings.set_point_high.si),
    ]
    return [
        (rank, _rung(bench, name, tag, entry, (bench.level_at(volume), volume)))
        for rank, name, tag, entry, volume in places
    ]
