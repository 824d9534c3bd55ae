"""Where everything of the section stands: one scale for both directions, and columns around the tank."""

from dataclasses import dataclass, replace
from enum import Enum
from functools import cached_property

from levelbench.drawing.scene import Point
from levelbench.drawing.vessel import Profile, profiles
from levelbench.project.records import GRAVITY, Project
from levelbench.rig import Rig
from levelbench.rig.bench import Bench

LEFT = 10.5  # widths of the columns, in text sizes: pump and dimension line,
BESIDE = 14.2  # or a reservoir beside the tank, its tubes, and the dimension line,
DRAIN = 4.4  # drain tube,
SCALE = 5.2  # scale with the spread of the PV,
LADDER = 26.8  # ladder,
LONG_LADDER = 27.6  # also one with numbers of six signs and seconds of four
ABOVE = 6.2  # heights, in text sizes: over the highest thing,
BELOW = 2.0  # under the lowest,
WALL = 0.55  # thickness of the wall
DEEP = 0.65  # share of the tank's height that may lie below its floor before a sheet shortens the reservoir
SHRINK = 0.6  # the scale may shrink to this for a wide tank before another view, or a cut, is taken
BASIN = 6.0  # width of a reservoir that stands beside the tank, in text sizes
SIDE_VIEW = 5.6  # height of the side view of a lying tank, in text sizes
PUMP_ROOM = 5.0  # height under such a reservoir for the pump, in text sizes
UNDER = 10.0  # height under the tank for the pump and a reservoir that is shortened, in text sizes,
UNDER_TANK = 6.6  # and for the pump alone


class Fit(Enum):
    """What the drawing's room is laid out for."""

    SHEET = "sheet"  # the tank legible in print; a deep reservoir is shortened, and that is said
    ALL = "all"  # everything at its true height, down to the reservoir's floor
    TANK = "tank"  # everything at its true height, the tank as large as it can be; the rest may lie beyond the edge


@dataclass(frozen=True)
class Size:
    """Room for a section, and the height of its text, in the unit of the scene; texts are all of one size."""

    width: float
    height: float
    text: float


PAPER_SECTION = Size(186.0, 118.0, 2.9)  # mm; 2.9 mm are 8.2 pt
WINDOW_SECTION = Size(780.0, 620.0, 11.0)  # px


@dataclass(frozen=True)
class Basin:
    """Where the reservoir is drawn; `to_scale` is False where its depth or distance had to be shortened."""

    left: float
    right: float
    floor: float  # y
    brim: float  # y
    to_scale: bool
    beside: bool


@dataclass(frozen=True)
class Frame:
    """The layout of a section: `y` and `level` turn heights into places and back, so that a window can drag."""

    size: Size
    profile: Profile
    scale: float  # scene units per metre, along both axes
    floor: float  # y of the tank's inner floor
    middle: float  # x of the tank's middle
    cut: float  # half-width taken out of the middle of a wide tank [m]
    axis: float  # x of the scale
    foot: float  # height under the ladder that is kept for the side view of a lying tank, in text sizes
    heights: "Heights"
    closed: bool  # the drain returns to the reservoir

    @property
    def text(self) -> float:
        """Size of the text."""
        return self.size.text

    def y(self, level: float) -> float:
        """Give the y of a level [m] above the tank's floor."""
        return self.floor - self.scale * level

    def level(self, y: float) -> float:
        """Give the level [m] above the tank's floor at a y: the inverse of `y`."""
        return (self.floor - y) / self.scale

    def half(self, level: float) -> float:
        """Give the drawn half-width of the tank's inside at a level [m]."""
        return self.scale * (self.profile.half_at(level) - self.cut)

    @property
    def wall(self) -> float:
        """Drawn thickness of the wall."""
        return WALL * self.text

    @property
    def left(self) -> float:
        """Left edge of the tank's inside where it is widest."""
        return self.middle - self.scale * (self.profile.widest - self.cut)

    @property
    def right(self) -> float:
        """Right edge of the tank's inside where it is widest."""
        return self.middle + self.scale * (self.profile.widest - self.cut)

    @property
    def pump_x(self) -> float:
        """X of the pump and its rising tube."""
        return self.left - self.wall - (5.9 if self.heights.beside else LEFT - 2.3) * self.text

    @property
    def drain_x(self) -> float:
        """X of the drain tube's falling leg."""
        return self.right + self.wall + 2.2 * self.text

    @property
    def bottom(self) -> float:
        """Y of the lowest thing of the tank itself, with its stand."""
        return self.floor + self.wall

    @cached_property
    def basin(self) -> Basin:
        """Where the reservoir is drawn."""
        return _basin(self)

    def moved(self, zoom: float, right: float, down: float) -> "Frame":
        """Give the tank `zoom` times as large about its middle at the floor, then moved; scale and ladder stay."""
        return replace(self, scale=self.scale * zoom, floor=self.floor + down, middle=self.middle + right)

    def outline(self, upto: float | None = None) -> list[Point]:
        """Give the inside outline up to a level [m] (or the rim): down the left side, then up the right one."""
        top = self.profile.rim if upto is None else min(upto, self.profile.rim)
        corners = [
            (height, half)
            for height, half in zip(self.profile.heights, self.profile.halves, strict=True)
            if height < top
        ]
        corners.append((top, self.profile.half_at(top)))
        right = [(self.middle + self.scale * (half - self.cut), self.y(height)) for height, half in corners]
        return [(2 * self.middle - x, y) for x, y in reversed(right)] + right


@dataclass(frozen=True)
class Heights:
    """How far things reach above and below the tank's floor [m]."""

    top: float
    low: float
    basin_floor: float
    basin_brim: float
    beside: bool  # the reservoir's brim is above the tank's floor, so that it can't stand underneath
    to_scale: bool
    under: float = UNDER  # room for what stands under the tank, in text sizes, where its depth gives none

    @property
    def below(self) -> float:
        """Room kept under the lowest thing, in text sizes."""
        return BELOW + (PUMP_ROOM if self.beside else 0.0)

    @property
    def least(self) -> float:
        """Room kept between the tank's floor and that, in text sizes."""
        return 2.2 if (self.to_scale and self.low) or self.beside else self.under


def _heights(project: Project, rim: float, fit: Fit) -> Heights:
    drain, sensor, pump, switch = project.drain, project.sensor, project.pump, project.overflow_switch
    reach = [rim]
    for part in (sensor.face_above_floor, drain.crest_above_floor, pump.fill_end_above_floor, switch.trips_at):
        reach += [part.si] if part else []
    top = min(max(reach), 2 * rim)
    floor = -project.reservoir.floor_below_tank_floor.si
    brim = floor + project.reservoir.height.si
    beside = brim > -0.04 * top
    outlet = drain.outlet_above_floor.si if drain.kind in GRAVITY and drain.outlet_above_floor else 0.0
    to_scale = fit is not Fit.SHEET or (floor >= -DEEP * top and brim <= 1.15 * top)
    if fit is Fit.TANK:
        return Heights(top, 0.0, floor, brim, beside, to_scale, UNDER_TANK)
    if fit is Fit.ALL:
        return Heights(max(top, brim), max(-floor, -outlet, 0.0), floor, brim, beside, to_scale)
    low = max(0.0, -floor) if to_scale else DEEP * 0.8 * top
    return Heights(top, max(low, min(-outlet, DEEP * top), 0.0), floor, brim, beside, to_scale)


def frame(rig: Rig, size: Size, fit: Fit = Fit.SHEET) -> Frame:
    """Lay out the section of a rig in the room that there is."""
    shapes, text = profiles(rig.project.tank, rig.strapping), size.text
    heights = _heights(rig.project, shapes[0].rim, fit)
    start = ((BESIDE if heights.beside else LEFT) + WALL) * text
    below = heights.below * text
    tall = size.height - ABOVE * text - below
    largest = min(tall / (heights.top + heights.low), (tall - heights.least * text) / heights.top)
    ladder = _ladder(rig)
    wide = size.width - start - (DRAIN + SCALE + ladder + WALL) * text
    shape = next((one for one in shapes if 2 * one.widest * SHRINK * largest <= wide), shapes[-1])
    scale = min(largest, max(wide / 2 / shape.widest, SHRINK * largest if shape.straight else 0.0))
    cut = max(0.0, shape.widest - wide / 2 / scale)
    spare = wide - 2 * scale * (shape.widest - cut)
    floor = ABOVE * text + tall / 2 + scale * (heights.top - heights.low) / 2
    if fit is Fit.TANK:  # what there is room for of the rest is seen under it
        floor = ABOVE * text + scale * heights.top
    return Frame(
        size=size,
        profile=shape,
        scale=scale,
        floor=min(floor, size.height - below - heights.least * text),
        middle=start + spare / 3 + scale * (shape.widest - cut),
        cut=cut,
        axis=size.width - ladder * text,
        foot=SIDE_VIEW if rig.project.tank.shape == "lying cylinder" else 0.0,
        heights=heights,
        closed=rig.project.drain.kind in GRAVITY and rig.project.drain.goes_to == "reservoir",
    )


def _ladder(rig: Rig) -> float:
    """Give the width of the ladder, in text sizes."""
    bench = Bench(rig)
    volume = bench.volume(float(rig.strapping.volumes[-1])).split(" ")[0]
    return LONG_LADDER if len(volume) > 5 or bench.seconds_to_spill(0.0) >= 999.5 else LADDER


def fitting(rig: Rig, size: Size, rows: int) -> Size:
    """Give the size without the height that neither the drawing nor a ladder of so many rows would use."""
    laid, text = frame(rig, size), size.text
    heights = laid.heights
    under = max(laid.scale * heights.low, heights.least * text)
    used = laid.scale * heights.top + under + (ABOVE + heights.below) * text
    return replace(size, height=min(size.height, max(used, (1.4 * rows + 6.0 + laid.foot) * text)))


def _basin(frame: Frame) -> Basin:
    """Place the reservoir: at the left where it reaches above the tank's floor, else under the tank, and under its
    drain too where that returns to it.
    """
    heights, closed = frame.heights, frame.closed
    if heights.beside:
        right = frame.pump_x - 1.6 * frame.text
        left = right - BASIN * frame.text
    else:
        left = frame.left - frame.wall
        right = frame.drain_x + 1.8 * frame.text if closed else frame.right + frame.wall
    floor, brim = frame.y(heights.basin_floor), frame.y(heights.basin_brim)
    if not heights.to_scale:
        floor = frame.size.height - heights.below * frame.text
        brim = frame.y(0.6 * frame.profile.rim) if heights.beside else frame.bottom + 3.2 * frame.text
    return Basin(left, right, floor, brim, heights.to_scale, heights.beside)
