"""Sections of the project file about what measures: level sensor and overflow switch."""

from dataclasses import dataclass

from levelbench.project.fields import entry
from levelbench.quantity import Dimension, Quantity

D = Dimension

SENSOR_KINDS = ("ultrasonic", "radar", "hydrostatic", "plain 4-20 mA")
DISTANCE_SENSORS = ("ultrasonic", "radar")


@dataclass(frozen=True)
class Sensor:
    """The level sensor, its current loop and the converter that reads it."""

    kind: str = entry(
        "kind",
        "Ultrasonic, radar: a distance from above. Hydrostatic: a pressure. Plain 4-20 mA: a level from elsewhere.",
        choices=SENSOR_KINDS,
        required=True,
    )
    face_above_floor: Quantity | None = entry(
        "face above the floor",
        "Ultrasonic or radar: the face; hydrostatic: the diaphragm. Measured from the tank's floor.",
        D.LENGTH,
        required=True,
        low=0,
        only_for=("kind", ("ultrasonic", "radar", "hydrostatic")),
    )
    near_dead_zone: Quantity = entry(
        "near dead zone",
        "Closer to the face than this nothing is measured.",
        D.LENGTH,
        default="0 mm",
        low=0,
        only_for=("kind", DISTANCE_SENSORS),
    )
    in_dead_zone: str = entry(
        "inside the dead zone",
        "What it reports there: twice the distance (second echo), its last good value, or failure.",
        choices=("second echo", "last good", "failure"),
        default="second echo",
        only_for=("kind", DISTANCE_SENSORS),
    )
    signal_span: tuple[Quantity, Quantity] = entry(
        "at 4 mA and at 20 mA",
        "Ultrasonic, radar: distance from the face. Others: level above the floor.",
        D.LENGTH,
        required=True,
        low=0,
        count=2,
    )
    update: Quantity = entry("update", "Time from one reading to the next.", D.TIME, default="0.1 s", above=0, high=60)
    averaging: int = entry("readings averaged", "Readings in its moving average.", default=1, low=1, high=1000)
    noise: Quantity = entry(
        "noise", "Standard deviation of one reading on still liquid.", D.LENGTH, default="0 mm", low=0
    )
    ripple: Quantity = entry(
        "ripple while filling",
        "Standard deviation added at full pump flow by the moving surface.",
        D.LENGTH,
        default="0 mm",
        low=0,
    )
    resolution: Quantity = entry(
        "resolution", "Smallest step of its reading; 0: none to be seen.", D.LENGTH, default="0 mm", low=0
    )
    air_temperature: Quantity = entry(
        "air in the tank",
        "Temperature of the air that the sound crosses.",
        D.TEMPERATURE,
        default="20 degC",
        low=233.15,
        high=373.15,
        only_for=("kind", ("ultrasonic",)),
    )
    set_for_temperature: Quantity = entry(
        "set for air at",
        "Temperature for which its reading is right.",
        D.TEMPERATURE,
        default="20 degC",
        low=233.15,
        high=373.15,
        only_for=("kind", ("ultrasonic",)),
    )
    set_for_density: Quantity | None = entry(
        "set for density",
        "Density for which its reading is right; left out: that of the liquid.",
        D.DENSITY,
        low=500,
        high=2500,
        only_for=("kind", ("hydrostatic",)),
    )
    zero_error: Quantity = entry(
        "zero error",
        "It reads so much too high at every level; negative: too low. Told by a dip stick, or by a fitted record.",
        D.LENGTH,
        default="0 mm",
        low=-1,
        high=1,
    )
    span_error: Quantity = entry(
        "span error",
        "It measures so much too much of each distance (ultrasonic, radar) or height (others); negative: too little.",
        D.PERCENT,
        default="0 %",
        low=-0.3,
        high=0.3,
    )
    hold_lost_echo: Quantity = entry(
        "holds a lost echo",
        "Keeps its last good value so long, then goes to the failure current.",
        D.TIME,
        default="2 s",
        low=0,
        only_for=("kind", DISTANCE_SENSORS),
    )
    fails: str = entry(
        "failure current", "Which way its current goes when it fails.", choices=("low", "high"), default="low"
    )
    measures_within: tuple[Quantity, Quantity] = entry(
        "measures within",
        "Limits of the measuring signal (NAMUR NE 43; editions differ).",
        D.CURRENT,
        default=("3.8 mA", "20.5 mA"),
        count=2,
    )
    fails_beyond: tuple[Quantity, Quantity] = entry(
        "means failure beyond",
        "At or beyond these the signal means failure (NAMUR NE 43; editions differ).",
        D.CURRENT,
        default=("3.6 mA", "21.0 mA"),
        count=2,
    )
    failure_delay: Quantity = entry(
        "failure seen after",
        "The controller waits so long before it believes a failure signal.",
        D.TIME,
        default="1 s",
        low=0,
    )
    converter_bits: int = entry("converter bits", "Bits of the analog input.", default=14, low=8, high=24)
    converter_range: tuple[Quantity, Quantity] = entry(
        "converter range", "Currents at its lowest and highest count.", D.CURRENT, default=("0 mA", "24 mA"), count=2
    )
    scaled_by: str = entry(
        "volume from",
        "The tank's table, or a straight line between two points.",
        choices=("tank table", "two points"),
        default="tank table",
    )
    volume_at_ends: tuple[Quantity, Quantity] | None = entry(
        "volume at 4 mA and at 20 mA",
        "Two-point scaling as typed into the controller.",
        D.VOLUME,
        required=True,
        count=2,
        only_for=("scaled_by", ("two points",)),
    )


@dataclass(frozen=True)
class OverflowSwitch:
    """The float or probe that stops the pump by hard wiring."""

    fitted: bool = entry(
        "fitted", "Whether there is a hard-wired one; a rig without relies on people alone.", default=True
    )
    trips_at: Quantity | None = entry(
        "trips at",
        "Level at which it opens and stops the pump (trip point).",
        D.LENGTH,
        required=True,
        above=0,
        only_for=("fitted", ("true",)),
    )
    hysteresis: Quantity = entry("hysteresis", "It closes again so far below.", D.LENGTH, default="5 mm", low=0)
    delay: Quantity = entry("delay", "Time at the level before it opens.", D.TIME, default="0 s", low=0, high=60)
