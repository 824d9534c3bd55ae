"""Hours of random operators and faults: what may never happen, on rigs of every kind.

All checks are invariants: of the liquid, of the interlocks, of the lamps' table, of the numbers.
"""

import numpy as np
import pytest
from abuse import random_actions
from lamps import check_light
from rigs import conserved, together

from levelbench.project import Value, edit_many, load, sample
from levelbench.rig import Action, Recording, Rig, Session, assemble, run
from levelbench.rig.panel import BITS

HOUR = 3600.0
NO_SWITCH: dict[str, Value] = {"overflow_switch.fitted": False}
AWAY: dict[str, Value] = {
    "drain.kind": "bottom outlet",
    "drain.goes_to": "away",
    "drain.inlet_above_floor": "0 in",
    "drain.outlet_above_floor": "-1 in",
}

RIGS: dict[str, tuple[str, dict[str, Value]]] = {
    "siphon": ("seedling_house", {}),
    "lying tank": ("parts_washer", {}),
    "on/off": ("seedling_house", {"pump.drive": "on/off", "pump.cycle": "8 s"}),
    "hydrostatic, series": (
        "seedling_house",
        {
            "sensor.kind": "hydrostatic",
            "sensor.face_above_floor": "1 in",
            "sensor.signal_span": ["1 in", "14 in"],
            "sensor.set_for_density": "1000 kg/m3",
            "loop_settings.form": "series",
            "loop_settings.derivative": "2 s",
        },
    ),
    "outlet away": ("seedling_house", AWAY),
    "tiny reservoir": (
        "seedling_house",
        {
            "reservoir.capacity": "1 gal",
            "reservoir.charge": "3.8 gal",
            "reservoir.height": "6 in",
            "reservoir.suction_above_floor": "0.5 in",
        },
    ),
    "drowned fill end": (
        "seedling_house",
        {"pump.fill_end_above_floor": "3 in", "pump.check_valve": False, "pump.shut_off_head": "5 ft"},
    ),
    "reservoir above": (
        "seedling_house",
        AWAY
        | {
            "reservoir.floor_below_tank_floor": "-2 in",
            "pump.fill_end_above_floor": "3 in",
            "pump.shut_off_head": "6 ft",
        },
    ),
    "forced draw, no switch": (
        "parts_washer",
        NO_SWITCH | {"drain.kind": "forced draw", "drain.draw": "5 l/min", "loop_settings.action": "direct"},
    ),
    "dead zone, slow sensor": (
        "seedling_house",
        NO_SWITCH | {"sensor.near_dead_zone": "6 in", "sensor.in_dead_zone": "last good", "sensor.update": "0.33 s"},
    ),
    "slow scan": ("seedling_house", {"loop_settings.scan": "2 s", "pump.spin_up": "0 s"}),
}


def rig_of(name: str) -> Rig:
    base, changes = RIGS[name]
    return assemble(edit_many(load(sample(base)), changes))


def bits(recording: Recording) -> np.ndarray:
    return recording["conditions"].astype(np.int64)


def check_liquid(recording: Recording, tolerance: float) -> None:
    """Conserved; never less than nothing, never above a brim."""
    params = recording.rig.params
    conserved(recording, tolerance)
    slack = 1e-12
    assert recording["volume"].min() >= -slack
    assert recording["volume"].max() <= params.tank.spill_volume + slack
    assert recording["reservoir"].min() >= -slack
    # a top-up stands over the brim in the row of its own scan, and has spilled in the next
    poured = np.diff(recording["added"], prepend=recording["added"][0]) > 0.0
    assert recording["reservoir"][~poured].max() <= params.reservoir.capacity + slack
    for name in ("spilled", "used", "added"):
        assert np.diff(recording[name]).min() >= 0.0
    assert recording["level"].min() >= 0.0
    assert recording["drain_flow"].min() >= 0.0


def check_output(recording: Recording) -> None:
    """Within 0 and 1, and 0 while the pump is not allowed; a pump not allowed coasts down to what gravity gives."""
    output, allowed = recording["output"], recording.condition("pump allowed")
    assert output.min() >= 0.0
    assert output.max() <= 1.0
    assert not output[~allowed].any()
    rig = recording.rig
    if rig.params.pump.fill_end < 0.9 * rig.strapping.levels[-1]:
        return  # gravity moves liquid through the stopped pump of these rigs
    wait = int(20 * rig.params.pump.spin_up / rig.scan) + 2
    never = np.convolve(allowed.astype(float), np.ones(wait), "full")[: len(allowed)] < 0.5
    assert np.abs(recording["pump_flow"][never]).max(initial=0.0) < 1e-7 * rig.params.pump.largest_flow


def check_starts(recording: Recording) -> None:
    """Started comes only in a scan in which the button was pressed, with mains, no stop pressed and nothing latched."""
    scan = recording.rig.scan
    pressed = {round(one.time / scan) for one in recording.journal if (one.kind, one.what) == ("action", "power on")}
    started = recording.condition("started")
    rises = np.flatnonzero(started[1:] & ~started[:-1]) + 1
    assert set(rises.tolist()) <= pressed
    for latch in ("stop pressed", "stop latched", "switch latched", "sensor latched"):
        assert not (started & recording.condition(latch)).any(), latch
    assert not (started & ~recording.condition("mains on")).any()
    assert not (recording.condition("pump allowed") & ~started).any()


def check_lamps(recording: Recording, actions: list[Action]) -> None:
    """In every scan the lamps are those of the table, the horn asks for nothing else and stays silenced no longer."""
    assert check_light(recording, actions) > 100


def check_silence(recording: Recording, actions: list[Action]) -> None:
    """Silenced comes only in a scan in which somebody pressed it."""
    scan = recording.rig.scan
    pressed = {round(one.time / scan) for one in actions if one.what == "silence"}
    silenced = recording.condition("silenced")
    assert set((np.flatnonzero(silenced[1:] & ~silenced[:-1]) + 1).tolist()) <= pressed


def check(recording: Recording, actions: list[Action], tolerance: float = 1e-9) -> None:
    assert np.isfinite(recording.rows).all()
    check_liquid(recording, tolerance)
    check_output(recording)
    check_starts(recording)
    check_lamps(recording, actions)
    check_silence(recording, actions)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("name", RIGS)
def test_two_hours_of_abuse(name: str, seed: int) -> None:
    rig = rig_of(name)
    actions = random_actions(rig, 2 * HOUR, seed=1000 + seed, mean_gap=20.0)
    recording = run(rig, 2 * HOUR, actions=actions, seed=seed)
    check(recording, actions)
    # the abuse was one: it stopped, started, ran and moved liquid
    assert len([one for one in recording.journal if one.what == "started" and one.value == 1.0]) > 3
    assert recording["pump_flow"].max() > 0.0
    assert np.ptp(recording["volume"]) > 0.1 * rig.params.tank.spill_volume


@pytest.mark.parametrize("name", ["siphon", "reservoir above"])
def test_abuse_brings_every_condition_about(name: str) -> None:
    """So that the checks above have something to check: nothing that can happen was left out over three shifts."""
    rig = rig_of(name)
    never = set(BITS)
    for seed in (77, 78, 79):
        actions = random_actions(rig, 6 * HOUR, seed=seed, mean_gap=10.0)
        recording = run(rig, 6 * HOUR, actions=actions)
        check(recording, actions)
        never -= {one for one in BITS if recording.condition(one).any()}
    assert never <= {"spilling", "reservoir spilling", "spill", "pump dry", "siphon primed", "green flashing"}


@pytest.mark.long
@pytest.mark.timeout(1200)
@pytest.mark.parametrize("name", RIGS)
def test_days_of_abuse(name: str) -> None:
    """Eight times twelve hours for each rig."""
    rig = rig_of(name)
    for seed in range(8):
        actions = random_actions(rig, 12 * HOUR, seed=seed, mean_gap=15.0 + 30 * (seed % 3))
        check(run(rig, 12 * HOUR, actions=actions, seed=seed), actions)


@pytest.mark.long
@pytest.mark.timeout(1200)
@pytest.mark.parametrize("name", ["siphon", "lying tank", "tiny reservoir"])
def test_a_week_with_every_event_happening(name: str) -> None:
    """Liquid is conserved to 1e-9 over a simulated week, looked at in every hundredth row and at every hour's end."""
    rig = rig_of(name)
    week = 7 * 24 * HOUR
    actions = sorted(random_actions(rig, week, seed=3, mean_gap=60.0), key=lambda one: round(one.time / rig.scan))
    session = Session(rig, 1, every=100)
    chunks = []
    for action in actions:
        chunks.append(session.advance(round(action.time / rig.scan) - session.scans))
        session.act(action.what, action.value, action.who)
    chunks.append(session.advance(round(week / rig.scan) - session.scans))
    recording = together(session, chunks)
    assert recording["time"][-1] == pytest.approx(week, rel=1e-3)
    assert np.isfinite(recording.rows).all()
    conserved(recording, 1e-9)
    assert recording["volume"].max() <= rig.params.tank.spill_volume + 1e-12
    assert recording["volume"].min() >= 0.0
