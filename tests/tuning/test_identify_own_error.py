"""A leak, and a sensor that is off, found from records whose truth is known; what can't be told is said."""

from dataclasses import replace

import numpy as np
import pytest
from rigs_by_chance import described

from levelbench.project import edit_many, load, sample, units
from levelbench.records.measured import Measured, from_recording
from levelbench.rig import Action, assemble, run
from levelbench.tuning.identify.physics import fit_physics

GPM = 231 * 0.0254**3 / 60  # [m3/s], NIST Handbook 44


def by_key(fit):
    return {one.figure.key: one for one in fit.estimates}


def recorded(project, *, with_draw=False, seed=3, lasts=900.0) -> Measured:
    """Give a record of somebody who fills and lets drain by hand."""
    outputs = np.random.default_rng(1).choice([0.0, 0.07, 0.1, 0.15, 0.25, 0.4, 0.6, 0.9], 40)
    actions = [Action(30.0 + 30 * at, "manual output", float(one)) for at, one in enumerate(outputs)]
    actions.insert(0, Action(0.0, "auto", 0.0))
    made = run(assemble(project), lasts, actions=actions, seed=seed, every=2)
    return from_recording(made, units(project), with_draw=with_draw)


@pytest.fixture(scope="module")
def right():
    return load(sample("seedling_house"))


def test_a_leak_that_nobody_knew_of_goes_to_the_project(right):
    record = recorded(edit_many(right, {"tank.leak": "0.12 gpm"}))
    fit = fit_physics(record, rig=assemble(right)).fit
    leak = by_key(fit)["fit.tank.leak"]
    assert leak.told_apart
    assert leak.low <= 0.12 * GPM <= leak.high
    mended = edit_many(right, fit.edits)  # in one step
    assert mended.tank.leak.si == pytest.approx(0.12 * GPM, rel=0.05)


def test_a_leak_is_stated_at_the_level_that_the_project_says(right):
    """q = c·√h (Torricelli 1644): at a quarter of the level half the flow."""
    true = edit_many(right, {"tank.leak": "0.12 gpm"})
    full = assemble(true).strapping.level_at(assemble(true).params.tank.spill_volume)
    lower = edit_many(right, {"tank.leak_at": f"{full / 4:.5f} m"})
    fit = fit_physics(recorded(true), rig=assemble(lower)).fit
    assert edit_many(lower, fit.edits).tank.leak.si == pytest.approx(0.06 * GPM, rel=0.05)


def test_a_measured_draw_tells_the_span_error(right):
    """What is drawn is the record's own measure of volume, so that pump and sensor can be told from each other."""
    record = recorded(edit_many(right, {"sensor.span_error": "4 %"}), with_draw=True)
    fit = fit_physics(record, rig=assemble(right)).fit
    found = by_key(fit)
    assert found["fit.sensor.span_error"].low <= 0.04 <= found["fit.sensor.span_error"].high
    assert found["fit.pump.largest"].figure.si == pytest.approx(right.pump.largest_flow.si, rel=0.01)
    assert edit_many(right, fit.edits).sensor.span_error.si == pytest.approx(0.04, abs=0.01)


def test_what_is_not_told_of_the_sensor_is_held_and_said():
    one = described(1, by_hand=True)  # it only fills and drains: a sensor that is off looks like other flows
    fit = fit_physics(one.measured, rig=assemble(one.project)).fit
    assert not {"fit.sensor.span_error", "fit.sensor.zero_error"} & set(by_key(fit))
    held = next(words for words in fit.warnings if "span error" in words)
    assert "taken as 0 %, as the project says" in held
    assert "pump's flow at 100 % −1 %" in held  # a radar 1 % long: levels, so volumes and flows, look 1 % less
    assert not {"sensor.span_error", "sensor.zero_error"} & set(fit.edits)


def test_what_is_held_is_what_the_project_says():
    """A project that knows of the error finds the flows that one finds whose sensor is right."""
    one = described(1, by_hand=True)
    off = edit_many(one.project, {"sensor.span_error": "5 %"})
    wrong = assemble(off).params.sensor
    face = assemble(one.project).params.sensor.face
    rig = assemble(one.project)
    level = rig.strapping.level_at(one.measured.pv)
    seen = replace(one.measured, pv=rig.strapping.volume_at(face - wrong.ratio * (face - level)))
    plain, known = by_key(fit_physics(one.measured, rig=rig).fit), by_key(fit_physics(seen, rig=assemble(off)).fit)
    for key in ("fit.pump.largest", "fit.drain.coefficient"):
        assert known[key].figure.si == pytest.approx(plain[key].figure.si, rel=0.005)
