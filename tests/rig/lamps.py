"""The stack light worked out slowly from the project's truth table and the names of what holds: an oracle.

It knows nothing of the kernel: only the rules that the project file states in words.
"""

from levelbench.project import Project
from levelbench.rig import has

_LATCHES = {"stop pressed": "stop latched", "switch tripped": "switch latched", "sensor failed": "sensor latched"}
_BANDS = ("high-high", "high", "low", "low-low", "deviation")
COLOURS = ("red", "yellow", "green", "blue")


def states(conditions: int) -> set[str]:
    """Which rows of the truth table hold."""
    held = {row for row, latch in _LATCHES.items() if has(conditions, latch)}
    if not held and not has(conditions, "started"):
        held.add("waiting for start")
    held |= {band for band in _BANDS if has(conditions, band)}
    if not held:
        held.add("normal")
    if not has(conditions, "automatic"):
        held.add("manual")
    return held


def expected(project: Project, conditions: int, *, lamp_test: bool = False) -> dict[str, str]:
    """What each colour shows; rows add up, flashing over steady; everything is dark without mains."""
    if not has(conditions, "mains on"):
        return dict.fromkeys(COLOURS, "off")
    held = states(conditions)
    shown = {}
    for colour in COLOURS:
        modes = {getattr(row, colour) for row in project.stack_light if row.state in held}
        modes |= {"steady"} if lamp_test else set()
        shown[colour] = "flashing" if "flashing" in modes else "steady" if "steady" in modes else "off"
    return shown


def shown(conditions: int) -> dict[str, str]:
    """What each colour shows in a set of conditions."""
    one = {}
    for colour in COLOURS:
        steady, flashing = has(conditions, f"{colour} steady"), has(conditions, f"{colour} flashing")
        assert not (steady and flashing)
        one[colour] = "flashing" if flashing else "steady" if steady else "off"
    return one


def horn_wanted(project: Project, conditions: int) -> bool:
    """Whether any row that holds asks for the horn."""
    held = states(conditions)
    return has(conditions, "mains on") and any(row.horn for row in project.stack_light if row.state in held)
