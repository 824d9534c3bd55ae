"""What the person describes: one frozen record a section of the project file, each entry declared with its meaning.

A `Quantity` holds the text that was typed beside its SI value; an entry that may be left out is None when it is.
"""

from dataclasses import dataclass

from levelbench.project.fields import entry
from levelbench.quantity import Dimension, Quantity

D = Dimension

TANK_SHAPES = ("upright cylinder", "box", "lying cylinder", "cone bottom", "own table")
TANK_ENDS = ("flat", "dished", "elliptical", "hemispherical")
SENSOR_KINDS = ("ultrasonic", "radar", "hydrostatic", "plain 4-20 mA")
DRAIN_KINDS = ("bottom outlet", "siphon over the rim", "forced draw", "none")
VALVE_TRIMS = ("linear", "equal percentage", "quick opening")
GRAVITY = ("bottom outlet", "siphon over the rim")
DISTANCE_SENSORS = ("ultrasonic", "radar")


@dataclass(frozen=True)
class Display:
    """The units in which computed values are shown."""

    volume: str = entry("volumes in", "Unit of every computed volume.", choices=("US gal", "l", "imp gal", "m3"), default="US gal")
    length: str = entry("lengths in", "Unit of every computed height.", choices=("in", "mm", "cm", "ft", "m"), default="in")
    flow: str = entry("flows in", "Unit of every computed flow.", choices=("US gal/min", "l/min", "imp gal/min", "m3/h", "l/h"), default="US gal/min")


@dataclass(frozen=True)
class Liquid:
    """What is in the tank."""

    name: str = entry("liquid", "What the sheet calls it.", default="water")
    density: Quantity = entry("density", "At working temperature. Water at 20 °C: 998 kg/m3.", D.DENSITY, default="998.2 kg/m3", low=500, high=2500)
    viscosity: Quantity = entry("viscosity", "Dynamic viscosity; matters for the loss in tubes. Water at 20 °C: 1.00 mPa s.", D.VISCOSITY, default="1.002 mPa s", low=1e-4, high=1.0)


@dataclass(frozen=True)
class DeadWood:
    """A fitting that stands in the liquid and takes room from it (an upright rod or pipe)."""

    name: str = entry("fitting", "What it is: dip tube, heater, float guide.", required=True)
    diameter: Quantity = entry("diameter", "Outside diameter of the rod or pipe.", D.LENGTH, required=True, above=0)
    bottom: Quantity = entry("from", "Height of its lower end above the floor.", D.LENGTH, default="0 mm", low=0)
    top: Quantity = entry("to", "Height of its upper end above the floor.", D.LENGTH, required=True, above=0)


@dataclass(frozen=True)
class Tank:
    """The tank whose volume is held."""

    shape: str = entry("shape", "The form of the inside.", choices=TANK_SHAPES, required=True)
    diameter: Quantity | None = entry("inside diameter", "Measure at three heights and take the mean.", D.LENGTH, above=0, high=20, required=True, only_for=("shape", ("upright cylinder", "lying cylinder", "cone bottom")))
    length: Quantity | None = entry("inside length", "Box: the long side. Lying cylinder: the straight part between the ends.", D.LENGTH, above=0, high=50, required=True, only_for=("shape", ("box", "lying cylinder")))
    width: Quantity | None = entry("inside width", "Box: the short side.", D.LENGTH, above=0, high=50, required=True, only_for=("shape", ("box",)))
    height: Quantity | None = entry("inside height", "From the lowest point of the floor to the rim. A lying cylinder's rim is its top unless it is said here.", D.LENGTH, above=0, high=20, required=True, only_for=("shape", ("upright cylinder", "box", "cone bottom", "lying cylinder")))
    ends: str = entry("ends", "Flat; dished (torispherical, dish radius D, knuckle 0.06 D); elliptical 2:1; hemispherical.", choices=TANK_ENDS, default="flat", only_for=("shape", ("lying cylinder",)))
    cone_depth: Quantity | None = entry("cone depth", "From the tip of the cone to where the straight wall begins.", D.LENGTH, above=0, high=20, required=True, only_for=("shape", ("cone bottom",)))
    cone_tip: Quantity | None = entry("tip diameter", "Diameter of the flat at the tip, 0 for a point.", D.LENGTH, low=0, default="0 mm", only_for=("shape", ("cone bottom",)))
    table: tuple[tuple[Quantity, Quantity], ...] = entry("level and volume table", "Pairs of level and volume, rising: [\"0 in\", \"0 gal\"], …", only_for=("shape", ("own table",)), required=True)
    rim_to_spill: Quantity = entry("spill below the rim", "How far below the rim the lowest way out is (spout, notch, overflow pipe).", D.LENGTH, default="0 mm", low=0)
    dead_wood: tuple[DeadWood, ...] = entry("fittings in the liquid", "Rods and pipes that take room from the liquid.")


@dataclass(frozen=True)
class Reservoir:
    """Where the pump draws from and, in a closed circuit, where the drain returns to."""

    capacity: Quantity = entry("capacity", "Brim volume.", D.VOLUME, required=True, above=0)
    charge: Quantity = entry("charge of the circuit", "Everything in the circuit at the start: what is in the tank and in the reservoir together.", D.VOLUME, required=True, above=0)
    height: Quantity = entry("inside height", "Floor to brim, walls taken as upright.", D.LENGTH, required=True, above=0)
    floor_below_tank_floor: Quantity = entry("its floor below the tank's floor", "How far down its floor is; negative when it stands higher.", D.LENGTH, required=True, low=-20, high=20)
    suction_above_floor: Quantity = entry("suction above its floor", "Below this level the pump takes air.", D.LENGTH, default="0 mm", low=0)


@dataclass(frozen=True)
class Pump:
    """The pump that fills, its driver and its tube."""

    drive: str = entry("drive", "Variable speed takes 0-100 %; on/off is switched, time-proportioned.", choices=("variable speed", "on/off"), default="variable speed")
    largest_flow: Quantity = entry("largest flow", "At 100 %, measured into the tank (or from the curve at the lift below).", D.FLOW, required=True, above=0)
    measured_at_lift: Quantity | None = entry("measured at lift", "The lift at which the flows were measured; left out: as installed, reservoir at its starting level.", D.LENGTH, low=-20, high=100)
    shut_off_head: Quantity | None = entry("shut-off head", "Lift at which the pump at 100 % gives no flow; left out or off: the flow does not depend on the lift.", D.LENGTH, above=0, may_be_off=True)
    starts_moving_at: Quantity = entry("starts moving at", "Command at which the stopped pump begins to deliver.", D.PERCENT, default="0 %", low=0, high=0.95)
    stalls_at: Quantity | None = entry("stalls at", "Command at which the running pump stops; left out: where it starts.", D.PERCENT, low=0, high=0.95)
    slowest_flow: Quantity = entry("slowest steady flow", "Flow just before it stalls.", D.FLOW, default="0 l/min", low=0)
    spin_up: Quantity = entry("spin-up", "Time constant of the flow after the command (63 %).", D.TIME, default="0.5 s", low=0, high=60)
    wear: Quantity = entry("wear", "Share of the flow that is lost.", D.PERCENT, default="0 %", low=0, high=0.99)
    cycle: Quantity = entry("switching cycle", "On/off: length of one time-proportioning cycle.", D.TIME, default="10 s", above=0, only_for=("drive", ("on/off",)))
    least_on: Quantity = entry("least time on", "On/off: a shorter pulse is not given.", D.TIME, default="1 s", low=0, only_for=("drive", ("on/off",)))
    least_off: Quantity = entry("least time off", "On/off: a shorter pause is not made.", D.TIME, default="1 s", low=0, only_for=("drive", ("on/off",)))
    most_starts: Quantity | None = entry("most starts", "Starts per hour that the motor's maker allows.", D.REPEAT_RATE, above=0)
    fill_end_above_floor: Quantity | None = entry("fill end above the floor", "Where the tube lets go; left out: at the rim.", D.LENGTH, low=0)
    check_valve: bool = entry("check valve", "Stops back-flow when the pump stops.", default=False)
    vented: bool = entry("vent hole", "A hole near the top of the fill tube breaks a siphon.", default=False)
    stopped_coefficient: Quantity = entry("flow coefficient when stopped", "How easily liquid passes the stopped pump (Cv).", D.FLOW_COEFFICIENT, default="0.2 Cv", low=0)
    tube_volume: Quantity = entry("volume in the fill tube", "Drains back when the pump stops.", D.VOLUME, default="0 l", low=0)


@dataclass(frozen=True)
class Drain:
    """What takes liquid away."""

    kind: str = entry("kind", "How the liquid leaves.", choices=DRAIN_KINDS, required=True)
    valve_cv: Quantity = entry("valve, wide open", "Flow coefficient of the hand valve: 0.9 Cv or 0.8 Kv.", D.FLOW_COEFFICIENT, required=True, above=0, only_for=("kind", GRAVITY))
    opening: Quantity = entry("opening at the start", "Of the hand valve.", D.PERCENT, default="0 %", low=0, high=1, only_for=("kind", GRAVITY))
    trim: str = entry("valve characteristic", "Flow against opening at the same pressure.", choices=VALVE_TRIMS, default="linear", only_for=("kind", GRAVITY))
    rangeability: Quantity = entry("rangeability", "Equal percentage: largest over smallest controllable flow.", D.NUMBER, default="50", above=1, high=500, only_for=("kind", GRAVITY))
    inlet_above_floor: Quantity = entry("inlet above the floor", "Mouth of the siphon or centre of the outlet.", D.LENGTH, default="0 mm", low=0, only_for=("kind", GRAVITY))
    crest_above_floor: Quantity | None = entry("crest above the floor", "Siphon: its highest point.", D.LENGTH, required=True, above=0, only_for=("kind", ("siphon over the rim",)))
    outlet_above_floor: Quantity = entry("outlet above the tank's floor", "Where the tube ends; negative when below.", D.LENGTH, required=True, low=-20, high=20, only_for=("kind", GRAVITY))
    tube_diameter: Quantity = entry("tube bore", "Inside diameter of the drain tube.", D.LENGTH, required=True, above=0, high=1, only_for=("kind", GRAVITY))
    tube_length: Quantity = entry("tube length", "From inlet to outlet.", D.LENGTH, required=True, low=0, high=100, only_for=("kind", GRAVITY))
    fittings_loss: Quantity = entry("loss of bends and ends", "Sum of the loss coefficients K; entry 0.5, each bend about 0.3, exit counted apart.", D.NUMBER, default="1.5", low=0, only_for=("kind", GRAVITY))
    roughness: Quantity = entry("roughness", "Of the tube wall; plastic 0.0015 mm.", D.LENGTH, default="0.0015 mm", low=0, high=0.01, only_for=("kind", GRAVITY))
    draw: Quantity = entry("draw at the start", "The prescribed flow.", D.FLOW, default="0 l/min", low=0, only_for=("kind", ("forced draw",)))
    goes_to: str = entry("goes to", "Back to the reservoir (closed circuit), or away.", choices=("reservoir", "away"), default="reservoir")


@dataclass(frozen=True)
class Sensor:
    """The level sensor, its current loop and the converter that reads it."""

    kind: str = entry("kind", "How it measures.", choices=SENSOR_KINDS, required=True)
    face_above_floor: Quantity | None = entry("face above the floor", "Ultrasonic or radar: the face; hydrostatic: the diaphragm.", D.LENGTH, required=True, low=0, only_for=("kind", ("ultrasonic", "radar", "hydrostatic")))
    near_dead_zone: Quantity = entry("near dead zone", "Closer to the face than this nothing is measured.", D.LENGTH, default="0 mm", low=0, only_for=("kind", DISTANCE_SENSORS))
    in_dead_zone: str = entry("inside the dead zone", "What it reports there: twice the distance (second echo), its last good value, or failure.", choices=("second echo", "last good", "failure"), default="second echo", only_for=("kind", DISTANCE_SENSORS))
    signal_span: tuple[Quantity, Quantity] = entry("at 4 mA and at 20 mA", "Ultrasonic, radar: distance from the face. Others: level above the floor.", D.LENGTH, required=True, low=0, count=2)
    update: Quantity = entry("update", "Time from one reading to the next.", D.TIME, default="0.1 s", above=0, high=60)
    averaging: int = entry("averaging", "Readings in its moving average.", default=1, low=1, high=1000)
    noise: Quantity = entry("noise", "Standard deviation of one reading on still liquid.", D.LENGTH, default="0 mm", low=0)
    ripple: Quantity = entry("ripple while filling", "Standard deviation added at full pump flow by the moving surface.", D.LENGTH, default="0 mm", low=0)
    resolution: Quantity = entry("resolution", "Smallest step of its reading.", D.LENGTH, default="0 mm", low=0)
    air_temperature: Quantity = entry("air in the tank", "Temperature of the air that the sound crosses.", D.TEMPERATURE, default="20 degC", low=233.15, high=373.15, only_for=("kind", ("ultrasonic",)))
    set_for_temperature: Quantity = entry("set for air at", "Temperature for which its reading is right.", D.TEMPERATURE, default="20 degC", low=233.15, high=373.15, only_for=("kind", ("ultrasonic",)))
    set_for_density: Quantity | None = entry("set for density", "Density for which its reading is right; left out: that of the liquid.", D.DENSITY, low=500, high=2500, only_for=("kind", ("hydrostatic",)))
    hold_lost_echo: Quantity = entry("holds a lost echo", "Keeps its last good value so long, then goes to the failure current.", D.TIME, default="2 s", low=0, only_for=("kind", DISTANCE_SENSORS))
    fails: str = entry("failure current", "Which way its current goes when it fails.", choices=("low", "high"), default="low")
    measures_within: tuple[Quantity, Quantity] = entry("measures within", "Limits of the measuring signal (NAMUR NE 43; editions differ).", D.CURRENT, default="3.8 mA, 20.5 mA", count=2)
    fails_beyond: tuple[Quantity, Quantity] = entry("means failure beyond", "At or beyond these the signal means failure (NAMUR NE 43; editions differ).", D.CURRENT, default="3.6 mA, 21.0 mA", count=2)
    failure_delay: Quantity = entry("failure seen after", "The controller waits so long before it believes a failure signal.", D.TIME, default="1 s", low=0)
    converter_bits: int = entry("converter", "Bits of the analog input.", default=14, low=8, high=24)
    converter_range: tuple[Quantity, Quantity] = entry("converter range", "Currents at its lowest and highest count.", D.CURRENT, default="0 mA, 24 mA", count=2)
    scaled_by: str = entry("volume from", "The tank's table, or a straight line between two points.", choices=("tank table", "two points"), default="tank table")
    volume_at_ends: tuple[Quantity, Quantity] | None = entry("volume at 4 mA and at 20 mA", "Two-point scaling as typed into the controller.", D.VOLUME, required=True, count=2, only_for=("scaled_by", ("two points",)))


@dataclass(frozen=True)
class OverflowSwitch:
    """The float or probe that stops the pump by hard wiring."""

    fitted: bool = entry("fitted", "A rig without one relies on people alone.", default=True)
    trips_at: Quantity | None = entry("trips at", "Level at which it opens.", D.LENGTH, required=True, above=0, only_for=("fitted", ("true",)))
    hysteresis: Quantity = entry("hysteresis", "It closes again so far below.", D.LENGTH, default="5 mm", low=0)
    delay: Quantity = entry("delay", "Time at the level before it opens.", D.TIME, default="0 s", low=0, high=60)


@dataclass(frozen=True)
class LoopSettings:
    """The controller, as typed into it."""

    scan: Quantity = entry("scan", "Time from one run of the control program to the next.", D.TIME, default="100 ms", above=0.001, high=60)
    form: str = entry("form", "Which equation the controller computes.", choices=("standard", "parallel", "series"), default="standard")
    action: str = entry("action", "Reverse: output falls when the volume rises (filling). Direct: the other way.", choices=("reverse", "direct"), default="reverse")
    gain: Quantity | None = entry("gain", "6.0 (% per % of span) or 750 %/US gal. Or give a proportional band instead.", D.GAIN, above=0)
    proportional_band: Quantity | None = entry("proportional band", "100 % divided by the gain.", D.PERCENT, above=0)
    integral: Quantity | None = entry("integral", "Standard and series: a time (1.8 min) or a rate (0.56 repeats/min). Parallel: a rate, gain per time (3.3 1/min). Or off.", D.TIME, may_be_off=True, required=True, above=0)
    derivative: Quantity = entry("derivative", "Standard and series: a time. Parallel: gain × time.", D.TIME, default="0 s", low=0)
    derivative_filter: Quantity = entry("derivative filter N", "The derivative is smoothed with Td/N; acts on PV only.", D.NUMBER, default="8", low=1, high=100)
    set_point_weight: Quantity = entry("set point weight", "Share of a set point change that the gain sees at once, 0 to 1.", D.NUMBER, default="1", low=0, high=1)
    pv_filter: Quantity = entry("PV filter", "Time constant.", D.TIME, default="0 s", low=0)
    integral_dead_band: Quantity = entry("integral dead band", "No integration while the error is smaller.", D.VOLUME, default="0 l", low=0)
    output_low: Quantity = entry("output low limit", "", D.PERCENT, default="0 %", low=0, high=1)
    output_high: Quantity = entry("output high limit", "", D.PERCENT, default="100 %", low=0, high=1)
    output_rate: Quantity | None = entry("output rate limit", "Fastest change of the output.", D.PERCENT_RATE, default="off", may_be_off=True, above=0)
    set_point_low: Quantity = entry("set point, lowest", "The operator can't enter less.", D.VOLUME, required=True, low=0)
    set_point_high: Quantity = entry("set point, highest", "The operator can't enter more.", D.VOLUME, required=True, above=0)
    entry_step: Quantity = entry("entry step", "Set points are rounded to it.", D.VOLUME, required=True, above=0)
    ramp: Quantity | None = entry("set point ramp", "Fastest change of the working set point.", D.FLOW, default="off", may_be_off=True, above=0)


@dataclass(frozen=True)
class Band:
    """One limit on the volume."""

    limit: Quantity = entry("limit", "Volume at which it comes (deviation: distance from the set point).", D.VOLUME, required=True, above=0)
    dead_band: Quantity = entry("dead band", "It goes again so far on the safe side.", D.VOLUME, default="0 l", low=0)
    on_delay: Quantity = entry("on-delay", "Time beyond the limit before it comes.", D.TIME, default="0 s", low=0)
    off_delay: Quantity = entry("off-delay", "Time on the safe side before it goes.", D.TIME, default="0 s", low=0)
    priority: str = entry("priority", "", choices=("high", "medium", "low"), default="medium")


@dataclass(frozen=True)
class Bands:
    """The limits from which the status word, the lamps and the horn come; each may be left out."""

    high_high: Band | None = entry("high-high", "Near the switch.")
    high: Band | None = entry("high", "Status word HIGH.")
    low: Band | None = entry("low", "Status word LOW.")
    low_low: Band | None = entry("low-low", "Near the drain's inlet.")
    deviation: Band | None = entry("deviation", "PV away from SP.")


LAMP_STATES = ("stop pressed", "switch tripped", "sensor failed", "waiting for start", "high-high", "high", "low", "low-low", "deviation", "manual", "normal")
LAMP_COLOURS = ("red", "yellow", "green", "blue")
LAMP_MODES = ("off", "steady", "flashing")


@dataclass(frozen=True)
class LampRow:
    """What the stack light and the horn do in one state; rows that hold at once add up, flashing over steady."""

    state: str = entry("state", "", choices=LAMP_STATES, required=True)
    red: str = entry("red", "Emergency: act at once (IEC 60073).", choices=LAMP_MODES, default="off")
    yellow: str = entry("yellow", "Abnormal: watch or step in (IEC 60073).", choices=LAMP_MODES, default="off")
    green: str = entry("green", "Normal (IEC 60073).", choices=LAMP_MODES, default="off")
    blue: str = entry("blue", "Somebody must act, for example reset or start (IEC 60073).", choices=LAMP_MODES, default="off")
    horn: bool = entry("horn", "Sounds until silenced.", default=False)


@dataclass(frozen=True)
class Start:
    """How a run begins."""

    tank_volume: Quantity = entry("in the tank", "", D.VOLUME, required=True, low=0)
    set_point: Quantity = entry("set point", "", D.VOLUME, required=True, above=0)
    mode: str = entry("mode", "", choices=("auto", "manual"), default="auto")
    output: Quantity = entry("output in manual", "", D.PERCENT, default="0 %", low=0, high=1)
    siphon_primed: bool = entry("siphon primed", "", default=True)
    running: bool = entry("power on and started", "Off: the run begins as after a power return, waiting for the start button.", default=True)


@dataclass(frozen=True)
class Duty:
    """What is asked of the rig."""

    largest_draw: Quantity = entry("largest draw", "The most that the users take at once.", D.FLOW, required=True, low=0)
    time_to_act: Quantity = entry("time to act", "What an operator is given between an alarm and its consequence.", D.TIME, default="5 min", low=0)
    air_swing: Quantity = entry("swing of the air temperature", "How far the air under the lid moves from what the sensor is set for, as a difference: 5 K or 10 delta degF.", D.TEMPERATURE_DIFFERENCE, default="5 K", low=0, high=80)


@dataclass(frozen=True)
class SheetHead:
    """What the head of every sheet says."""

    customer: str = entry("customer", "", default="")
    site: str = entry("site", "", default="")
    document: str = entry("document number", "", default="")
    revision: str = entry("revision", "", default="0")
    status: str = entry("status", "", choices=("preliminary", "for construction", "as built"), default="preliminary")
    prepared: str = entry("prepared by", "", default="")
    checked: str = entry("checked by", "", default="")
    approved: str = entry("approved by", "", default="")
    paper: str = entry("paper", "", choices=("A4", "Letter"), default="A4")


@dataclass(frozen=True)
class Project:
    """A whole project file: every section, and the very text it was read from."""

    title: str
    loop: str  # loop number: "310"
    first_letter: str  # ISA-5.1 first letter of the loop: L, unless the person declares a letter of their own
    first_letter_means: str
    display: Display
    liquid: Liquid
    tank: Tank
    reservoir: Reservoir
    pump: Pump
    drain: Drain
    sensor: Sensor
    overflow_switch: OverflowSwitch
    loop_settings: LoopSettings
    bands: Bands
    stack_light: tuple[LampRow, ...]
    start: Start
    duty: Duty
    sheet: SheetHead
    text: str  # the TOML text, comments and all; editing goes through `levelbench.project.edit`
