"""Minutes before a change and since, against rows that are written by hand and a real run."""

import numpy as np
import pytest

from levelbench.project import edit_many, load, sample, units
from levelbench.quantity import Units
from levelbench.rig import Session, assemble
from levelbench.rig.panel import BITS, COLUMNS
from levelbench.rig.recording import Entry
from levelbench.tuning.stretches import FIRST, LENGTH, Stretches, measured

SHOWN = Units("l", "mm", "l/min")
AT = {column.name: at for at, column in enumerate(COLUMNS)}


def rows(begin: float, seconds: float, swing: float, period: float = 20.0) -> np.ndarray:
    """Write rows of a PV that swings by [m3] about its set point, and an output that does so by a tenth."""
    time = begin + np.arange(0.0, seconds, 0.1)
    made = np.zeros((time.size, len(COLUMNS)))
    wave = np.sin(2 * np.pi * time / period)
    made[:, AT["time"]], made[:, AT["set_point"]] = time, 0.01
    made[:, AT["pv"]], made[:, AT["output"]] = 0.01 + swing * wave, 0.5 + 0.1 * wave
    made[:, AT["conditions"]] = np.where(wave > 0, 1 << BITS["pump running"], 0)
    return made


def test_a_sine_is_measured_as_it_is() -> None:
    # closed forms: standard deviation of a sine = amplitude/√2; its travel is four amplitudes a period
    spread, largest, travel, starts = measured(rows(0.0, 200.0, 2e-4), SHOWN)
    assert spread.si == pytest.approx(2e-4 / np.sqrt(2), rel=1e-3)
    assert largest.si == pytest.approx(2e-4, rel=1e-3)
    assert travel.si == pytest.approx(4 * 0.1 / 20.0, rel=1e-2)
    assert starts.si == pytest.approx(1 / 20.0, rel=0.1)


def test_before_and_since_are_told_apart_and_other_acts_are_named() -> None:
    bench = Stretches()
    assert bench.compare(SHOWN) is None
    bench.take(rows(0.0, 200.0, 4e-4), ())
    at = 199.95
    bench.take(rows(200.0, 100.0, 1e-4), (Entry(at, "action", "gain", 1.0), Entry(at, "action", "integral time", 9.0)))
    found = bench.compare(SHOWN)
    assert found is not None
    assert found.change.names == ("gain", "integral time")
    assert found.before[0].si == pytest.approx(4e-4 / np.sqrt(2), rel=1e-2)
    assert found.since[0].si == pytest.approx(1e-4 / np.sqrt(2), rel=1e-2)
    assert found.lengths[0] == pytest.approx(200.0 - FIRST, abs=0.3)  # the first minute is left out
    assert found.said == "The volume is steadier, the output moves about as much."
    assert found.besides == ()
    bench.take(rows(300.0, 10.0, 1e-4), (Entry(305.0, "action", "set point", 0.02),))
    again = bench.compare(SHOWN)
    assert again is not None
    assert again.besides == ("set point",)


def test_a_short_stretch_says_nothing_and_a_long_one_ends() -> None:
    bench = Stretches()
    bench.take(rows(0.0, 150.0, 1e-4), (Entry(140.0, "action", "gain", 1.0),))
    found = bench.compare(SHOWN)
    assert found is not None
    assert found.said == ""
    for begin in range(150, 1500, 50):
        bench.take(rows(begin, 50.0, 1e-4), ())
    found = bench.compare(SHOWN)
    assert found is not None
    assert sum(len(one) for one in bench._recent) < 10 * (2 * LENGTH + 60)  # what is old is let go
    bench.begin()
    assert bench.compare(SHOWN) is None


@pytest.mark.parametrize("factor", [0.2, 1.0])
def test_a_lower_gain_is_seen_on_a_run(factor: float) -> None:
    """Output noise goes with the gain (closed form: the controller multiplies the reading's noise by it)."""
    project = load(sample("seedling_house"))
    rig = assemble(edit_many(project, {"loop_settings.output_rate": None}))
    session, bench = Session(rig, seed=3), Stretches()
    gain = session.panel("gain")
    for act in (None, factor):
        if act is not None:
            session.act("gain", gain * act)
        chunk = session.advance(round(200.0 / rig.scan))
        bench.take(chunk.rows, chunk.journal)
    found = bench.compare(units(project))
    assert found is not None
    travel = [next(one.si for one in side if one.key == "bench.travel") for side in (found.before, found.since)]
    if factor < 1:
        assert travel[1] < 0.5 * travel[0]
        assert "moves less" in found.said
    else:
        assert travel[1] == pytest.approx(travel[0], rel=0.3)
