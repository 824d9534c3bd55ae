"""What the stack light shows when the project file says nothing about it.

The colours mean what they mean in IEC 60073: red an emergency, act at once; yellow abnormal, watch or step in; green
normal; blue somebody must act. Which state is called an emergency is common practice, no source. Red flashes with
blue, yellow is steady with blue flashing, and blue flashes alone while a start is awaited: no two displays, of one
state or of several at once, differ only by colour, not even with the horn silenced.
"""

from levelbench.project.alarms import LampRow


def _row(state: str, *, red: str = "off", yellow: str = "off", blue: str = "off", horn: bool = True) -> LampRow:
    return LampRow(state, red, yellow, "off", blue, horn=horn, acknowledged="stays")


def _emergency(state: str) -> LampRow:
    return _row(state, red="flashing", blue="flashing")


def _abnormal(state: str, *, horn: bool = True) -> LampRow:
    return _row(state, yellow="steady", blue="flashing", horn=horn)


DEFAULT_ROWS = (
    _emergency("stop pressed"),
    _emergency("switch tripped"),
    _abnormal("sensor failed"),
    _row("waiting for start", blue="flashing", horn=False),
    _emergency("high-high"),
    _abnormal("high"),
    _abnormal("low", horn=False),
    _abnormal("low-low"),
    _abnormal("deviation", horn=False),
    _abnormal("rate of change", horn=False),
    _abnormal("frozen signal"),
    _abnormal("no rise"),
    _emergency("spill"),
    _row("manual", blue="steady", horn=False),
    LampRow("normal", "off", "off", "steady", "off", horn=False, acknowledged="stays"),
)
