"""Sections of the project file about the liquid and what holds it: units, liquid, tank, reservoir."""

from dataclasses import dataclass

from levelbench.project.fields import entry
from levelbench.quantity import Dimension, Quantity

D = Dimension

TANK_SHAPES = ("upright cylinder", "box", "lying cylinder", "cone bottom", "own table")
TANK_ENDS = ("flat", "dished", "elliptical", "hemispherical")


@dataclass(frozen=True)
class Display:
    """The units in which computed values are shown."""

    volume: str = entry(
        "volumes in", "Unit of every computed volume.", choices=("US gal", "l", "imp gal", "m3"), default="US gal"
    )
    length: str = entry(
        "lengths in", "Unit of every computed height.", choices=("in", "mm", "cm", "ft", "m"), default="in"
    )
    flow: str = entry(
        "flows in",
        "Unit of every computed flow.",
        choices=("US gal/min", "l/min", "imp gal/min", "m3/h", "l/h"),
        default="US gal/min",
    )


@dataclass(frozen=True)
class Liquid:
    """What is in the tank."""

    name: str = entry("liquid", "What the sheet calls it.", default="water")
    density: Quantity = entry(
        "density",
        "At working temperature. Water at 20 °C: 998 kg/m3.",
        D.DENSITY,
        default="998.2 kg/m3",
        low=500,
        high=2500,
    )
    viscosity: Quantity = entry(
        "viscosity",
        "Dynamic viscosity; matters for the loss in tubes. Water at 20 °C: 1.00 mPa s.",
        D.VISCOSITY,
        default="1.002 mPa s",
        low=1e-4,
        high=1.0,
    )


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

    shape: str = entry(
        "shape",
        "The form of the inside; “own table” takes any, as pairs of level and volume.",
        choices=TANK_SHAPES,
        required=True,
    )
    diameter: Quantity | None = entry(
        "inside diameter",
        "Measure at three heights and take the mean.",
        D.LENGTH,
        above=0,
        high=20,
        required=True,
        only_for=("shape", ("upright cylinder", "lying cylinder", "cone bottom")),
    )
    length: Quantity | None = entry(
        "inside length",
        "Box: the long side. Lying cylinder: the straight part between the ends.",
        D.LENGTH,
        above=0,
        high=50,
        required=True,
        only_for=("shape", ("box", "lying cylinder")),
    )
    width: Quantity | None = entry(
        "inside width", "Box: the short side.", D.LENGTH, above=0, high=50, required=True, only_for=("shape", ("box",))
    )
    height: Quantity | None = entry(
        "inside height",
        "From the lowest point of the floor to the rim. A lying cylinder's rim is its top unless it is said here.",
        D.LENGTH,
        above=0,
        high=20,
        required=True,
        only_for=("shape", ("upright cylinder", "box", "cone bottom", "lying cylinder")),
        optional_for=("lying cylinder",),
    )
    ends: str = entry(
        "ends",
        "Flat; dished (torispherical, dish radius D, knuckle 0.06 D); elliptical 2:1; hemispherical.",
        choices=TANK_ENDS,
        default="flat",
        only_for=("shape", ("lying cylinder",)),
    )
    cone_depth: Quantity | None = entry(
        "cone depth",
        "From the tip of the cone to where the straight wall begins.",
        D.LENGTH,
        above=0,
        high=20,
        required=True,
        only_for=("shape", ("cone bottom",)),
    )
    cone_tip: Quantity | None = entry(
        "tip diameter",
        "Diameter of the flat at the tip, 0 for a point.",
        D.LENGTH,
        low=0,
        default="0 mm",
        only_for=("shape", ("cone bottom",)),
    )
    table: tuple[tuple[Quantity, Quantity], ...] = entry(
        "level and volume table",
        'Pairs of level and volume, rising: ["0 in", "0 gal"], …',
        only_for=("shape", ("own table",)),
        required=True,
    )
    rim_to_spill: Quantity = entry(
        "spill below the rim",
        "How far below the rim the lowest way out is (spout, notch, overflow pipe).",
        D.LENGTH,
        default="0 mm",
        low=0,
    )
    leak: Quantity = entry(
        "leak",
        "What the floor, a weld or a shut valve lets out for good, at the level below. A fitted record tells it.",
        D.FLOW,
        default="0 l/min",
        low=0,
    )
    leak_at: Quantity | None = entry(
        "leak measured at",
        "Level above the floor at which the leak was measured; left out: full to the spill. "
        "At others it goes as the square root of the level.",
        D.LENGTH,
        above=0,
        high=20,
    )
    dead_wood: tuple[DeadWood, ...] = entry(
        "fittings in the liquid", "Rods and pipes that take room from the liquid.", default=()
    )


@dataclass(frozen=True)
class Reservoir:
    """Where the pump draws from and, in a closed circuit, where the drain returns to."""

    capacity: Quantity = entry("capacity", "Volume up to its brim.", D.VOLUME, required=True, above=0)
    charge: Quantity = entry(
        "charge of the circuit",
        "Everything in the circuit at the start: what is in the tank and in the reservoir together.",
        D.VOLUME,
        required=True,
        above=0,
    )
    height: Quantity = entry(
        "inside height", "Floor to brim, walls taken as upright.", D.LENGTH, required=True, above=0
    )
    floor_below_tank_floor: Quantity = entry(
        "its floor below the tank's floor",
        "How far down its floor is; negative when it stands higher.",
        D.LENGTH,
        required=True,
        low=-20,
        high=20,
    )
    suction_above_floor: Quantity = entry(
        "suction above its floor", "Below this level the pump takes air.", D.LENGTH, default="0 mm", low=0
    )
