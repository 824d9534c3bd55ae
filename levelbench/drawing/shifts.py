"""Picture of a shift by chance: the true volume among the limits, and how many alarms came in each ten minutes."""

import numpy as np

from levelbench.alarms.counting import FLOOD_OVER, TEN
from levelbench.alarms.proof import Course, Proof
from levelbench.alarms.tally import key_of
from levelbench.drawing.frame import Size
from levelbench.drawing.overlay import AFTER, OWN, Curve, Look, Panel, overlay
from levelbench.drawing.scene import Role, Scene, Stroke
from levelbench.project.records import Band
from levelbench.quantity import Dimension, Units, in_unit

PAPER_SHIFT = Size(186.0, 92.0, 2.9)  # mm
_SET_POINT = Look(Role.INK, Stroke.DASHED, 1.0)
_LIMITS = ("high-high", "high", "low", "low-low")
_HOUR = 3600.0


def shift_picture(proof: Proof, shown_in: Units, size: Size = PAPER_SHIFT) -> Scene:
    """Draw the worst of the shifts."""
    course, unit = proof.worst, shown_in.volume
    zero, one = in_unit(0.0, Dimension.VOLUME, unit), in_unit(1.0, Dimension.VOLUME, unit)
    clock = course.time / _HOUR

    def curve(name: str, values: np.ndarray, look: Look) -> Curve:
        return Curve(name, (zero + (one - zero) * values)[None, :], look)

    bands = proof.users.rig.project.bands
    limits = [
        curve(name, np.full(len(clock), band.limit.si), OWN)
        for name in _LIMITS
        if isinstance(band := getattr(bands, key_of(name)), Band)
    ]
    volumes = (
        *limits,
        curve("set point", course.set_point, _SET_POINT),
        curve("true volume", course.volume, AFTER),
    )
    panels = (
        Panel("the worst shift: volume", clock, unit, volumes),
        _tens(course),
    )
    return overlay(panels, "h", size, "The worst shift")


def _tens(course: Course) -> Panel:
    """Draw alarms in each ten minutes as steps."""
    edges = np.arange(len(course.tens) + 1) * TEN / _HOUR
    time = np.repeat(edges, 2)[1:-1]
    values = np.repeat(course.tens, 2).astype(np.float64)
    most = max(float(course.tens.max(initial=0)), FLOOD_OVER) * 1.15
    return Panel(
        "alarms in each ten minutes",
        time,
        "1",
        (Curve("alarms", values[None, :], AFTER),),
        mark=(float(FLOOD_OVER), "more is a flood"),
        share=0.55,
        limits=(0.0, most),
    )
