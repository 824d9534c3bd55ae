"""Sections of the project file about what moves the liquid: pump and drain."""

from dataclasses import dataclass

from levelbench.project.fields import entry
from levelbench.quantity import Dimension, Quantity

D = Dimension

DRAIN_KINDS = ("bottom outlet", "siphon over the rim", "forced draw", "none")
VALVE_TRIMS = ("linear", "equal percentage", "quick opening")
GRAVITY = ("bottom outlet", "siphon over the rim")


@dataclass(frozen=True)
class Pump:
    """The pump that fills, its driver and its tube."""

    drive: str = entry(
        "drive",
        "Variable speed takes 0-100 %; on/off is switched, time-proportioned.",
        choices=("variable speed", "on/off"),
        default="variable speed",
    )
    largest_flow: Quantity = entry(
        "largest flow",
        "At 100 %, measured into the tank (or from the curve at the lift below).",
        D.FLOW,
        required=True,
        above=0,
    )
    measured_at_lift: Quantity | None = entry(
        "measured at lift",
        "The lift at which the flows were measured; left out: as installed, reservoir at its starting level.",
        D.LENGTH,
        low=-20,
        high=100,
    )
    shut_off_head: Quantity | None = entry(
        "shut-off head",
        "Lift at which the pump at 100 % gives no flow; left out or off: the flow does not depend on the lift.",
        D.LENGTH,
        above=0,
        may_be_off=True,
    )
    starts_moving_at: Quantity = entry(
        "starts moving at",
        "Command at which the stopped pump begins to deliver.",
        D.PERCENT,
        default="0 %",
        low=0,
        high=0.95,
    )
    stalls_at: Quantity | None = entry(
        "stalls at", "Command at which the running pump stops; left out: where it starts.", D.PERCENT, low=0, high=0.95
    )
    slowest_flow: Quantity = entry(
        "slowest steady flow", "Flow just before it stalls (turndown).", D.FLOW, default="0 l/min", low=0
    )
    spin_up: Quantity = entry(
        "spin-up", "Time constant of the flow after the command (63 %).", D.TIME, default="0.5 s", low=0, high=60
    )
    wear: Quantity = entry(
        "wear", "Share of the flow that is lost with age; 0 % is new.", D.PERCENT, default="0 %", low=0, high=0.99
    )
    cycle: Quantity = entry(
        "switching cycle",
        "On/off: length of one time-proportioning cycle.",
        D.TIME,
        default="10 s",
        above=0,
        only_for=("drive", ("on/off",)),
    )
    least_on: Quantity = entry(
        "least time on",
        "On/off: a shorter pulse is not given.",
        D.TIME,
        default="1 s",
        low=0,
        only_for=("drive", ("on/off",)),
    )
    least_off: Quantity = entry(
        "least time off",
        "On/off: a shorter pause is not made.",
        D.TIME,
        default="1 s",
        low=0,
        only_for=("drive", ("on/off",)),
    )
    most_starts: Quantity | None = entry(
        "most starts", "Starts per hour that the motor's maker allows.", D.START_RATE, above=0
    )
    fill_end_above_floor: Quantity | None = entry(
        "fill end above the floor", "Where the tube lets go; left out: at the rim.", D.LENGTH, low=0
    )
    check_valve: bool = entry(
        "check valve",
        "A valve in the fill tube that stops back-flow when the pump stops (non-return valve).",
        default=False,
    )
    vented: bool = entry("vent hole", "A hole near the top of the fill tube breaks a siphon.", default=False)
    stopped_coefficient: Quantity = entry(
        "flow coefficient when stopped",
        "How easily liquid passes the stopped pump (Cv).",
        D.FLOW_COEFFICIENT,
        default="0.2 Cv",
        low=0,
    )
    tube_volume: Quantity = entry(
        "volume in the fill tube", "Drains back when the pump stops.", D.VOLUME, default="0 l", low=0
    )


@dataclass(frozen=True)
class Drain:
    """What takes liquid away."""

    kind: str = entry("kind", "How the liquid leaves.", choices=DRAIN_KINDS, required=True)
    valve_cv: Quantity | None = entry(
        "valve, wide open",
        "Flow coefficient of the hand valve: 0.9 Cv or 0.8 Kv.",
        D.FLOW_COEFFICIENT,
        required=True,
        above=0,
        only_for=("kind", GRAVITY),
    )
    opening: Quantity = entry(
        "opening at the start",
        "How far the hand valve is open when the run begins.",
        D.PERCENT,
        default="0 %",
        low=0,
        high=1,
        only_for=("kind", GRAVITY),
    )
    trim: str = entry(
        "valve characteristic",
        "Flow against opening at the same pressure.",
        choices=VALVE_TRIMS,
        default="linear",
        only_for=("kind", GRAVITY),
    )
    rangeability: Quantity = entry(
        "rangeability",
        "Equal percentage: largest over smallest controllable flow.",
        D.NUMBER,
        default="50",
        above=1,
        high=500,
        only_for=("kind", GRAVITY),
    )
    inlet_above_floor: Quantity = entry(
        "inlet above the floor",
        "Mouth of the siphon or centre of the outlet.",
        D.LENGTH,
        default="0 mm",
        low=0,
        only_for=("kind", GRAVITY),
    )
    crest_above_floor: Quantity | None = entry(
        "crest above the floor",
        "Siphon: its highest point.",
        D.LENGTH,
        required=True,
        above=0,
        only_for=("kind", ("siphon over the rim",)),
    )
    outlet_above_floor: Quantity | None = entry(
        "outlet above the tank's floor",
        "Where the tube ends; negative when below.",
        D.LENGTH,
        required=True,
        low=-20,
        high=20,
        only_for=("kind", GRAVITY),
    )
    tube_diameter: Quantity | None = entry(
        "tube bore",
        "Inside diameter of the drain tube.",
        D.LENGTH,
        required=True,
        above=0,
        high=1,
        only_for=("kind", GRAVITY),
    )
    tube_length: Quantity | None = entry(
        "tube length",
        "Along the tube, from inlet to outlet.",
        D.LENGTH,
        required=True,
        low=0,
        high=100,
        only_for=("kind", GRAVITY),
    )
    fittings_loss: Quantity = entry(
        "loss of bends and ends",
        "Sum of the loss coefficients K; entry 0.5, each bend about 0.3, exit counted apart.",
        D.NUMBER,
        default="1.5",
        low=0,
        only_for=("kind", GRAVITY),
    )
    roughness: Quantity = entry(
        "roughness",
        "Roughness of the tube's wall; smooth plastic: 0.0015 mm.",
        D.LENGTH,
        default="0.0015 mm",
        low=0,
        high=0.01,
        only_for=("kind", GRAVITY),
    )
    draw: Quantity = entry(
        "draw at the start",
        "The prescribed flow.",
        D.FLOW,
        default="0 l/min",
        low=0,
        only_for=("kind", ("forced draw",)),
    )
    goes_to: str = entry(
        "goes to",
        "Back to the reservoir (closed circuit), or away.",
        choices=("reservoir", "away"),
        default="reservoir",
    )
