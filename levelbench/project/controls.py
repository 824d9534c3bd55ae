"""Section of the project file about the controller."""

from dataclasses import dataclass

from levelbench.project.fields import entry
from levelbench.quantity import Dimension, Quantity

D = Dimension


@dataclass(frozen=True)
class LoopSettings:
    """The controller, as typed into it."""

    scan: Quantity = entry(
        "scan",
        "Time from one run of the control program to the next (scan time).",
        D.TIME,
        default="100 ms",
        above=0.001,
        high=60,
    )
    form: str = entry(
        "form",
        "Which equation the controller computes.",
        choices=("standard", "parallel", "series"),
        default="standard",
    )
    action: str = entry(
        "action",
        "Reverse: output falls when the volume rises, as a pump that fills needs it. Direct: the other way.",
        choices=("reverse", "direct"),
        default="reverse",
    )
    gain: Quantity | None = entry(
        "gain", "6.0 (% per % of span) or 750 %/US gal. Or give a proportional band instead.", D.GAIN, above=0
    )
    proportional_band: Quantity | None = entry("proportional band", "100 % divided by the gain.", D.PERCENT, above=0)
    integral: Quantity | None = entry(
        "integral",
        "Standard and series: a time (1.8 min) or a rate (0.56 repeats/min). "
        "Parallel: a rate, gain per time (3.3 1/min). Or off.",
        D.TIME,
        also=D.REPEAT_RATE,
        may_be_off=True,
        required=True,
        above=0,
    )
    derivative: Quantity = entry(
        "derivative",
        "Standard and series: a time (rate time). Parallel: gain × time. 0 switches it off.",
        D.TIME,
        default="0 s",
        low=0,
    )
    derivative_filter: Quantity = entry(
        "derivative filter N",
        "The derivative is smoothed with Td/N; acts on PV only.",
        D.NUMBER,
        default="8",
        low=1,
        high=100,
    )
    set_point_weight: Quantity = entry(
        "set point weight",
        "Share of a set point change that the gain sees at once, 0 to 1.",
        D.NUMBER,
        default="1",
        low=0,
        high=1,
    )
    pv_filter: Quantity = entry(
        "PV filter",
        "Time constant of the smoothing of the measured volume; it delays by as much.",
        D.TIME,
        default="0 s",
        low=0,
    )
    integral_dead_band: Quantity = entry(
        "integral dead band", "No integration while the error is smaller.", D.VOLUME, default="0 l", low=0
    )
    output_low: Quantity = entry(
        "output low limit", "The output never goes below it in automatic.", D.PERCENT, default="0 %", low=0, high=1
    )
    output_high: Quantity = entry(
        "output high limit", "The output never goes above it in automatic.", D.PERCENT, default="100 %", low=0, high=1
    )
    output_rate: Quantity | None = entry(
        "output rate limit",
        "Fastest change of the output, also in manual.",
        D.PERCENT_RATE,
        default="off",
        may_be_off=True,
        above=0,
    )
    set_point_low: Quantity = entry(
        "set point, lowest", "The operator can't enter less.", D.VOLUME, required=True, low=0
    )
    set_point_high: Quantity = entry(
        "set point, highest", "The operator can't enter more.", D.VOLUME, required=True, above=0
    )
    entry_step: Quantity = entry("entry step", "Set points are rounded to it.", D.VOLUME, required=True, above=0)
    ramp: Quantity | None = entry(
        "set point ramp", "Fastest change of the working set point.", D.FLOW, default="off", may_be_off=True, above=0
    )
