"""Limit cycles of a relay: against printed closed forms, against a simulation of our own, and turned round again."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from levelbench.tuning.experiments.limit_cycle import (
    INTEGRATING_ERROR,
    Cycle,
    Relay,
    by_describing,
    cycle_of_first_order,
    cycle_of_integrating,
    describing_error,
    describing_gain,
    first_order_from,
    gain_from,
    integrating_from,
)
from levelbench.tuning.process import FirstOrder, Integrating

STEP = 1e-3  # [s] of the simulation


def simulated(process: Integrating | FirstOrder, relay: Relay, lasts: float) -> Cycle:
    """Run relay and process in steps of a millisecond, written without anything of the program; give the last cycle."""
    delay = round(process.dead_time / STEP)
    line = [relay.high] * max(delay, 1)
    pv, output, switched, tops, bottoms = 0.0, relay.high, [], [], []
    extreme = 0.0
    for at in range(round(lasts / STEP)):
        if output > 0 and pv >= relay.hysteresis:
            output = -relay.low
            switched.append((at * STEP, False))
            bottoms.append(extreme)
            extreme = pv
        elif output < 0 and pv <= -relay.hysteresis:
            output = relay.high
            switched.append((at * STEP, True))
            tops.append(extreme)
            extreme = pv
        extreme = max(extreme, pv) if output < 0 else min(extreme, pv)
        line.append(output)
        driven = line[at]
        rate = process.slope * driven
        if isinstance(process, FirstOrder):
            rate = (process.gain * driven - pv) / process.time_constant
        pv += STEP * rate
    (first, up), (second, _), (third, _) = switched[-3:]
    on, off = (second - first, third - second) if up else (third - second, second - first)
    return Cycle(on, off, tops[-1], -bottoms[-1])


def same(found: Cycle | None, other: Cycle, within: float) -> None:
    assert found is not None
    for name in ("on", "off", "peak", "trough"):
        assert getattr(found, name) == pytest.approx(getattr(other, name), rel=within, abs=3 * STEP), name


@pytest.mark.parametrize(
    ("gain", "constant", "amplitude", "period", "gain_error", "period_error"),
    [
        (1.0, 10.0, 0.095162581964, 3.81805657853, -0.1817, -0.0083),
        (1.0, 2.0, 0.393469340287, 3.327186263, -0.14998, -0.02745),
        (1.0, 1.0, 0.632120558829, 2.97976025129, -0.10947, -0.03787),
    ],
)
def test_first_order_with_an_ideal_relay(  # noqa: PLR0917 (one row of a table)
    gain: float, constant: float, amplitude: float, period: float, gain_error: float, period_error: float
) -> None:
    """a = K·d·(1 − e^(−L/T)), P = 2T·ln(2e^(L/T) − 1): Wang, Hang & Zou, Ind. Eng. Chem. Res. 36 (1997) 2474."""
    process = FirstOrder(gain, constant, 1.0)
    cycle = cycle_of_first_order(process, Relay(1.0, 1.0))
    assert cycle is not None
    assert cycle.amplitude == pytest.approx(amplitude, rel=1e-9)
    assert cycle.period == pytest.approx(period, rel=1e-9)
    errors = describing_error(process)
    assert errors[0] == pytest.approx(gain_error, abs=5e-4)
    assert errors[1] == pytest.approx(period_error, abs=5e-4)


def test_mostly_dead_time() -> None:
    """Describing function 13.2 % high, period 11.3795 s: K = 1, T = 1, L = 5 by the same closed form."""
    cycle = cycle_of_first_order(FirstOrder(1.0, 1.0, 5.0), Relay(1.0, 1.0))
    assert cycle is not None
    assert cycle.period == pytest.approx(11.3795450386, rel=1e-9)
    errors = describing_error(FirstOrder(1.0, 1.0, 5.0))
    assert errors == pytest.approx((0.13229, -0.03878), abs=5e-4)


def test_range_of_the_describing_function() -> None:
    """From −18.9 % to +27.3 %; C.-C. Yu, Autotuning of PID Controllers, says −18 % to +27 % (quoted from memory)."""
    assert pytest.approx(-0.1894305, abs=1e-7) == INTEGRATING_ERROR
    assert describing_error(Integrating(0.3, 4.0)) == pytest.approx((-0.1894305, 0.0), abs=1e-7)
    assert describing_error(FirstOrder(1.0, 1e4, 1.0))[0] == pytest.approx(-0.1894, abs=1e-4)
    assert describing_error(FirstOrder(1.0, 1e-3, 1.0))[0] == pytest.approx(0.2732, abs=2e-3)


def test_first_order_with_hysteresis() -> None:
    """a = K·d − (K·d − ε)·e^(−L/T): K = 1, T = 5, L = 1, d = 1, ε = 0.05 (closed form)."""
    cycle = cycle_of_first_order(FirstOrder(1.0, 5.0, 1.0), Relay(1.0, 1.0, 0.05))
    assert cycle is not None
    assert cycle.amplitude == pytest.approx(0.222205784576, rel=1e-9)
    assert cycle.period == pytest.approx(4.51950540776, rel=1e-9)
    assert cycle_of_first_order(FirstOrder(0.04, 5.0, 1.0), Relay(1.0, 1.0, 0.05)) is None  # rests within it


def test_integrating() -> None:
    """Period 4·L, amplitude k'·d·L; with hysteresis 4·(L + ε/(k'·d)) and ε + k'·d·L (closed forms, K. J. Åström, T.
    Hägglund, Automatica 20 (1984) 645); asymmetric L·(2 + up/down + down/up)."""
    ideal = cycle_of_integrating(Integrating(0.03, 3.0), Relay(1.0, 1.0))
    assert (ideal.period, ideal.amplitude) == pytest.approx((12.0, 0.09), rel=1e-12)
    wide = cycle_of_integrating(Integrating(0.03, 3.0), Relay(1.0, 1.0, 0.03))
    assert (wide.period, wide.amplitude) == pytest.approx((16.0, 0.12), rel=1e-12)
    leaning = cycle_of_integrating(Integrating(0.5, 2.0), Relay(0.5, 2.0))
    assert leaning.period == pytest.approx(2.0 * (2 + 0.25 + 4.0), rel=1e-12)
    assert describing_gain(Relay(1.0, 1.0), 0.06) == pytest.approx(21.2207, rel=1e-5)


def test_describing_function_as_a_process() -> None:
    """Without hysteresis it takes k' 23.4 % too large, π²/8, and the delay right: the triangle's first harmonic."""
    relay = Relay(0.2, 0.2)
    found = by_describing(relay, cycle_of_integrating(Integrating(0.03, 3.0), relay))
    assert (found.slope, found.dead_time) == pytest.approx((0.03 * math.pi**2 / 8, 3.0), rel=1e-9)


@pytest.mark.parametrize(
    ("process", "relay", "lasts"),
    [
        (Integrating(0.02, 3.0), Relay(1.0, 1.0), 60.0),
        (Integrating(0.02, 3.0), Relay(0.3, 0.1, 0.03), 250.0),
        (FirstOrder(1.0, 5.0, 1.0), Relay(1.0, 1.0, 0.05), 40.0),
        (FirstOrder(2.0, 10.0, 2.0), Relay(0.5, 0.3, 0.05), 120.0),
        (FirstOrder(1.0, 1.0, 4.0), Relay(1.0, 0.6), 80.0),
    ],
)
def test_against_a_simulation(process: Integrating | FirstOrder, relay: Relay, lasts: float) -> None:
    """A loop in steps of 1 ms, written in this file without the program's code, settles into the same cycle."""
    found = (
        cycle_of_integrating(process, relay)
        if isinstance(process, Integrating)
        else cycle_of_first_order(process, relay)
    )
    same(found, simulated(process, relay, lasts), 2e-3)


positive = some.floats(0.05, 20.0)


@settings(max_examples=60, deadline=None)
@given(slope=positive, dead=positive, high=positive, low=positive, width=some.floats(0.0, 5.0))
def test_turned_round_integrating(slope: float, dead: float, high: float, low: float, width: float) -> None:
    cycle = cycle_of_integrating(Integrating(slope, dead), Relay(high, low, width))
    found = integrating_from(cycle, 40.0 + high, 40.0 - low, width)
    assert found.process.slope == pytest.approx(slope, rel=1e-9)
    assert found.process.dead_time == pytest.approx(dead, rel=1e-6)
    assert found.balance == pytest.approx(40.0, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    constant=positive, dead=positive, high=some.floats(0.5, 2.0), low=some.floats(0.5, 2.0), width=some.floats(0, 0.4)
)
def test_turned_round_first_order(constant: float, dead: float, high: float, low: float, width: float) -> None:
    dead = min(dead, 8 * constant)  # beyond it the PV rests before it turns, and nothing is left of the constant
    relay = Relay(high, low, width)
    cycle = cycle_of_first_order(FirstOrder(1.0, constant, dead), relay)
    assert cycle is not None
    found = first_order_from(cycle, relay, 1.0)
    assert found.time_constant == pytest.approx(constant, rel=1e-6)
    assert found.dead_time == pytest.approx(dead, rel=1e-6)


def test_gain_from_means() -> None:
    """The mean PV of a first-order process is its gain by the mean output, whatever it does in between (definition)."""
    process, relay = FirstOrder(2.0, 10.0, 2.0), Relay(0.5, 0.3, 0.05)
    cycle = cycle_of_first_order(process, relay)
    assert cycle is not None
    mean_output = (relay.high * cycle.on - relay.low * cycle.off) / cycle.period
    # the PV by pieces: towards 1.0 from the trough for `on`, towards −0.6 from the peak for `off`
    up = 1.0 * cycle.on - (1.0 + cycle.trough) * 10.0 * -math.expm1(-cycle.on / 10.0)
    down = -0.6 * cycle.off + (0.6 + cycle.peak) * 10.0 * -math.expm1(-cycle.off / 10.0)
    assert gain_from((up + down) / cycle.period, mean_output) == pytest.approx(2.0, rel=1e-9)
