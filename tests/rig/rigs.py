"""Rigs for the tests of this room, all built from a sample project by editing it, as a person would."""

from collections.abc import Iterable, Sequence

import numpy as np

from levelbench.project import Project, Value, edit_many, load, sample
from levelbench.rig import Action, Chunk, Recording, Rig, Session, assemble, run

GALLON = 231 * 0.0254**3  # [m3] NIST Handbook 44
INCH = 0.0254  # [m] NIST SP 811
LITRE = 1e-3  # [m3]
G = 9.80665  # [m/s2] CGPM 1901

# No noise and no steps, so that only the equations are seen.
QUIET: dict[str, Value] = {
    "sensor.noise": "0 mm",
    "sensor.ripple": "0 mm",
    "sensor.resolution": "0 mm",
    "sensor.converter_bits": 24,
}

# An upright tank of 0.3 m by 0.6 m with nothing in it, a pump without vices, nothing that drains.
PLAIN: dict[str, Value] = QUIET | {
    "tank.diameter": "0.3 m",
    "tank.height": "0.6 m",
    "tank.rim_to_spill": "0.05 m",
    "tank.dead_wood": None,
    "reservoir.capacity": "100 l",
    "reservoir.charge": "90 l",
    "reservoir.height": "0.5 m",
    "reservoir.floor_below_tank_floor": "2 m",
    "reservoir.suction_above_floor": "0 m",
    "pump.largest_flow": "12 l/min",
    "pump.shut_off_head": "off",
    "pump.starts_moving_at": "0 %",
    "pump.stalls_at": "0 %",
    "pump.slowest_flow": "0 l/min",
    "pump.spin_up": "0 s",
    "pump.fill_end_above_floor": "0.6 m",
    "drain.kind": "none",
    "sensor.face_above_floor": "0.7 m",
    "sensor.near_dead_zone": "0 m",
    "sensor.signal_span": ["0.7 m", "0.1 m"],
    "sensor.averaging": 1,
    "overflow_switch.trips_at": "0.5 m",
    "loop_settings.gain": "20 %/l",
    "loop_settings.integral": "30 s",
    "loop_settings.pv_filter": "0 s",
    "loop_settings.set_point_weight": "1",
    "loop_settings.set_point_low": "1 l",
    "loop_settings.set_point_high": "35 l",
    "loop_settings.entry_step": "0.1 l",
    "bands": None,
    "start.tank_volume": "20 l",
    "start.set_point": "20 l",
}
AREA = np.pi / 4 * 0.3**2  # [m2] of that tank

BY_HAND: dict[str, Value] = {"start.mode": "manual", "start.output": "0 %"}


_MADE: dict[str, Project] = {}


def _edited(project: Project, changes: dict[str, Value]) -> Project:
    """Edit a project, once for all tests that ask for the same: nothing in a project changes."""
    key = f"{changes!r} in {project.text}"
    if key not in _MADE:
        _MADE[key] = edit_many(project, changes)
    return _MADE[key]


def build(*changes: dict[str, Value], base: str = "seedling_house") -> Rig:
    """Give the rig of a sample project with changes, the later ones winning; the first alone must be a project too."""
    project = load(sample(base))
    if changes:
        project = _edited(project, changes[0])
    together: dict[str, Value] = {}
    for one in changes[1:]:
        together |= one
    return assemble(_edited(project, together) if together else project)


def go(rig: Rig, duration: float, *actions: Action | Sequence[Action], seed: int = 0, every: int = 1) -> Recording:
    """Run a rig for a duration [s], and see that no liquid was made or lost (invariant)."""
    flat = [one for some in actions for one in ([some] if isinstance(some, Action) else some)]
    recording = run(rig, duration, actions=flat, seed=seed, every=every)
    conserved(recording)
    return recording


def conserved(recording: Recording, tolerance: float = 1e-11) -> None:
    """Check that the liquid is the same in every row, to rounding (invariant)."""
    liquid = recording.liquid
    assert np.ptp(liquid) <= tolerance * liquid[0]
    assert np.isfinite(recording.rows).all()


def at(recording: Recording, time: float, name: str) -> float:
    """Give a column's value in the row nearest to a time [s]."""
    return float(recording[name][int(np.abs(recording["time"] - time).argmin())])


def times_of(recording: Recording, what: str, value: float = 1.0) -> list[float]:
    """Give the times [s] at which an event came (1) or went (0)."""
    return [one.time for one in recording.journal if (one.kind, one.what, one.value) == ("event", what, value)]


def together(session: Session, chunks: Iterable[Chunk]) -> Recording:
    """What a session handed out, put together."""
    chunks = list(chunks)
    journal = tuple(line for chunk in chunks for line in chunk.journal)
    return Recording(session.rig, session.seed, np.concatenate([chunk.rows for chunk in chunks]), journal)
