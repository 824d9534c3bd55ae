"""What a controller did between two samples of a record."""

import numpy as np
import pytest

from levelbench.project import load, sample, units
from levelbench.quantity import Dimension
from levelbench.records.measured import Measured, from_recording
from levelbench.rig import Action, assemble, run
from levelbench.tuning.identify.drive import between_scans
from levelbench.tuning.identify.every import fit_model


def of(output, step=1.0):
    count = len(output)
    return Measured(step * np.arange(count), np.zeros(count), output, None, None, "l", Dimension.VOLUME, "a record")


@pytest.mark.parametrize("scans", [2, 5, 10])
def test_a_ramp_of_every_scan_keeps_its_mean(scans):
    """The mean of u, u + d, …, u + (m − 1)·d over a step is u + (m − 1)·d/2 (sum of an arithmetic series)."""
    every = 0.3 + 0.001 * np.arange(60 * scans)
    seen = between_scans(of(every[::scans]), 1.0 / scans)
    np.testing.assert_allclose(seen.output[:-1], every.reshape(-1, scans).mean(axis=1)[:-1], rtol=1e-12)
    assert any("between two samples" in one for one in seen.notes)


def test_records_of_every_scan_and_of_hands_stay_as_they_are():
    every_scan, by_hand = of(np.linspace(0.2, 0.4, 50)), of(np.where(np.arange(50) < 20, 0.2, 0.5))
    assert between_scans(every_scan, 1.0) is every_scan
    assert between_scans(by_hand, 0.1) is by_hand


def test_a_jump_is_seen_at_once_or_in_the_middle_of_its_step():
    output = 0.3 + 0.001 * np.arange(40)
    output[20:] += 0.4
    once, middle = (between_scans(of(output), 0.1, jumps=jumps).output for jumps in (False, True))
    assert once[19] == output[19]
    assert middle[19] == pytest.approx(output[19] + 0.45 * (output[20] - output[19]))


def test_dead_time_at_one_a_second_is_that_of_every_scan():
    """A loop in automatic, recorded ten times less often: the same rig, so the same dead time."""
    project = load(sample("seedling_house"))
    rig, held = assemble(project), project.start.set_point.si
    actions = [Action(time, "set point", held * to) for time, to in ((60, 1.02), (200, 0.98), (400, 1.01))]
    often, seldom = (
        {one.figure.key: one for one in fit_model(from_recording(made, units(project)), "integrating", rig).estimates}
        for made in (run(rig, 600.0, actions=actions, seed=7, every=every) for every in (1, 10))
    )
    dead = seldom["fit.dead_time"]
    assert dead.low <= often["fit.dead_time"].figure.si <= dead.high
    assert dead.figure.si == pytest.approx(often["fit.dead_time"].figure.si, rel=0.1)


def test_a_loop_that_was_recorded_too_seldom_changes_nothing_in_the_project():
    """Noise moves the output between samples, and no row tells where: flows come out wrong by some per cent."""
    project = load(sample("seedling_house"))
    rig, held = assemble(project), project.start.set_point.si
    actions = [Action(time, "set point", held * to) for time, to in ((60, 1.02), (200, 0.98), (400, 1.01))]
    record = from_recording(run(rig, 600.0, actions=actions, seed=7, every=20), units(project))
    fit = fit_model(record, "physics", rig)
    assert not fit.edits
    assert any("nothing of it is offered" in words for words in fit.warnings)
