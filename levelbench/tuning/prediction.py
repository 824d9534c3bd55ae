"""What the rig will do, found by running it: a set point step, a load step, and the step with the drain shut.

Each run begins at rest: the tank at its set point, the pump at the output that balances the draw. The step is ten entry
steps up from the starting set point. The load goes to the duty's largest draw, from the draw at the start or from half
the largest, whichever is less. What is judged is the volume as the controller sees it without noise: the true volume,
moved by the mean difference of PV and volume at the end of the run, so that a sensor's offset does not count as a
control error. It is settled when it stays within one entry step of the set point. The runs are on the real rig,
with its noise, dead zone and limits; the numbers belong to that one seed. Where what is drawn goes away, the reservoir
is kept topped up: it would run dry within the runs, which says nothing of the loop (the review says how long it lasts).
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from levelbench.project import units
from levelbench.quantity import Dimension, Figure, Quantity
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.recording import Action, Recording
from levelbench.rig.run import run
from levelbench.tuning.loop import draw_at, loop_model, operating_point, settings_in
from levelbench.tuning.measures import Floats, first_beyond, last_outside

D = Dimension

SEED = 1
ENTRY_STEPS = 10  # size of the set point step
HOLDING = 1200.0  # [s] how long holding is watched after the loop has come to rest
_LONGEST_WAIT = 3600.0  # [s] even for a very long integral time

Progress = Callable[[float], bool]


@dataclass(frozen=True)
class Response:
    """One run: its recording, when the change was made [s], and until when the answer to it is worth showing [s]."""

    recording: Recording
    at: float
    until: float


@dataclass(frozen=True)
class Prediction:
    """What the runs say, as Figures, and the runs for plotting.

    The load's and the shut drain's parts are None for a rig whose drain can't be changed.
    """

    step: Response
    load: Response | None
    shut: Response | None
    rise: Figure
    settling: Figure
    overshoot: Figure
    hold: Figure
    starts: Figure
    travel: Figure
    load_deviation: Figure | None
    recovery: Figure | None
    stays: Figure | None

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All figures that there are, in the order in which a sheet prints them."""
        step = (self.rise, self.settling, self.overshoot, self.hold, self.starts, self.travel)
        return (*step, *(one for one in (self.load_deviation, self.recovery, self.stays) if one))


@dataclass(frozen=True)
class Asked:
    """What the runs ask of a rig: set points from and to [m3], the draw before and after the load step [m3/s].

    band: within it the loop is settled [m3].
    """

    low: float
    high: float
    draw: float
    load: float
    band: float


def asked_of(rig: Rig) -> Asked:
    """Give what `predict` asks of a rig. Raises RigError when the pump gives no flow at the set point."""
    plan, largest = _Plan.of(rig), rig.project.duty.largest_draw.si
    return Asked(plan.low, plan.high, min(draw_at(rig, plan.low), largest / 2), largest, plan.band)


def rest_of(rig: Rig) -> float:
    """Give how long `predict` lets a rig come to rest before and after each change [s].

    Raises RigError when the pump gives no flow at the set point.
    """
    return _Plan.of(rig).rest


def predict(rig: Rig, progress: Progress | None = None, *, seed: int = SEED, rest: float = 0.0) -> Prediction:
    """Run a rig through its set point step, its load step and the step with its drain shut.

    `progress` is told the share done and answers whether to go on; `rest` [s] is the least time that it gets to come to
    rest, so that several settings can be tried alike. Raises Cancelled when `progress` says no, RigError when the pump
    gives no flow at the set point.
    """
    plan = _Plan.of(rig, seed, rest)
    has_drain = rig.params.drain.kind != 0
    parts = 3 if has_drain else 1
    step = _step(plan, plan.draw_setting, HOLDING, _part(progress, 0, parts))
    load = _load(plan, _part(progress, 1, parts)) if has_drain else None
    shut = _step(plan, 0.0, 0.0, _part(progress, 2, parts)) if has_drain else None
    deviation, recovery = _load_figures(plan, load) if load else (None, None)
    stays = _stays(plan, shut) if shut else None
    on_step = (*_step_figures(plan, step), *_holding_figures(plan, step))
    return Prediction(step, load, shut, *on_step, deviation, recovery, stays)


def _part(progress: Progress | None, done: int, parts: int) -> Progress | None:
    """Give the progress of one of several parts."""
    return None if progress is None else lambda share: progress((done + share) / parts)


# --- what is run -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Plan:
    """Set points [m3], times [s] and drain settings (opening [1] or draw [m3/s]) of the runs of one rig."""

    rig: Rig
    low: float
    high: float
    before: float
    travel: float
    rest: float
    draw_setting: float
    seed: int

    @classmethod
    def of(cls, rig: Rig, seed: int = SEED, least_rest: float = 0.0) -> "_Plan":
        panel = rig.panel
        step = ENTRY_STEPS * float(panel[kernel.P_SP_STEP])
        high = min(float(panel[kernel.P_SET_POINT]) + step, float(panel[kernel.P_SP_HIGH]))
        low = max(high - step, float(panel[kernel.P_SP_LOW]))
        integral = settings_in(rig).integral_time
        settle = 0.0 if np.isinf(integral) else 5 * integral
        rest = min(max(settle + 20 * loop_model(rig).total_delay.si + 60.0, least_rest), _LONGEST_WAIT)
        rest = _whole_scans(rig, rest)
        point, full = operating_point(rig), rig.params.pump.largest_flow * rig.params.pump.left_by_wear
        travel = _whole_scans(rig, min((high - low) / max(full - point.flow, 0.02 * full), _LONGEST_WAIT))
        entry = kernel.P_DRAW if rig.params.drain.kind == 3 else kernel.P_VALVE
        return cls(rig, low, high, rest, travel, rest, float(panel[entry]), seed)

    @property
    def band(self) -> float:
        """Within it the loop is settled [m3]."""
        return float(self.rig.panel[kernel.P_SP_STEP])

    @property
    def drain_entry(self) -> str:
        """What is set on the panel to change the draw."""
        return "draw" if self.rig.params.drain.kind == 3 else "valve opening"


def _whole_scans(rig: Rig, seconds: float) -> float:
    """Give the next whole number of scans, as a time [s]."""
    return float(np.ceil(seconds / rig.scan) * rig.scan)


def at_rest(rig: Rig, volume: float, drain_setting: float) -> Rig:
    """Give the same rig, but starting at rest at a volume [m3], with its drain set so."""
    shown = units(rig.project)
    params = rig.params._replace(drain=rig.params.drain._replace(to_reservoir=True))  # topped up as it is drawn
    panel = rig.panel.copy()
    panel[kernel.P_SET_POINT] = volume
    panel[kernel.P_DRAW if rig.params.drain.kind == 3 else kernel.P_VALVE] = drain_setting
    panel[kernel.P_AUTO] = 1.0
    resting = replace(rig, panel=panel, params=params)
    output = operating_point(resting).output if draw_at(resting, volume) > 0 else 0.0
    start = replace(
        rig.project.start,
        tank_volume=Quantity(shown.show(volume, D.VOLUME), volume, shown.volume, D.VOLUME),
        output=Quantity(shown.show(output, D.PERCENT), output, "%", D.PERCENT),
        mode="auto",
        siphon_primed=True,
        running=True,
    )
    return replace(resting, project=replace(rig.project, start=start))


def _step(plan: _Plan, drain_setting: float, holding: float, progress: Progress | None) -> Response:
    """Run the set point step."""
    rig = at_rest(plan.rig, plan.low, drain_setting)
    until = plan.before + plan.travel + plan.rest
    action = Action(plan.before, "set point", plan.high)
    return Response(run(rig, until + holding, actions=(action,), seed=plan.seed, progress=progress), plan.before, until)


def _load(plan: _Plan, progress: Progress | None) -> Response:
    """Run the load step at the starting set point."""
    largest = plan.rig.project.duty.largest_draw.si
    now = draw_at(plan.rig, plan.low)
    begin = plan.draw_setting if now <= largest / 2 else _setting_for(plan, largest / 2)
    rig = at_rest(plan.rig, plan.low, begin)
    until = plan.before + plan.rest
    action = Action(plan.before, plan.drain_entry, _setting_for(plan, largest))
    return Response(run(rig, until, actions=(action,), seed=plan.seed, progress=progress), plan.before, until)


def _setting_for(plan: _Plan, draw: float) -> float:
    """Give the drain's setting for a draw [m3/s] at the low set point; wide open when the drain can't give so much."""
    if plan.rig.params.drain.kind == 3:
        return draw
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = (low + high) / 2
        panel = plan.rig.panel.copy()
        panel[kernel.P_VALVE] = middle
        low, high = (middle, high) if draw_at(replace(plan.rig, panel=panel), plan.low) < draw else (low, middle)
    return high


# --- what is read from it --------------------------------------------------------------------------------------------


def seen(response: Response) -> tuple[Floats, NDArray[np.float64]]:
    """Give time since the change [s] and the volume as the controller sees it without noise [m3]."""
    recording = response.recording
    last = recording["time"] >= recording["time"][-1] - (response.until - response.at) / 4
    offset = float(np.mean((recording["pv"] - recording["volume"])[last]))
    return recording["time"] - response.at, recording["volume"] + offset


def _figure(plan: _Plan, key: str, si: float, dimension: Dimension, formula: str, *, nought: str = "") -> Figure:
    show = units(plan.rig.project).show
    inputs = (
        ("from", show(plan.low, D.VOLUME)),
        ("to", show(plan.high, D.VOLUME)),
        ("band", show(plan.band, D.VOLUME)),
        ("seed", str(plan.seed)),
    )
    filled = "" if plan.rig.params.drain.to_reservoir else ", its reservoir kept topped up"
    words = f"{formula}; simulated on this rig{filled}, seed {plan.seed}"
    resolution = plan.rig.scan if dimension is D.TIME else plan.band / 100 if dimension is D.VOLUME else 0.0
    name = _NAMES[key]
    return Figure(f"predicted.{key}", name, si, dimension, words, inputs, "the rig's own run", resolution, nought)


_NAMES = {
    "rise": "rise time",
    "settling": "settling time",
    "overshoot": "overshoot",
    "hold": "holds within",
    "starts": "pump starts while holding",
    "travel": "output travel while holding",
    "load_deviation": "largest deviation after a load step",
    "recovery": "recovery after a load step",
    "stays": "overshoot that stays with the drain shut",
}


def _step_figures(plan: _Plan, step: Response) -> tuple[Figure, Figure, Figure]:
    """Give rise, settling and overshoot of the set point step."""
    time, volume = seen(step)
    after = time >= 0
    time, volume = time[after], volume[after]
    size = plan.high - plan.low
    rise = first_beyond(time, volume, plan.low + 0.9 * size) - first_beyond(time, volume, plan.low + 0.1 * size)
    settling = last_outside(time, volume, plan.high, plan.band)
    overshoot = max(float(np.max(volume)) - plan.high, 0.0)
    shown = [units(plan.rig.project).show(one, D.VOLUME, plan.band / 10) for one in (plan.low, plan.high)]
    return (
        _figure(plan, "rise", rise, D.TIME, f"from 10 % to 90 % of the step, {shown[0]} to {shown[1]}"),
        _figure(plan, "settling", settling, D.TIME, "until it stays within one entry step of the set point"),
        _figure(plan, "overshoot", overshoot, D.VOLUME, "highest volume less the new set point"),
    )


def _holding_figures(plan: _Plan, step: Response) -> tuple[Figure, Figure, Figure]:
    """Give how closely, with how many starts and with how much output travel the new set point is held."""
    time, volume = seen(step)
    last = time >= time[-1] - HOLDING
    seconds = float(time[last][-1] - time[last][0])
    running = step.recording.condition("pump running")[last]
    starts = int(np.count_nonzero(running[1:] & ~running[:-1]))
    travel = float(np.sum(np.abs(np.diff(step.recording["output"][last]))))
    apart = float(np.max(np.abs(volume[last] - plan.high)))
    over = f"over the last {HOLDING / 60:.0f} min"
    return (
        _figure(plan, "hold", apart, D.VOLUME, f"largest distance from the set point {over}"),
        _figure(plan, "starts", starts / seconds, D.START_RATE, f"starts counted {over}"),
        _figure(plan, "travel", travel / seconds, D.PERCENT_RATE, f"sum of all output changes {over}"),
    )


def _load_figures(plan: _Plan, load: Response) -> tuple[Figure, Figure]:
    """Give the largest deviation after the load step and how long it lasts."""
    time, volume = seen(load)
    after = time >= 0
    deviation = float(np.max(np.abs(volume[after] - plan.low)))
    recovery = last_outside(time[after], volume[after], plan.low, plan.band)
    drawn = _drawn(load)
    what = f"draw to {units(plan.rig.project).show(drawn, D.FLOW, drawn / 100)}"
    return (
        _figure(plan, "load_deviation", deviation, D.VOLUME, f"largest distance from the set point, {what}"),
        _figure(
            plan,
            "recovery",
            recovery,
            D.TIME,
            f"until it stays within one entry step; none is needed when it never leaves it, {what}",
            nought="none needed",
        ),
    )


def _drawn(load: Response) -> float:
    """Give the draw that the load step really reached [m3/s]."""
    return float(np.max(load.recording["drain_flow"][load.recording["time"] >= load.at]))


def _stays(plan: _Plan, shut: Response) -> Figure:
    """Give what is left above the set point at the end when nothing drains: the pump can't take it back."""
    time, volume = seen(shut)
    last = time >= time[-1] - plan.rest / 4
    left = float(np.mean(volume[last])) - plan.high
    return _figure(plan, "stays", left, D.VOLUME, "mean volume at the end less the new set point, drain shut")
