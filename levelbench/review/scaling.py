"""The truth table of the 4-20 mA signal: what each current reads as, failures among them."""

import math
from dataclasses import dataclass

from levelbench.alarms.ladder import ladder
from levelbench.rig import Rig
from levelbench.rig.bench import Bench, signal_at


@dataclass(frozen=True)
class ScalingRow:
    """One current of the signal and what the controller makes of it.

    current [A]; counts: what the converter gives; level [m] and volume [m3] as the controller computes them from the
    counts, None for a failure; share of the span (0 at 4 mA, 1 at 20 mA); meaning in words.
    """

    current: float
    counts: int
    share: float
    level: float | None
    volume: float | None
    meaning: str
    failure: bool = False


QUARTERS = (0.004, 0.008, 0.012, 0.016, 0.020)
"""The five points of a loop check [A]: 0, 25, 50, 75 and 100 % (ISA-51.1, IEC 61298 vocabulary)."""


def scaling_table(rig: Rig) -> tuple[ScalingRow, ...]:
    """Give the rows in rising current: failure currents, limits of the measuring range, quarters, and every rung."""
    sensor = rig.project.sensor
    failing, measuring = (tuple(one.si for one in pair) for pair in (sensor.fails_beyond, sensor.measures_within))
    rows = [_row(rig, current, _quarter(current)) for current in QUARTERS]
    rows += [
        _row(rig, measuring[0], "lowest that the sensor sends while it measures"),
        _row(rig, measuring[1], "highest that the sensor sends while it measures"),
        _failure(rig, failing[0], "failure, low (or a broken wire): output 0, integral held"),
        _failure(rig, failing[1], "failure, high (or a short circuit): output 0, integral held"),
    ]
    rows += _rungs(rig, measuring[0], measuring[1])
    return tuple(sorted(rows, key=lambda row: (row.current, row.meaning)))


def counts_at(rig: Rig, current: float) -> int:
    """Give the counts of the converter at a current [A], held within its range."""
    sensor = rig.params.sensor
    share = (current - sensor.current_low) / (sensor.current_high - sensor.current_low)
    return math.floor(min(max(share, 0.0), 1.0) * sensor.full_count + 0.5)


def read_at(rig: Rig, current: float) -> tuple[float, float]:
    """Give level [m] and volume [m3] that the controller computes from the counts at a current [A]."""
    sensor = rig.params.sensor
    bench = Bench(rig)
    seen = sensor.current_low + counts_at(rig, current) / sensor.full_count * (sensor.current_high - sensor.current_low)
    share = (seen - 0.004) / 0.016
    empty, full = bench.signal_levels
    level = empty + share * (full - empty)
    if sensor.two_points:
        return level, sensor.volume_4 + share * (sensor.volume_20 - sensor.volume_4)
    return level, bench.volume_at(level)


def _row(rig: Rig, current: float, meaning: str) -> ScalingRow:
    level, volume = read_at(rig, current)
    return ScalingRow(current, counts_at(rig, current), (current - 0.004) / 0.016, level, volume, meaning)


def _quarter(current: float) -> str:
    return f"{(current - 0.004) / 0.016:.0%} of the span".replace("%", " %")


def _failure(rig: Rig, current: float, meaning: str) -> ScalingRow:
    """Make the row of a failure current; where the converter ends before it, the row says what cannot be told apart."""
    low, high = (one.si for one in rig.project.sensor.converter_range)
    if not low < current <= high:
        end = "empty" if current <= low else "full"
        meaning = f"needs an input that reads it: here a failure cannot be told from {end}"
    return ScalingRow(current, counts_at(rig, current), (current - 0.004) / 0.016, None, None, meaning, failure=True)


def _rungs(rig: Rig, lowest: float, highest: float) -> list[ScalingRow]:
    """Make a row for every rung of the ladder; beyond the measuring range the signal stays at its end."""
    bench, rows = Bench(rig), []
    for rung in ladder(rig):
        current = signal_at(bench, rung.level)
        held = min(max(current, lowest), highest)
        meaning = f"{rung.name} {rung.tag}".strip()
        if abs(held - current) > 1e-9:
            meaning += ", beyond what the signal can show"
        rows.append(_row(rig, held, meaning))
    return rows
