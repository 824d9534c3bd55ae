"""Laws that a record is held against: which parameters a tank's physics has, between what limits, and what it does.

A law is plain: parameters by key, and a function that builds the compiled plant from their values. Here stand the laws
of a record in a unit of its own, where nothing is known of the tank; a described rig has its own in `on_rig`.

Where the tank's size is not known, only flows per unit of the PV can be told, not both: so flows are in PV units per
second. The upper tank's level is counted from 0 to 1 at its overflow, since no sensor sees it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import Dimension
from levelbench.rig import plant
from levelbench.tuning.identify.rows import Ready

D = Dimension
Floats = NDArray[np.float64]
Values = Mapping[str, float]
Build = Callable[[Values], tuple[plant.Plant, plant.Tables]]

NEVER = -1e30  # a command below which nothing stalls
ENDLESS = 1e30  # of a reading or a volume: no limit


@dataclass(frozen=True)
class Parameter:
    """One parameter of a law, in SI or in the record's own units.

    `matters` is a change of it that a person would care about (at least; a positive size also cares about its own
    value); `known` is what it is where it isn't fitted, None when nothing but the record says anything about it;
    `by_ratio`: it is positive, and a fit changes it by ratios. `of` is the kind of unit it has.
    """

    key: str
    name: str
    of: Dimension
    low: float
    high: float
    matters: float
    known: float | None = None
    by_ratio: bool = False
    unit: str = ""  # of a record in a unit of its own

    def cares(self, value: float) -> float:
        """Give the change that matters at a value (any unit)."""
        return max(self.matters, abs(value))


@dataclass(frozen=True, eq=False)
class Law:
    """A physics with its parameters, the most basic first; `free` are the keys of those that are fitted.

    `described`: what is known of its parameters is what a project says, and stays where a record can't tell it.
    """

    key: str
    title: str
    parameters: tuple[Parameter, ...]
    free: tuple[str, ...]
    build: Build
    fixed: Values  # of the parameters that are not fitted
    upper: bool = False  # another tank feeds the measured one
    described: bool = False
    settles: float = 0.0  # [s] of each part of a record are not judged: what pump and filters held before is not known

    def parameter(self, key: str) -> Parameter:
        """Give the parameter with a key."""
        return next(one for one in self.parameters if one.key == key)

    def values(self, found: Values) -> dict[str, float]:
        """Give the value of every parameter: as found, else as fixed."""
        return {**self.fixed, **found}

    def holding(self, key: str, value: float) -> "Law":
        """Give the same law with one parameter no longer fitted but kept at a value (any unit)."""
        return replace(self, free=tuple(one for one in self.free if one != key), fixed={**self.fixed, key: value})

    def freeing(self, keys: Sequence[str], title: str) -> "Law":
        """Give the same law with more parameters fitted, in the order of the law."""
        wanted = {*self.free, *keys}
        return replace(self, title=title, free=tuple(one.key for one in self.parameters if one.key in wanted))


# --- laws of a record in a unit of its own ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Scene:
    """What a record in its own unit shows by itself: where its numbers lie."""

    unit: str
    command: float  # the largest
    span: float  # from the least PV to the largest
    floor: float  # of the PV: nothing is lower
    reference: float  # the middle PV, counted from the floor
    lowest: float  # PV, counted from the floor: liquid still ran out there, so the outlet is no higher
    ceiling: float  # of the PV: where the sensor stands still; endless
    lasts: float  # [s]
    step: float  # [s]


def scene_of(ready: Ready, unit: str) -> Scene:
    """Look where the numbers of a record lie; a PV that stands still at its largest value was cut off there."""
    pv = ready.pv
    top = float(pv.max())
    cut = np.flatnonzero(pv == top)
    still = len(cut) >= 3 and bool(np.any(np.diff(cut) == 1)) and not ready.used[cut].all()
    floor = min(float(pv.min()), 0.0)
    return Scene(
        unit,
        float(ready.output.max()),
        float(np.ptp(pv)),
        floor,
        float(np.median(pv)) - floor,
        float(pv.min()) - floor,
        top if still else ENDLESS,
        ready.lasts,
        ready.step,
    )


def _flow(scene: Scene, key: str, name: str, *, by_ratio: bool = False) -> Parameter:
    """Declare a flow; it could fill the PV's span in anything from the record's length to a few samples."""
    slow, swift = scene.span / scene.lasts, scene.span / scene.step
    low = 0.01 * slow if by_ratio else 0.0
    return Parameter(key, name, D.NUMBER, low, 10.0 * swift, slow, None, by_ratio, f"{scene.unit}/s")


def _pump(scene: Scene) -> tuple[Parameter, ...]:
    full = scene.command
    share = D.PERCENT if full <= 1.0 else D.NUMBER
    return (
        _flow(scene, "pump.largest", "pump's flow at the largest output", by_ratio=True),
        Parameter("pump.zero", "output at which the pump begins to deliver", share, -full / 3, 0.9 * full,
                  full / 10, 0.0),
        Parameter("pump.curvature", "curvature of the pump's curve", D.NUMBER, -0.9, 0.9, 0.5, 0.0),
        Parameter("pump.spin_up", "spin-up", D.TIME, 0.0, max(20 * scene.step, scene.lasts / 20),
                  max(5 * scene.step, scene.lasts / 200), 0.0),
        Parameter("pump.dead_time", "dead time", D.TIME, 0.0, max(20 * scene.step, scene.lasts / 20),
                  max(5 * scene.step, scene.lasts / 200), 0.0),
    )  # fmt: skip


def _outlet(scene: Scene) -> tuple[Parameter, ...]:
    return (
        _flow(scene, "tank.outlet", "outlet's flow at the middle level"),
        Parameter("tank.exponent", "exponent of the outlet's flow", D.NUMBER, 0.1, 1.5, 0.3, 0.5),
        Parameter("tank.head", "how far the outlet ends below the PV's zero", D.NUMBER, -scene.lowest,
                  3.0 * scene.reference, scene.reference, 0.0, unit=scene.unit),
        _flow(scene, "tank.leak", "steady leak"),
    )  # fmt: skip


def _above(scene: Scene) -> tuple[Parameter, ...]:
    """Declare what an upper tank has."""
    return (
        Parameter("upper.capacity", "upper tank's volume up to its overflow", D.NUMBER, 0.05 * scene.span,
                  20.0 * scene.span, 0.2 * scene.span, None, True, scene.unit),
        _flow(scene, "upper.outlet", "flow of the upper tank's outlet when it is full"),
        Parameter("upper.exponent", "exponent of the upper outlet's flow", D.NUMBER, 0.3, 2.0, 0.3, 0.5),
        Parameter("upper.share", "share of its overflow that reaches the lower tank", D.PERCENT, 0.0, 1.0, 0.3),
    )  # fmt: skip


def _plant(scene: Scene, values: Values, *, upper: bool) -> tuple[plant.Plant, plant.Tables]:
    get = values.__getitem__
    pump = plant.Pump(
        get("pump.largest"),
        get("pump.zero"),
        scene.command,
        get("pump.curvature"),
        NEVER,
        NEVER,
        get("pump.spin_up"),
        get("pump.dead_time"),
    )
    above = plant.NO_UPPER
    if upper:
        above = plant.Upper(get("upper.capacity"), get("upper.outlet"), get("upper.exponent"), get("upper.share"))
    full = scene.ceiling - scene.floor
    head = get("tank.head") + scene.floor  # levels are counted from the floor, the head from the PV's zero
    tank = plant.Tank(
        get("tank.outlet"), scene.reference, head, get("tank.exponent"), 0.0, get("tank.leak"), full, False
    )
    sensor = plant.Sensor(1.0, scene.floor, -ENDLESS, scene.ceiling, 0.0, 0.0)
    return plant.Plant(pump, plant.NO_LIFT, above, tank, sensor), plant.NO_TABLES


_LEFT = {"pump.curvature": 0.0, "pump.spin_up": 0.0, "pump.dead_time": 0.0, "tank.head": 0.0, "tank.leak": 0.0}
_TORRICELLI = {"tank.exponent": 0.5, "upper.exponent": 0.5}
_LAMINAR = 1.0  # exponent of a flow through a short narrow tube: Hagen-Poiseuille (1839)


def laws_of(scene: Scene, *, upper: bool) -> tuple[Law, ...]:
    """Give the laws that a record in its own unit is held against, from the plainest to the freest."""
    pump, outlet, above = _pump(scene), _outlet(scene), _above(scene) if upper else ()
    parameters = (*pump[:2], *above, *outlet[:3], *pump[2:], outlet[3])
    basic = ("pump.largest", "pump.zero", "tank.outlet")
    more = ("upper.capacity", "upper.outlet", "upper.share") if upper else ("pump.dead_time",)
    plain = Law(
        "two-tanks" if upper else "physics",
        "",
        parameters,
        (),
        lambda values: _plant(scene, values, upper=upper),
        _LEFT | _TORRICELLI,
        upper,
    ).freeing((*basic, *more), "square-root outlets, straight pump" if upper else "square-root outlet, straight pump")
    shaped = ("tank.exponent", "tank.head", "pump.curvature")
    if not upper:
        free = plain.freeing(shaped, "free outlet, curved pump")
        return plain, free, free.freeing(("pump.spin_up",), "free outlet, curved pump with spin-up")
    laminar = replace(plain, fixed={**plain.fixed, "upper.exponent": _LAMINAR}).freeing(
        shaped, "laminar upper outlet, free lower outlet, curved pump"
    )
    free = laminar.freeing(("upper.exponent",), "free outlets, curved pump")
    return plain, laminar, free, free.freeing(("pump.spin_up",), "free outlets, curved pump with spin-up")
