"""What is read off the loop at a period, against python-control with the dead time put in exactly."""

import math

import control
import numpy as np
import pytest

from levelbench.project import edit_many, load, sample, units
from levelbench.rig import assemble
from levelbench.rig.settings import Settings
from levelbench.tuning.loop import margins, open_loop
from levelbench.tuning.loop_reading import reading, sweep
from levelbench.tuning.narrow_band import narrow_band
from levelbench.tuning.response import OpenLoop


@pytest.mark.parametrize("period", [4.0, 18.0, 33.5, 300.0])
def test_a_reading_is_the_loop_of_another_library(period: float) -> None:
    project = load(sample("seedling_house"))
    rig = assemble(project)
    loop = open_loop(rig)
    gain, phase, left = (one.si for one in reading(loop, period, units(project)))
    s = control.tf("s")
    one = loop.settings
    delayless = one.gain * (1 + 1 / (one.integral_time * s)) * loop.slope / s
    for lag in loop.lags:
        delayless = delayless / (lag * s + 1)
    at = 2j * math.pi / period
    whole = complex(delayless(at)) * np.exp(-at * loop.dead_time)
    assert one.derivative_time == 0
    assert gain == pytest.approx(abs(whole), rel=1e-9)
    assert math.cos(math.radians(phase)) == pytest.approx(whole.real / abs(whole), abs=1e-9)
    assert left == pytest.approx(1 / abs(1 + whole), rel=1e-9)


def test_a_sweep_shows_where_the_loop_can_cycle() -> None:
    rig = assemble(load(sample("seedling_house")))
    found, marks = sweep(open_loop(rig), margins(rig)), margins(rig)
    assert found.period[0] > 5 * marks.crossover.si
    assert found.period[-1] < marks.ultimate_period.si / 2
    assert np.all(np.diff(found.period) < 0)
    assert marks.sensitivity is not None
    assert float(np.max(1 / np.abs(1 + found.value))) == pytest.approx(marks.sensitivity.si, rel=1e-3)


def test_the_unit_loop_of_the_book() -> None:
    # e^(−s)/s under a gain of 1: |L| = 1 at ω = 1, phase −90° − 57.3° (Åström & Hägglund 1995, chapter 4; closed form)
    loop = OpenLoop(1.0, 1.0, (), Settings(1.0, math.inf, 0.0))
    gain, phase, _ = reading(loop, 2 * math.pi, units(load(sample("seedling_house"))))
    assert gain.si == pytest.approx(1.0)
    assert phase.si == pytest.approx(-90.0 - math.degrees(1.0))


def test_a_narrow_band_is_explained_with_its_figures() -> None:
    project = load(sample("seedling_house"))
    rig = assemble(project)
    found = narrow_band(rig)
    assert found is not None
    band, moves, least = (one.si for one in found.figures)
    low, high = rig.span
    loop = open_loop(rig)
    assert band == pytest.approx(1 / (loop.settings.gain * (high - low)))  # definition
    assert moves == pytest.approx(loop.slope * (loop.dead_time + sum(loop.lags)) / (high - low))
    assert band > least > 0
    assert "is right here" in found.words
    tens = assemble(edit_many(project, {"loop_settings.gain": "300 %/gal"}))
    slow = narrow_band(tens)
    assert slow is not None
    assert "still too wide" in slow.words
    assert narrow_band(assemble(edit_many(project, {"loop_settings.gain": "100 %/gal"}))) is None
    wild = narrow_band(assemble(edit_many(project, {"loop_settings.gain": "4000 %/gal"})))
    assert wild is not None
    assert "too narrow" in wild.words
