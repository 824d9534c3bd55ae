"""Single fills of the real rig with its drain shut: under its PI controller, or at full output and cut.

A cut is a decision of the controller within its scan, as its output is: the fill is run once with the pump on to see
in which scan PV reaches the threshold, and then again with the output at 0 from that very scan on. Nothing that comes
later is known to it, and with the same seed both runs are the same up to there. An on/off pump is switched by the cut.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from levelbench.project import units
from levelbench.quantity import Dimension
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.ensemble import Member, Runner, actions_of, whole_scans
from levelbench.rig.errors import RigError
from levelbench.rig.recording import Action
from levelbench.tuning.filling.law import CutOff, delay_to_stop, full_flow, full_output
from levelbench.tuning.loop import loop_model, settings_in
from levelbench.tuning.prediction import at_rest

D = Dimension
Floats = NDArray[np.float64]

BEFORE = 5.0  # [s] at rest before a fill is asked for
_LONGEST = 3600.0  # [s] that is waited for the PI controller to come to rest


@dataclass(frozen=True)
class Fill:
    """What is asked: the rig as it is, from and to [m3], the scan of the order, how many scans, and the seed."""

    rig: Rig
    low: float
    high: float
    order: int
    scans: int
    seed: int

    @property
    def band(self) -> float:
        """Half an entry step [m3]: nearer to what was asked than to its neighbour."""
        return float(self.rig.panel[kernel.P_SP_STEP]) / 2


@dataclass(frozen=True)
class Filled:
    """What came of a fill: error at the end [m3] as the controller sees it without noise; time [s]; starts.

    lead: of the cut [m3], 0 for the PI; learned: mean PV at rest less the set point [m3], 0 for the PI.
    """

    error: float
    time: float
    starts: int
    lead: float = 0.0
    learned: float = 0.0


def lasting(rig: Rig, low: float, high: float) -> float:
    """Give how long a fill from low to high [m3] is watched after its order [s]; long enough for the PI to rest."""
    integral = settings_in(rig).integral_time
    settle = 0.0 if np.isinf(integral) else 5 * integral
    rest = min(settle + 20 * loop_model(rig).total_delay.si + 60.0, _LONGEST)
    return 1.5 * (high - low) / full_flow(rig, high) + rest


def fill_of(rig: Rig, volumes: tuple[float, float], seconds: float, seed: int) -> Fill:
    """Give a fill of a rig between two volumes [m3], watched so long [s] after its order."""
    resting = at_rest(rig, volumes[0], 0.0)
    order = whole_scans(rig, BEFORE)
    return Fill(resting, *volumes, order, order + whole_scans(rig, seconds), seed)


def with_weight(one: Fill, weight: float) -> Fill:
    """Give the same fill with another set point weight."""
    panel = one.rig.panel.copy()
    panel[kernel.P_WEIGHT] = weight
    return replace(one, rig=replace(one.rig, panel=panel))


def by_pi(runner: Runner, one: Fill) -> tuple[Filled, Floats]:
    """Fill under the PI controller; gives what came of it, and the rows until the runner's next run."""
    order = actions_of(one.rig, [Action(one.order * one.rig.scan, "set point", one.high)])
    rows = runner.run(Member(one.rig, one.rig.start(), one.scans, one.seed, order))
    return _read(one, rows, one.high), rows


def by_cut(runner: Runner, one: Fill, law: CutOff, lead: float) -> tuple[Filled, Floats]:
    """Fill at full output and cut by a lead [m3]; gives what came of it, and the rows until the runner's next run.

    Raises RigError when PV doesn't reach the set point while it is watched.
    """
    at = _cut_scan(runner, one, one.high - lead)
    rows = runner.run(_at_full(one, at, one.scans))
    begin = min(at + whole_scans(one.rig, law.wait), one.scans - 2)
    end = min(begin + whole_scans(one.rig, law.average), one.scans)
    learned = float(np.mean(rows[begin:end, 2])) - one.high
    return replace(_read(one, rows, one.high), lead=lead, learned=learned), rows


def _cut_scan(runner: Runner, one: Fill, threshold: float) -> int:
    """Give the scan in which PV reaches a threshold [m3] with the pump on."""
    needs = (one.high - one.low) / full_flow(one.rig, one.high) + 2 * delay_to_stop(one.rig)
    for times in (1.0, 2.0):  # a worn pump takes longer than it should
        scans = min(one.order + whole_scans(one.rig, times * needs), one.scans)
        pv = runner.run(_at_full(one, scans, scans))[:, 2]
        found = np.flatnonzero(pv[one.order :] >= threshold)
        if found.size:
            return one.order + int(found[0])
    shown = units(one.rig.project).show(one.high, D.VOLUME)
    raise RigError(
        f"With the drain shut and the pump at full output the volume does not reach {shown}.",
        "start.set_point",
        "Give the reservoir more, or look for what stops the pump: the switch, the suction, the lift.",
    )


def _at_full(one: Fill, cut: int, scans: int) -> Member:
    """Give the run at full output from the order to a scan."""
    scan = one.rig.scan
    rig = replace(one.rig, params=one.rig.params._replace(pump=one.rig.params.pump._replace(on_off=False)))
    done = [Action(one.order * scan, "auto", 0.0), Action(one.order * scan, "manual output", full_output(one.rig))]
    if cut < scans:
        done.append(Action(cut * scan, "manual output", 0.0))
    return Member(rig, rig.start(), scans, one.seed, actions_of(rig, done))


def _read(one: Fill, rows: Floats, high: float) -> Filled:
    """Read error, time and starts of a fill."""
    tail = rows[-max((one.scans - one.order) // 8, 1) :]
    seen = rows[one.order :, 3] + float(np.mean(tail[:, 2] - tail[:, 3]))
    end = float(seen[-1])
    moving = np.flatnonzero(np.abs(seen - end) > one.band)
    running = rows[one.order :, 13].astype(np.int64) >> kernel.PUMP_RUNNING & 1
    starts = int(running[0]) + int(np.count_nonzero(np.diff(running) > 0))  # noise may have it turn over at rest
    return Filled(end - high, (float(moving[-1]) + 1) * one.rig.scan if moving.size else 0.0, starts)
