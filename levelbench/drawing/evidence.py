"""Pictures of what tuning found: before and after on the same runs, and two ways of filling over each other."""

from dataclasses import replace

import numpy as np

from levelbench.drawing.frame import Size
from levelbench.drawing.overlay import AFTER, BEFORE, OWN, Curve, Floats, Panel, overlay
from levelbench.drawing.scene import Scene
from levelbench.quantity import Dimension, Units, in_unit
from levelbench.tuning.filling import Filling, Track
from levelbench.tuning.filling import Size as FillSize
from levelbench.tuning.proof import Proof

D = Dimension

PAPER_PROOF = Size(186.0, 118.0, 2.9)  # mm
PAPER_FILLING = Size(186.0, 92.0, 2.9)
_MINUTES = 300.0  # [s] from which a clock is in minutes


def proof_picture(proof: Proof, shown_in: Units, size: Size = PAPER_PROOF) -> Scene:
    """Draw the volume of each kind of run, before and after: means over the seeds, tinted from lowest to highest."""
    traces = list(zip(proof.before.traces, proof.after.traces, strict=True))
    unit = shown_in.volume
    clock, divisor = _clock(float(traces[0][1].time[-1]))
    panels = [
        Panel(
            now.title,
            now.time / divisor,
            unit,
            (
                Curve(proof.before.name, _converted(was.volume, D.VOLUME, unit), BEFORE),
                Curve(proof.after.name, _converted(now.volume, D.VOLUME, unit), AFTER),
            ),
            (in_unit(now.target, D.VOLUME, unit), "SP"),
        )
        for was, now in traces
    ]
    tall = size.height * len(panels) / 3
    return overlay(panels, clock, replace(size, height=tall), "Before and after, on the same runs")


def filling_picture(found: Filling, of: FillSize, shown_in: Units, size: Size = PAPER_FILLING) -> Scene:
    """Draw a fill by the PI as set, by the best PI and by the cut-off: the whole, its end enlarged, and the output."""
    unit, looks = shown_in.volume, (OWN, BEFORE, AFTER)[-len(of.tracks) :]
    ends = max(_at_rest(one, found.tolerance) for one in of.tracks)
    clock, divisor = _clock(1.25 * ends)
    target = in_unit(of.high, D.VOLUME, unit)
    close = in_unit(of.high + max(found.law.lead, found.tolerance), D.VOLUME, unit) - target
    near = min(float(one.time[np.argmax(one.volume > of.high - 2.5 * (found.law.lead))]) for one in of.tracks)

    def panel(title: str, what: str, name: str, begin: float) -> Panel:
        """Give one panel from a time [s] on."""
        dimension = D.VOLUME if what == "volume" else D.PERCENT
        clock_of = of.tracks[0].time
        inside = (clock_of >= begin) & (clock_of <= 1.25 * ends + 5.0)
        curves = tuple(
            Curve(one.name, _converted(getattr(one, what)[inside][None, :], dimension, name), look)
            for one, look in zip(of.tracks, looks, strict=True)
        )
        return _thinned(Panel(title, clock_of[inside] / divisor, name, curves))

    panels = (
        replace(panel("volume", "volume", unit, -ends / 20), mark=(target, "SP")),
        replace(
            panel("volume, the end enlarged", "volume", unit, near),
            mark=(target, "SP"),
            limits=(target - 2.5 * close, target + 1.2 * close),
        ),
        replace(panel("output, at the end", "output", "%", near), share=0.6),
    )
    return overlay(panels, clock, size, "Ways of filling")


def _at_rest(track: Track, tolerance: float) -> float:
    """Give when a fill comes to rest [s], to a tolerance [m3]."""
    moving = np.flatnonzero(np.abs(track.volume - track.volume[-1]) > tolerance)
    return float(track.time[moving[-1]]) if moving.size else 0.0


def _clock(seconds: float) -> tuple[str, float]:
    """Give the unit of a clock that shows so long [s], and how many seconds one of it has."""
    return ("min", 60.0) if seconds > _MINUTES else ("s", 1.0)


def _thinned(panel: Panel, most: int = 900) -> Panel:
    """Keep every so many-th point of a panel."""
    every = max(1, len(panel.time) // most)
    curves = tuple(replace(one, values=one.values[:, ::every]) for one in panel.curves)
    return replace(panel, time=panel.time[::every], curves=curves)


def _converted(values: Floats, dimension: Dimension, unit: str) -> Floats:
    """Give SI values in a unit of their dimension."""
    zero, one = in_unit(0.0, dimension, unit), in_unit(1.0, dimension, unit)
    return np.asarray(zero + (one - zero) * values)
