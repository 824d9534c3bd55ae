"""What is worked out beside an alarm: how far its neighbours are, the noise in its dead band, a first place for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from levelbench.gui.bands.rows import BY_KEY, PLACES, Kind, Row, quantity_of, told, typed_in
from levelbench.quantity import COMMON_PRACTICE, Dimension

if TYPE_CHECKING:
    from collections.abc import Sequence

    from levelbench.alarms.ladder import Rung
    from levelbench.project import Value
    from levelbench.quantity import Figure
    from levelbench.rig.bench import Bench

D = Dimension
_DANGER = ("bad_signal", "switch", "spill")  # their priority at first: high
_MINUTE = 60.0  # [s]


def typed_volume(bench: Bench, row: Row) -> float | None:
    """Give the volume [m3] of a place as it was typed, above the rim too; None where there is none."""
    values = told(bench, row)
    if not values:
        return None
    typed = quantity_of(bench.project, row.entry) if row.entry else None
    if typed is None:
        return values["volume"]
    return typed.si if row.kind is Kind.VOLUME else bench.volume_beyond(typed.si)


def neighbours(bench: Bench, key: str) -> tuple[Row | None, Row | None]:
    """Give the rows above and below a place in the order of meaning; None where there is none."""
    there = [row for row in PLACES if told(bench, row)]
    if BY_KEY[key] not in there:
        return None, None
    at = there.index(BY_KEY[key])
    return (there[at - 1] if at else None), (there[at + 1] if at + 1 < len(there) else None)


def gaps(bench: Bench, key: str) -> tuple[str, str]:
    """Say how far the neighbours of an alarm are in volume, height and seconds; "" where it has none."""
    above, below = neighbours(bench, key)
    own = BY_KEY[key]
    return (
        _gap(bench, above, own, f"↑ up to {above.name}") if above else "",
        _gap(bench, own, below, f"↓ down to {below.name}") if below else "",
    )


def _gap(bench: Bench, high: Row, low: Row, words: str) -> str:
    top, bottom = typed_volume(bench, high), typed_volume(bench, low)
    assert top is not None
    assert bottom is not None
    room = top - bottom
    height = told(bench, high)["height"] - told(bench, low)["height"]
    seconds = bench.show(room / bench.fill_rate, D.TIME, 1.0)
    said = f"{bench.volume(room)} · {bench.show(height, D.LENGTH, 1e-3)} · {seconds}"
    return f"{words}: {said}" if room > 0 else f"■ {words}, wrong order: {said}"


def spread_figures(bench: Bench, key: str) -> tuple[Figure, ...]:
    """Give the noise of the PV beside an alarm's dead band: σ, and how many of them the dead band is."""
    used = getattr(bench.project.bands, key)
    if used is None or BY_KEY[key].kind not in (Kind.VOLUME, Kind.AWAY) or not hasattr(used, "dead_band"):
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


def proposal(bench: Bench, rungs: Sequence[Rung], key: str) -> dict[str, Value]:
    """Give the edits with which an alarm comes into use, to be looked at and changed.

    A limit of the ladder stands half-way between its neighbours; the deviation at five entry steps, which noise does
    not reach on a rig that is in order; the rate of change at one and a half times the fastest that pump or draw make;
    the least rise at half of what the pump wins in a minute against the largest draw.
    """
    front, limit = f"bands.{key}", f"bands.{key}.limit"
    fastest = max(bench.fill_rate, bench.project.duty.largest_draw.si)
    if key in _DANGER:
        return {f"{front}.priority": "high"}
    if key == "frozen_signal":
        return {f"{front}.on_delay": "1 min"}
    if key == "deviation":
        return {limit: typed_in(bench, 5 * bench.project.loop_settings.entry_step.si, D.VOLUME)}
    if key == "rate_of_change":
        return {limit: bench.typed(1.5 * fastest, D.FLOW, up=True, digits=2)[0]}
    if key == "no_rise":
        won = max(bench.fill_rate - bench.project.duty.largest_draw.si, 0.1 * bench.fill_rate)
        return {limit: bench.typed(0.5 * won * _MINUTE, D.VOLUME, up=False, digits=2)[0], f"{front}.on_delay": "1 min"}
    return {limit: typed_in(bench, _between(bench, rungs, BY_KEY[key].rung), D.VOLUME)}


def _between(bench: Bench, rungs: Sequence[Rung], name: str) -> float:
    from levelbench.alarms.ladder import ORDER  # noqa: PLC0415  the rig comes in when it is wanted

    volumes = {one.name: one.volume for one in rungs}
    at = ORDER.index(name)
    below = next((volumes[one] for one in reversed(ORDER[:at]) if one in volumes), 0.0)
    above = next((volumes[one] for one in ORDER[at + 1 :] if one in volumes), bench.spill_volume)
    return (below + above) / 2
