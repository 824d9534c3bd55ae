"""Picture of a shift by chance: the true volume among the limits, and how many alarms came in each ten minutes."""

import numpy as np

from levelbench.alarms.counting import FLOOD_OVER, TEN
from levelbench.alarms.proof import Course, Proof
from levelbench.drawing.frame import Size
from levelbench.drawing.overlay import AFTER, Curve, Look, Panel, overlay
from levelbench.drawing.scene import Role, Scene, Stroke
from levelbench.project.records import Band
from levelbench.quantity import Dimension, Units, in_unit
from levelbench.rig.assemble import key_of

PAPER_SHIFT = Size(186.0, 92.0, 2.9)  # mm
_SET_POINT = Look(Role.INK, Stroke.DASHED, 1.0)
_LIMITS = ("high-high", "high", "low", "low-low")
_HOUR = 3600.0


def shift_picture(proof: Proof, shown_in: Units, size: Size = PAPER_SHIFT) -> Scene:
    """Draw the worst of the shifts."""
    course, unit = proof.worst, shown_in.volume
    zero, one = in_unit(0.0, Dimension.VOLUME, unit), in_unit(1.0, Dimension.VOLUME, unit)
    bands = proof.users.rig.project.bands
    limits = [(name, getattr(bands, key_of(name))) for name in _LIMITS]
    volumes = Panel(
        "the worst shift: true volume",
        course.time / _HOUR,
        unit,
        (
            Curve("set point", (zero + (one - zero) * course.set_point)[None, :], _SET_POINT),
            Curve("volume", (zero + (one - zero) * course.volume)[None, :], AFTER),
        ),
        rules=tuple((zero + (one - zero) * band.limit.si, name) for name, band in limits if isinstance(band, Band)),
    )
    return overlay((volumes, _tens(course)), "h", size, "The worst shift")


def _tens(course: Course) -> Panel:
    """Draw alarms in each ten minutes as steps."""
    edges = np.arange(len(course.tens) + 1) * TEN / _HOUR
    time = np.repeat(edges, 2)[1:-1]
    values = np.repeat(course.tens, 2).astype(np.float64)
    most = max(float(course.tens.max(initial=0)), FLOOD_OVER) * 1.15
    return Panel(
        "alarms in each ten minutes",
        time,
        "",
        (Curve("alarms", values[None, :], AFTER),),
        mark=(float(FLOOD_OVER), "more is a flood"),
        share=0.55,
        limits=(0.0, most),
    )
