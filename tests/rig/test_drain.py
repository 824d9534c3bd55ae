"""Valve, tube, outlet and siphon against closed forms, handbook values and a general-purpose library."""

import math

import fluids
import numpy as np
import pytest
from rigs import BY_HAND, GALLON, INCH, LITRE, PLAIN, QUIET, G, at, build, go, times_of

from levelbench.quantity import Dimension, read
from levelbench.rig import Action, Rig, kernel

PSI = 6894.757293168  # [Pa] NIST SP 811
BAR = 1e5

OUTLET = (
    PLAIN
    | BY_HAND
    | {
        "drain.kind": "bottom outlet",
        "drain.inlet_above_floor": "0 m",
        "drain.outlet_above_floor": "0 m",
        "drain.tube_diameter": "1 m",  # so wide that only the valve resists
        "drain.tube_length": "0 m",
        "drain.fittings_loss": "0",
        "drain.valve_cv": "1 Kv",
        "drain.opening": "100 %",
    }
)
DIAMETER_C51 = math.sqrt(4 * 0.0707 / math.pi)
# Torricelli through a valve: dh/dt = -k √h / A, k = (Kv/3600) √(ρ0 g/1e5). Any fluid mechanics text; IEC 60534-1.
K_C51 = 1 / 3600 * math.sqrt(1000 * G / BAR)


def drain_of(**entries: str) -> kernel.Drain:
    return build(OUTLET, {f"drain.{name}": text for name, text in entries.items()}).params.drain


def flow_through(coefficient: str, pressure: float) -> float:
    """Flow [m3/s] of water that a pressure [Pa] drives through a valve of that coefficient alone."""
    return kernel.gravity_flow(drain_of(valve_cv=coefficient), 1.0, pressure / (1000 * G), 0.0)


def test_valve_coefficients_against_their_definitions() -> None:
    """IEC 60534-1: Q = Cv √Δp (US gal/min, psi): 10 × √25 = 50; Q = Kv √Δp (m3/h, bar): 2.5 × √0.16 = 1."""
    assert flow_through("10 Cv", 25 * PSI) == pytest.approx(50 * GALLON / 60, rel=2e-4)  # Cv refers to water at 60 °F
    assert flow_through("2.5 Kv", 0.16 * BAR) == pytest.approx(1 / 3600, rel=1e-6)
    one = read("1 Cv", Dimension.FLOW_COEFFICIENT).si / read("1 Kv", Dimension.FLOW_COEFFICIENT).si
    assert one == pytest.approx(0.865, abs=2e-4)  # IEC 60534-1, quoted ratio from memory


@pytest.mark.parametrize(
    ("rangeability", "opening", "share"),
    [("50", 0.5, 0.1414214), ("50", 0.25, 0.053183), ("30", 0.5, 0.1825742), ("50", 1e-12, 0.02)],
)
def test_equal_percentage_trim(rangeability: str, opening: float, share: float) -> None:
    """IEC 60534-2-4; Seborg, Process Dynamics and Control, ch. 9: R^(x-1)."""
    drain = drain_of(trim="equal percentage", rangeability=rangeability)
    assert kernel.opened(drain, opening) / drain.coefficient == pytest.approx(share, rel=1e-5)


def test_equal_steps_of_travel_give_equal_ratios() -> None:
    """Definition of equal percentage, R = 50: ×1.478758 for each 10 % of travel."""
    drain = drain_of(trim="equal percentage")
    flows = [kernel.opened(drain, travel / 10) for travel in range(1, 11)]
    assert np.divide(flows[1:], flows[:-1]) == pytest.approx(1.478758, rel=1e-6)


def test_other_trims_and_a_shut_valve() -> None:
    """Seborg ch. 9: linear x, quick opening √x. A shut valve passes nothing, whatever its trim (common practice)."""
    for trim, share in (("linear", 0.25), ("quick opening", 0.5), ("equal percentage", 50**-0.75)):
        drain = drain_of(trim=trim)
        assert kernel.opened(drain, 0.25) / drain.coefficient == pytest.approx(share, rel=1e-9)
        assert kernel.opened(drain, 0.0) == 0.0
        assert kernel.opened(drain, 1.0) == pytest.approx(drain.coefficient, rel=1e-12)


def c51(**changes: str) -> Rig:
    text = {"tank.diameter": f"{DIAMETER_C51:.15f} m", "start.tank_volume": f"{0.5 * 0.0707 * 1000:.12f} l"}
    return build(OUTLET, text, {"loop_settings.scan": "50 ms"}, changes)


def test_level_of_a_draining_tank_against_torricelli() -> None:
    """Kv = 1, A = 0.0707 m2, 0.5 m of level: after 600 s (√h0 - k t/2A)² = 0.11423960261 m."""
    recording = go(c51(), 900)
    closed = np.square(math.sqrt(0.5) - K_C51 * recording["time"] / (2 * 0.0707))
    assert closed[12_000] == pytest.approx(0.11423960261, rel=1e-7)
    assert at(recording, 600, "level") == pytest.approx(0.11423960261, rel=1e-3)
    assert np.abs(recording["level"] - closed).max() < 0.5e-3 * 0.5


def test_time_to_empty_against_torricelli() -> None:
    """t = 2 A √h0 / k, twice the volume over the first flow, to 0.1 %."""
    recording = go(c51(), 1500)
    empties = recording["time"][np.argmax(recording["volume"] <= 0.0)]
    assert empties == pytest.approx(2 * 0.0707 * math.sqrt(0.5) / K_C51, rel=1e-3)
    assert empties == pytest.approx(2 * recording["volume"][0] / recording["drain_flow"][1], rel=1e-3)
    assert recording["volume"].min() == 0.0
    assert recording["drain_flow"][-1] == 0.0


def test_density_does_not_change_how_a_tank_drains() -> None:
    """Gravity drives, density resists: it cancels (Torricelli)."""
    light, heavy = (go(c51(**{"liquid.density": text}), 300)["volume"] for text in ("700 kg/m3", "1400 kg/m3"))
    assert light == pytest.approx(heavy, rel=1e-12)


def test_outlet_above_the_floor_leaves_the_heel() -> None:
    """An outlet 0.1 m up stops at 0.1 m; it goes on when the level comes back (invariant)."""
    heel = {"drain.inlet_above_floor": "0.1 m", "drain.valve_cv": "4 Kv"}
    recording = go(build(OUTLET, heel), 1200, Action(700, "manual output", 1.0), Action(760, "manual output", 0.0))
    assert at(recording, 690, "level") == pytest.approx(0.1, rel=1e-9)
    assert at(recording, 690, "drain_flow") == 0.0
    assert at(recording, 759, "drain_flow") > 0.0
    assert recording["level"][-1] == pytest.approx(0.1, rel=1e-9)


# Tube ---------------------------------------------------------------------------------------------------------------

TUBE = OUTLET | {
    "drain.tube_diameter": "12 mm",
    "drain.tube_length": "2 m",
    "drain.fittings_loss": "1.5",
    "drain.valve_cv": "1000 Kv",
    "drain.roughness": "0.0015 mm",
    "drain.outlet_above_floor": "-0.5 m",
    "liquid.density": "1000 kg/m3",
    "liquid.viscosity": "1.0034 mPa s",
}


def test_speed_in_a_tube_with_friction() -> None:
    """D = 12 mm, L = 2 m, K = 1.5, drop 0.8 m: 1.49994 m/s (Darcy-Weisbach, Colebrook)."""
    drop = {"start.tank_volume": f"{0.3 * math.pi / 4 * 0.3**2 * 1000:.9f} l"}
    siphon = {"drain.kind": "siphon over the rim", "drain.crest_above_floor": "0.65 m"}
    for kind in ({}, siphon):
        recording = go(build(TUBE, drop, kind), 1)
        speed = recording["drain_flow"][1] / (math.pi / 4 * 0.012**2)
        assert speed == pytest.approx(1.49994, rel=0.02)
        assert speed == pytest.approx(1.49994, rel=0.005)  # what Haaland does here


def test_friction_factor_against_the_handbook() -> None:
    """Cengel & Cimbala ch. 8: 2 in steel tube, ε/D = 0.000042, Re = 126 400: f = 0.0174 (value from memory)."""
    drain = drain_of(tube_diameter="2 in", roughness=f"{0.000042 * 2 * 25.4:.9f} mm")
    speed = 126_400 * drain.viscosity / (2 * INCH)
    assert kernel.friction(drain, speed) == pytest.approx(0.0174, rel=0.02)


@pytest.mark.parametrize("reynolds", [100, 1500, 2000, 4e3, 5e3, 2e4, 1e5, 1e6])
@pytest.mark.parametrize("rough", [1.25e-4, 2e-3, 2e-2])
def test_friction_factor_against_colebrook(reynolds: float, rough: float) -> None:
    """Against the library fluids (Colebrook exactly solved, 64/Re when laminar); Haaland claims 2 %."""
    drain = drain_of(tube_diameter="12 mm", roughness=f"{12 * rough:.9f} mm")
    ours = kernel.friction(drain, reynolds * drain.viscosity / 0.012)
    assert ours == pytest.approx(fluids.friction_factor(Re=reynolds, eD=rough), rel=0.02)


@pytest.mark.parametrize("head", [1e-4, 0.01, 0.8, 5.0])
def test_two_rounds_of_the_search_settle_from_step_to_step(head: float) -> None:
    """Called again from where it stands, as the scan does, the search ends where head and losses agree."""
    drain = build(TUBE, {"drain.valve_cv": "1 Kv"}).params.drain
    flow = 0.0
    for _ in range(40):
        flow = kernel.gravity_flow(drain, 0.5, head, flow)
    area = math.pi / 4 * 0.012**2
    losses = (1 + 1.5 + kernel.friction(drain, flow / area) * 2 / 0.012) * (flow / area) ** 2 / 2
    valve = (flow / (0.5 * drain.coefficient)) ** 2 / 1000
    assert losses + valve == pytest.approx(G * head, rel=1e-6)


# Siphon -------------------------------------------------------------------------------------------------------------

SIPHON = QUIET | BY_HAND | {"drain.opening": "100 %"}


def test_siphon_does_nothing_until_it_is_primed() -> None:
    """A siphon must be filled before it runs (any fluid mechanics text)."""
    recording = go(build(SIPHON, {"start.siphon_primed": False}), 60, Action(30, "prime"))
    assert not recording["drain_flow"][:301].any()
    assert recording["volume"][300] == recording["volume"][0]
    assert at(recording, 31, "drain_flow") > 0.0
    assert times_of(recording, "siphon primed") == [30.0]


def test_siphon_breaks_at_its_inlet_and_does_not_restart() -> None:
    """It takes air at its inlet, and a returning level alone does not start it again (trade fact, common practice)."""
    rig = build(SIPHON, {"start.tank_volume": "1.5 gal"})
    refill = [Action(300, "manual output", 1.0), Action(330, "manual output", 0.0), Action(390, "prime")]
    recording = go(rig, 420, refill)
    (broke,) = times_of(recording, "siphon primed", 0.0)
    assert broke < 300
    assert at(recording, 299, "volume") == pytest.approx(rig.params.drain.inlet_volume, rel=1e-12)
    assert at(recording, 299, "level") == pytest.approx(1.5 * INCH, rel=1e-9)
    back = (recording["time"] > broke + 1) & (recording["time"] <= 390)
    assert recording["level"][back].max() > 2 * INCH
    assert not recording["drain_flow"][back].any()
    assert recording["drain_flow"][-1] > 0.0


def test_siphon_breaks_although_a_slower_pump_feeds_it() -> None:
    """At the inlet the siphon takes more than the pump brings, so it takes air (invariant of the liquid's balance)."""
    rig = build(SIPHON, {"start.tank_volume": "1 gal"})
    recording = go(rig, 300, Action(0, "manual output", 0.2))
    slow = recording["pump_flow"][-1]
    assert 0 < slow < 0.5 * recording["drain_flow"].max()
    (broke,) = times_of(recording, "siphon primed", 0.0)
    after = recording["time"] > broke + 0.2
    assert not recording["drain_flow"][after].any()
    assert recording["volume"][-1] > 1.5 * rig.params.drain.inlet_volume


def test_fed_bottom_outlet_passes_what_it_is_given() -> None:
    """An outlet can take air and go on: in the end it passes what the pump brings (invariant)."""
    heel = {"drain.inlet_above_floor": "0.1 m", "drain.valve_cv": "4 Kv", "start.tank_volume": "8 l"}
    recording = go(build(OUTLET, heel), 120, Action(0, "manual output", 0.1))
    assert recording["drain_flow"][-100:] == pytest.approx(1.2 * LITRE / 60, rel=1e-9)


@pytest.mark.parametrize("cut", [Action(5, "mains", 0), Action(5, "stop", 1)])
def test_siphon_drains_the_tank_when_everything_is_off(cut: Action) -> None:
    """Gravity needs no power: neither a power cut nor the emergency stop holds a siphon (trade fact)."""
    rig = build(SIPHON, {"start.mode": "auto"})
    recording = go(rig, 1200, cut)
    assert not recording["pump_flow"][-100:].any()
    assert recording["volume"][-1] == pytest.approx(rig.params.drain.inlet_volume, rel=1e-12)


def test_siphon_stops_when_the_valve_shuts_and_stays_primed() -> None:
    recording = go(build(SIPHON), 60, Action(20, "valve opening", 0.0), Action(40, "valve opening", 1.0))
    shut = (recording["time"] > 20.5) & (recording["time"] <= 40)
    assert not recording["drain_flow"][shut].any()
    assert recording.condition("siphon primed").all()
    assert recording["drain_flow"][-1] > 0.0


def test_drowned_outlet_is_driven_by_the_two_surfaces() -> None:
    """With its outlet under the reservoir's surface a siphon runs on the difference of the levels (Bernoulli)."""
    drowned = TUBE | {
        "drain.kind": "siphon over the rim",
        "drain.crest_above_floor": "0.65 m",
        "drain.outlet_above_floor": "-0.4 m",
        "reservoir.floor_below_tank_floor": "0.5 m",
    }
    rig = build(drowned)
    recording = go(rig, 2)
    surface = recording["reservoir"][1] / rig.params.reservoir.area - 0.5
    head = recording["level"][1] - surface
    flow = recording["drain_flow"][1]
    speed = flow / (math.pi / 4 * 0.012**2)
    factor = fluids.friction_factor(Re=speed * 0.012 / 1.0034e-6, eD=0.0015 / 12)
    assert surface > -0.4
    assert speed == pytest.approx(math.sqrt(2 * G * head / (2.5 + factor * 2 / 0.012)), rel=0.01)
