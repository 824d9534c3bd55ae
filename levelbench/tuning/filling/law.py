"""The learning cut-off: the pump at full output, cut ahead of the set point by a lead that each fill corrects.

    cut when PV ≥ SP − a;    then, when all has come to rest, a := min(max(a + 0.3·(PV − SP), 0), most)

What still runs in after the cut is what was pumped during the delay of the measurement and while the pump runs down:
F = Q·θ, so a fill ends at an error e = F − a. From fill to fill e' = (1 − 0.3)·e, whatever F is, as long as it stays
the same; so 0.7ⁿ of the first error is left after n fills. Errors by chance, w at the cut and m in the reading at rest,
don't add up: x' = 0.7·x − 0.3·(w + m) has the variance 0.3/(2 − 0.3)·(σw² + σm²), as any exponential average [2].

Sources:
[1] Balance of volume: what comes in during θ at the flow Q is Q·θ.
[2] S. W. Roberts, Technometrics 1 (1959) 239-250: variance λ/(2 − λ)·σ² of an exponential average (from memory).
"""

import math
from dataclasses import dataclass

from levelbench.project import units
from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure, Units, written
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.bench import Bench
from levelbench.rig.errors import RigError
from levelbench.tuning.loop import pump_at

D = Dimension

SHARE = 0.3  # of the last error that is learned (common practice, no source)
MOST = 0.1  # of the set point: a lead beyond it says that something is broken (common practice: 5 to 10 %)
BALANCE = "balance of volume"
GEOMETRIC = "closed form: each fill leaves (1 − 0.3) of the error before it"
_IN_FLIGHT = "Q·θ, θ = mean age of the readings + PV filter + half a scan + half of a rate limit's way down + spin-up"
_WAIT = "5·(PV filter + spin-up) + a rate limit's way down + readings averaged × update + 2 scans"
_TIME_CONSTANTS = 5.0  # waited for: 0.7 % of a lag is left


@dataclass(frozen=True)
class CutOff:
    """What is set in the controller: lead at first and at most [m3], wait and average at rest [s], share, output."""

    lead: float
    most: float
    wait: float
    average: float
    share: float = SHARE
    output: float = 1.0

    def learned(self, lead: float, error: float) -> float:
        """Give the next lead [m3] from the last one and from the error PV − SP at rest [m3].

        >>> round(CutOff(0.0, 1.0, 5.0, 5.0).learned(0.2, 0.1), 6)
        0.23
        """
        return min(max(lead + self.share * error, 0.0), self.most)


def full_output(rig: Rig) -> float:
    """Give the output at which is filled: the controller's high limit; an on/off pump is switched on."""
    return 1.0 if rig.params.pump.on_off else float(rig.panel[kernel.P_OUT_HIGH])


def full_flow(rig: Rig, volume: float) -> float:
    """Give the pump's flow [m3/s] at the output at which is filled, while the tank holds a volume [m3].

    Raises RigError when it gives none.
    """
    bench, pump, output = Bench(rig), rig.params.pump, full_output(rig)
    lift = max(pump.fill_end, rig.strapping.level_at(volume)) - bench.surface_with(volume)
    most = pump_at(pump, math.inf, lift)[0]
    if output >= 1.0:
        return most
    flow = bench.pump_flow(output, lift)
    if output < pump.starts_at or flow <= 0.0:
        raise RigError(
            "At the output's high limit the pump gives no flow against the lift to the set point.",
            "loop_settings.output_high",
            "Raise the output's high limit.",
        )
    return flow


def delay_to_stop(rig: Rig) -> float:
    """Give the time [s] by which the flow's end lags behind the moment when the true volume is where PV says it is.

    Mean age of the averaged readings, PV filter, half the time between two looks, half of what an output rate limit
    takes to bring the output down, and the pump's running down.
    """
    sensor = rig.params.sensor
    age = (sensor.averaging - 1) / 2 * sensor.update
    looks = max(sensor.update, rig.scan) / 2
    down = full_output(rig) / float(rig.panel[kernel.P_OUT_RATE]) / 2
    return age + float(rig.panel[kernel.P_PV_FILTER]) + looks + down + rig.params.pump.spin_up


def cut_off(rig: Rig, set_point: float) -> CutOff:
    """Give the cut-off for a set point [m3], its first lead worked out; raises RigError when the pump gives no flow."""
    sensor = rig.params.sensor
    lags = float(rig.panel[kernel.P_PV_FILTER]) + rig.params.pump.spin_up
    down = full_output(rig) / float(rig.panel[kernel.P_OUT_RATE])
    wait = _TIME_CONSTANTS * lags + down + sensor.averaging * sensor.update + 2 * rig.scan
    most = MOST * set_point
    in_flight = full_flow(rig, set_point) * delay_to_stop(rig)
    average = max(wait, 10 * sensor.averaging * sensor.update)
    return CutOff(min(in_flight, most), most, wait, average, output=full_output(rig))


def law_figures(rig: Rig, set_point: float, tolerance: float) -> tuple[Figure, ...]:
    """Give what is set in the controller, and how soon a cut at the set point [m3] is learned to a tolerance [m3]."""
    law, show = cut_off(rig, set_point), units(rig.project).show
    flow, delay = full_flow(rig, set_point), delay_to_stop(rig)
    in_flight = flow * delay
    step = in_flight / 100
    shown = (("Q, pump at full output", show(flow, D.FLOW)), ("θ", show(delay, D.TIME, 0.01)))
    fills = fills_to(in_flight, tolerance)
    return (
        Figure(
            "filling.in_flight", "runs in after the cut", in_flight, D.VOLUME,
            _IN_FLIGHT, shown, BALANCE, step,
        ),
        Figure(
            "filling.lead", "lead a at first", law.lead, D.VOLUME, "Q·θ, at most the largest lead", shown, BALANCE,
            step,
        ),
        Figure(
            "filling.most", "largest lead", law.most, D.VOLUME, "10 % of the set point",
            (("SP", show(set_point, D.VOLUME)),), COMMON_PRACTICE, law.most / 100,
        ),
        Figure(
            "filling.wait", "wait after the cut", law.wait, D.TIME,
            _WAIT, (), "definition of a time constant", 0.1,
        ),
        Figure(
            "filling.average", "then PV is averaged over", law.average, D.TIME,
            "as long as the wait, at least ten times the sensor's averaging", (), COMMON_PRACTICE, 0.1,
        ),
        Figure(
            "filling.fills", "fills from a cut at the set point", float(fills), D.NUMBER,
            "first n with Q·θ·0.7^(n − 1) within the tolerance",
            (*shown, ("tolerance", show(tolerance, D.VOLUME, tolerance / 10))), GEOMETRIC, 1.0,
        ),
    )  # fmt: skip


def fills_to(first: float, tolerance: float, share: float = SHARE) -> int:
    """Give the number of the fill that is the first within a tolerance [m3] when the first one is off by `first` [m3].

    >>> fills_to(0.058, 0.01)
    6
    """
    if abs(first) <= tolerance:
        return 1
    return 1 + math.ceil(math.log(tolerance / abs(first)) / math.log(1 - share) - 1e-12)


def equation(law: CutOff, shown_in: Units) -> tuple[str, str]:
    """Give the law as it is programmed: the cut, and what is learned from it."""
    step = max(law.most, 1e-9) / 1000
    most, wait = shown_in.show(law.most, D.VOLUME, step), shown_in.show(law.wait, D.TIME, 0.1)
    mean = shown_in.show(law.average, D.TIME, 0.1)
    lead = shown_in.show(law.lead, D.VOLUME, max(law.lead, 1e-9) / 100)
    return (
        f"OP = {shown_in.show(law.output, D.PERCENT, 0.01)} until PV ≥ SP − a, then 0 %; a = {lead} at first",
        f"{wait} after the cut: a := min(max(a + {written(law.share, 'g')}·(mean PV over {mean} − SP), 0), {most})",
    )
