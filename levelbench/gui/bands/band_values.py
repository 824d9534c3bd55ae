"""A limit on the volume told in volume, height, signal and seconds to spill, and back from any of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from levelbench.gui.tuning.setting_texts import with_unit
from levelbench.quantity import COMMON_PRACTICE, Dimension, QuantityError, in_unit, precise, read

if TYPE_CHECKING:
    from collections.abc import Sequence

    from levelbench.alarms.ladder import Rung
    from levelbench.quantity import Figure
    from levelbench.rig.bench import Bench

D = Dimension


@dataclass(frozen=True)
class Column:
    """One way to tell a limit: its name, its dimension, and the smallest step worth showing (SI)."""

    key: str
    name: str
    dimension: Dimension
    step: float


COLUMNS = (
    Column("volume", "volume", D.VOLUME, 0.0),
    Column("height", "height", D.LENGTH, 1e-3),
    Column("signal", "signal", D.CURRENT, 1e-4),
    Column("seconds", "to spill", D.TIME, 1.0),
)


def told(bench: Bench, volume: float) -> dict[str, float]:
    """Tell a volume [m3] in every column (SI)."""
    level = bench.level_at(volume)
    low, high = bench.signal_levels
    signal = 0.004 + 0.016 * (level - low) / (high - low)
    return {"volume": volume, "height": level, "signal": signal, "seconds": bench.seconds_to_spill(volume)}


def shown(bench: Bench, column: Column, si: float) -> str:
    """Write a value of a column without its unit, which stands at the head of the column."""
    step = bench.project.loop_settings.entry_step.si / 5 if column.key == "volume" else column.step
    unit = bench.units.of(column.dimension)
    return bench.units.show(si, column.dimension, step).removesuffix(unit).strip()


def volume_of(bench: Bench, column: Column, words: str) -> float:
    """Give the volume [m3] that a text in a column means; a bare number is in the column's unit.

    Raises QuantityError for what can't be read, or lies outside the tank.
    """
    si = read(with_unit(words, bench.units.of(column.dimension)), column.dimension).si
    if column.key == "volume":
        return si
    if column.key == "seconds":
        return _inside(bench, words, bench.level_at(bench.spill_volume - si * bench.fill_rate), si >= 0)
    low, high = bench.signal_levels
    level = si if column.key == "height" else low + (si - 0.004) / 0.016 * (high - low)
    return _inside(bench, words, level, 0.0 <= level <= bench.rim)


def _inside(bench: Bench, words: str, level: float, fits: bool) -> float:
    if not fits:
        rim = bench.show(bench.rim, D.LENGTH, 1e-4)
        raise QuantityError(words, "That lies outside the tank.", f"It reaches from its floor to {rim}.")
    return bench.volume_at(level)


def as_typed(bench: Bench, band: str, volume: float) -> str:
    """Write a volume [m3] as the limit of a band is typed: in the unit that the person gave it, else the project's."""
    now = getattr(bench.project.bands, band)
    unit = now.limit.unit if now is not None else bench.units.of(D.VOLUME)
    return f"{precise(in_unit(volume, D.VOLUME, unit))} {unit}"


def spread_figures(bench: Bench, band: str) -> tuple[Figure, ...]:
    """Give the noise of the PV beside a limit's dead band: σ, and how many of them the dead band is."""
    used = getattr(bench.project.bands, band)
    if used is None:
        return ()
    spread, dead_band = bench.noise(1.0), used.dead_band.si
    fine = max(spread / 20, 1e-12)
    sigma = bench.figure(
        "loop.pv_noise.filling", "spread of the PV while filling (σ)", (spread, D.VOLUME),
        "σ of the filtered PV while filling", COMMON_PRACTICE,
        inputs=[("readings averaged", str(bench.project.sensor.averaging)), bench.slope_shown],
        resolution=fine,
    )  # fmt: skip
    if spread <= 0:
        return (sigma,)
    many = bench.figure(
        "bands.dead_band_needed.spreads", "dead band, in σ of the PV (6 keep quiet)", (dead_band / spread, D.NUMBER),
        "dead band/σ", COMMON_PRACTICE,
        inputs=[("dead band", dead_band, D.VOLUME), ("σ", bench.show(spread, D.VOLUME, fine))], resolution=0.1,
    )  # fmt: skip
    return sigma, many


def proposal(bench: Bench, rungs: Sequence[Rung], band: str) -> str:
    """Give a place for a limit that comes into use: half-way between its neighbours of the ladder.

    The deviation is no rung; it begins at five entry steps, which noise does not reach on a rig that is in order.
    """
    if band == "deviation":
        return as_typed(bench, band, 5 * bench.project.loop_settings.entry_step.si)
    from levelbench.alarms.ladder import ORDER  # noqa: PLC0415  the rig comes in when it is wanted

    name = band.replace("_", "-")
    volumes = {one.name: one.volume for one in rungs}
    at = ORDER.index(name)
    below = next((volumes[one] for one in reversed(ORDER[:at]) if one in volumes), 0.0)
    above = next((volumes[one] for one in ORDER[at + 1 :] if one in volumes), bench.spill_volume)
    return as_typed(bench, band, (below + above) / 2)
