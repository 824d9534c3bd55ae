"""A whole closed loop against an independent stiff solver (scipy, tolerance 1e-10), to 0.1 % of span."""

import numpy as np
import pytest
from slow_rig import SlowRig

from levelbench.project import Project, edit_many, load, sample
from levelbench.rig import Action, assemble, kernel, run

GALLON = 3.785411784e-3  # [m3] NIST SP 811 App. B


def quiet(**edits: str) -> Project:
    """Give the seedling house without noise and with a fine converter, so that only the equations are compared."""
    still = {"sensor.noise": "0 in", "sensor.ripple": "0 in", "sensor.resolution": "0 in", "sensor.converter_bits": 24}
    return edit_many(load(sample("seedling_house")), {**still, **edits})


@pytest.mark.parametrize(
    ("start", "to", "weight", "leak"),
    [
        ("3.00 gal", 3.10, "1", "0 gpm"),
        ("3.00 gal", 3.50, "1", "0 gpm"),
        ("3.00 gal", 2.80, "0.5", "0 gpm"),
        ("3.00 gal", 3.50, "1", "0.2 gpm"),
    ],
)
def test_closed_loop_step_agrees_with_the_stiff_solver(start: str, to: float, weight: str, leak: str) -> None:
    project = quiet(**{"start.tank_volume": start, "loop_settings.set_point_weight": weight, "tank.leak": leak})
    rig = assemble(project)
    scans = 900
    recording = run(rig, scans * rig.scan, actions=[Action(5.0, "set point", to * GALLON)])
    gain, integral = rig.panel[kernel.P_GAIN], rig.panel[kernel.P_INTEGRAL]
    oracle = SlowRig(project, gain, integral).run(scans, 50, to * GALLON)
    span = rig.span[1] - rig.span[0]
    assert np.abs(recording["volume"] - oracle[:, 0]).max() < 1e-3 * span
    assert np.abs(recording["pv"] - oracle[:, 1]).max() < 1e-3 * span
    assert np.ptp(oracle[:, 2]) > 0.1  # the pump was really worked


def test_halving_the_sub_step_halves_the_difference() -> None:
    """The physics goes in steps of the first order: half the step, half the error (seams of the method)."""
    rig = assemble(quiet())

    def final(sub_steps: int) -> float:
        control = rig.params.control._replace(sub_steps=sub_steps)
        one = type(rig)(rig.project, rig.strapping, rig.params._replace(control=control), rig.panel)
        volumes = run(one, 40.0, actions=[Action(1.0, "auto", 0), Action(1.0, "manual output", 0.7)])["volume"]
        return float(volumes[-1])

    exact = final(512)
    first, second = abs(final(2) - exact), abs(final(4) - exact)
    assert first < 1e-4 * rig.span[1]
    assert second == pytest.approx(first / 2, rel=0.1)
