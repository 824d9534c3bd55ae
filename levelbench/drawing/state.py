"""What the section shows of one moment."""

from dataclasses import dataclass

from levelbench.project.records import GRAVITY
from levelbench.rig import Rig
from levelbench.rig.bench import Bench


@dataclass(frozen=True)
class SectionState:
    """One moment of a rig, all SI: level [m], volumes [m3], flows [m3/s], output and opening as fractions.

    `spread` is the standard deviation of the PV [m3], None where it is not known; `selected` is the tag of the item
    that stands out ("bands.high.limit"). `fill_way` and `drain_way` say how far the marks in the tubes have come, in
    text sizes; they say that something flows, not how fast.
    """

    level: float
    reservoir: float
    pv: float
    set_point: float
    output: float
    pump_flow: float
    drain_flow: float
    opening: float
    spread: float | None = None
    siphon_primed: bool = True
    spilling: bool = False
    switch_tripped: bool = False
    selected: str = ""
    fill_way: float = 0.0
    drain_way: float = 0.0


def start_state(rig: Rig) -> SectionState:
    """Give the moment before a run begins: nothing flows, the PV is what is there, spread as on still liquid."""
    project = rig.project
    volume = project.start.tank_volume.si
    return SectionState(
        spread=Bench(rig).noise(0.0),
        level=float(rig.strapping.level_at(volume)),
        reservoir=project.reservoir.charge.si - volume,
        pv=volume,
        set_point=project.start.set_point.si,
        output=project.start.output.si,
        pump_flow=0.0,
        drain_flow=0.0,
        opening=project.drain.opening.si if project.drain.kind in GRAVITY else 0.0,
        siphon_primed=project.start.siphon_primed,
    )
