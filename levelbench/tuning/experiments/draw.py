"""The draw that an experiment needs: the pump can only add, so something else must bring the level down."""

import math
from dataclasses import replace

from levelbench.rig import Rig, kernel
from levelbench.tuning.experiments.errors import ExperimentError
from levelbench.tuning.experiments.planned import Wishes, flow_at, flow_words
from levelbench.tuning.loop import draw_at


def with_draw(rig: Rig, asked: Wishes) -> tuple[Rig, tuple[str, float] | None]:
    """Give the rig with its drain as the experiment needs it, and what somebody has to set for that."""
    forced = rig.params.drain.kind == 3
    volume = float(rig.panel[kernel.P_SET_POINT])
    wanted = asked.draw if forced else asked.opening
    if wanted is None and draw_at(rig, volume) > 0:
        return rig, None
    if rig.params.drain.kind == 0:
        raise ExperimentError(
            "Nothing takes liquid out of this tank, and the pump can only add: the level would rise and never come "
            f"back. The pump gives 0 to {flow_words(rig, flow_at(rig, 1.0))}, never less; a bias can't help.",
            "drain.kind",
            "Describe the drain, or let somebody draw a known flow.",
        )
    if wanted is None:
        wanted = _half(rig) if forced else _opening_for(rig, volume, _half(rig))
    made = _set(rig, wanted)
    if not draw_at(made, volume) > 0:
        raise ExperimentError(
            "With the drain shut the pump can only add: nothing brings the level back.",
            "drain.draw" if forced else "drain.opening",
            f"Open it; about {flow_words(rig, _half(rig))} is half of what the pump can give.",
        )
    return made, ("draw" if forced else "valve opening", wanted)


def _set(rig: Rig, value: float) -> Rig:
    panel = rig.panel.copy()
    panel[kernel.P_DRAW if rig.params.drain.kind == 3 else kernel.P_VALVE] = value
    return replace(rig, panel=panel)


def _half(rig: Rig) -> float:
    """Give the draw in the middle of what the pump can give, or what the duty knows of, if that is less [m3/s]."""
    return min(0.5 * flow_at(rig, 1.0), rig.project.duty.largest_draw.si or math.inf)


def _opening_for(rig: Rig, volume: float, draw: float) -> float:
    """Give the valve's opening for a draw, in whole percent; wide open when it can't give so much."""
    for percent in range(1, 101):
        if draw_at(_set(rig, percent / 100), volume) >= draw:
            return percent / 100
    return 1.0
