"""Why a choice is proposed, in words: what it does, what its neighbours would, or what stands in the way."""

from levelbench.alarms.answer import Design
from levelbench.alarms.candidate import choices
from levelbench.alarms.grid import Place
from levelbench.alarms.purpose import SPREADS
from levelbench.alarms.weigh import refused
from levelbench.project import units
from levelbench.quantity import Dimension, written

_PARTS = ("limit", "dead band", "on-delay", "off-delay")
_SPLASH = "This noise asks for no longer on-delay; one also keeps out what it does not show, a splash or a bad reading."
_STEPS = "The on-delay stays: it keeps out the steps of the set point, of which the noise says nothing."


def why(found: Design) -> str:
    """Say why this choice is proposed, or why none is."""
    if found.picked is None:
        return _nothing(found)
    said = [_proposal(found, found.picked), *_neighbours(found, found.picked)]
    on, present = found.grid.axes.ons, found.present
    if found.purpose.both:
        said.append(_STEPS)
    elif present is not None and on[present[2]].si > on[found.picked[2]].si:
        said.append(_SPLASH)
    if present == found.picked:
        said.append("It stands so already.")
    elif present is not None:
        said.append(f"Now: {count(found, present)} and {seconds(found, present)}.")
    return " ".join(said)


def _nothing(found: Design) -> str:
    """Say what stands in the way of the most that the grid has, and of the least, at the limit as it stands."""
    axes = found.grid.axes
    limit = min(range(len(axes.limits)), key=lambda at: abs(axes.limits[at].si - found.purpose.limit))
    ends = ((limit, 0, 0, 0), (limit, len(axes.dead_bands) - 1, len(axes.ons) - 1, len(axes.offs) - 1))
    plain, full = (refused(found.spread, found.purpose, found.grid, at) for at in ends)
    how = plain if plain == full else f"{plain}, without dead band and delays; {full}, with the most of both"
    return f"Nothing can be proposed at any limit that was tried. At {axes.limits[limit].shown} {how}."


def _proposal(found: Design, at: Place) -> str:
    """Name the choice and the two numbers that were weighed."""
    sigma, every = found.spread.sigma, choices(found.grid, at)
    texts = [one.shown for one in every]
    if sigma > 0:
        texts[1] += f" ({written(every[1].si / sigma, '.1f')} σ)"
    told = ", ".join(f"{name} {text}" for name, text in zip(_PARTS, texts, strict=True))
    does = f"{count(found, at)} a slow crossing, and {seconds(found, at)} wrong about each true excursion"
    return f"{told[0].upper()}{told[1:]}: {does}."


def _neighbours(found: Design, picked: Place) -> list[str]:
    """Say what less and more would give; and where the curve bends, when a rule asks for more than that."""
    said = []
    if found.knee is not None and found.knee != picked:
        bend = f"{count(found, found.knee)} and {seconds(found, found.knee)} with {differs(found, found.knee)}"
        said.append(f"The curve bends at {bend}; the rule of {SPREADS:.0f} σ for a dead band asks for a little more.")
    elif picked in found.front:
        at = found.front.index(picked)
        if at > 0:
            before = found.front[at - 1]
            said.append(
                f"With {differs(found, before)} it would be {count(found, before)} and {seconds(found, before)}."
            )
        if at + 1 < len(found.front):
            after = found.front[at + 1]
            more = f"{count(found, after)}, at {seconds(found, after)}"
            said.append(f"With {differs(found, after)} no more is won than {more}.")
    return said


def differs(found: Design, at: Place) -> str:
    """Name what another choice has otherwise than the proposed one."""
    assert found.picked is not None
    both = zip(choices(found.grid, at), choices(found.grid, found.picked), strict=True)
    return ", ".join(f"{name} {one.shown}" for name, (one, other) in zip(_PARTS, both, strict=True) if one is not other)


def count(found: Design, at: Place) -> str:
    """Give the alarms of one slow crossing in words."""
    alarms = found.grid.alarms(at)
    return f"{written(alarms, '.2f' if alarms < 9.95 else '.0f')} alarms"


def seconds(found: Design, at: Place) -> str:
    """Give the seconds wrong about each excursion."""
    return units(found.rig.project).show(found.grid.wrong(at), Dimension.TIME, 0.1)
