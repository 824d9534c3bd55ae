"""The kernel's indices in words: what people can set, what can hold, and the columns that are written."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from levelbench.project import alarms
from levelbench.quantity import Dimension
from levelbench.rig import kernel, lamps

D = Dimension


@dataclass(frozen=True)
class PanelEntry:
    """One thing that people can set while the rig runs. `momentary` ones are pressed, nothing stays set."""

    name: str
    index: int
    dimension: Dimension | None  # None: 1 or 0, or one of `choices`
    momentary: bool = False
    choices: tuple[str, ...] = ()  # the words for 0, 1, …

    @property
    def least(self) -> float:
        """Smallest value it takes (SI)."""
        return _LEAST.get(self.name, 0.0)

    @property
    def most(self) -> float:
        """Largest value it takes (SI)."""
        if self.name in _MAY_BE_OFF:
            return math.inf
        if self.choices:
            return len(self.choices) - 1.0
        whole = self.dimension in (None, D.PERCENT) or self.name == "set point weight"
        return 1.0 if whole else _LARGEST


_LARGEST, _ABOVE_ZERO = 1e12, 1e-9  # beyond these an entry is a slip of the hand, and sums could leave the numbers
_MAY_BE_OFF = ("integral time", "output rate", "ramp")  # infinite: off
_LEAST = dict.fromkeys((*_MAY_BE_OFF, "gain", "entry step", "rate of change averaging"), _ABOVE_ZERO) | {
    "derivative filter": 1.0
}
BAND_NAMES = ("high-high", "high", "low", "low-low", "deviation")
ALARM_NAMES = (*BAND_NAMES, "rate of change", "frozen signal", "bad signal", "no rise", "switch", "spill")
ALARM_STATES, ALARM_LETTERS = alarms.ALARM_STATES, alarms.ALARM_LETTERS
WHO = ("process", "clock", "design")  # moves an alarm, beside people
_WITHOUT_LIMIT = ("bad signal", "switch", "spill")
_ALARM_PARTS: tuple[tuple[str, Dimension | None], ...] = (
    ("in use", None),
    ("limit", D.VOLUME),
    ("dead band", D.VOLUME),
    ("on-delay", D.TIME),
    ("off-delay", D.TIME),
    ("latching", None),
    ("suppression", None),
    ("out of service", None),
)
_SET: tuple[tuple[str, int, Dimension | None], ...] = (
    ("set point", kernel.P_SET_POINT, D.VOLUME),
    ("auto", kernel.P_AUTO, None),
    ("manual output", kernel.P_MANUAL, D.PERCENT),
    ("valve opening", kernel.P_VALVE, D.PERCENT),
    ("draw", kernel.P_DRAW, D.FLOW),
    ("mains", kernel.P_MAINS, None),
    ("stop", kernel.P_STOP, None),
    ("lamp test", kernel.P_LAMP_TEST, None),
    ("gain", kernel.P_GAIN, D.GAIN),
    ("integral time", kernel.P_INTEGRAL, D.TIME),
    ("derivative time", kernel.P_DERIVATIVE, D.TIME),
    ("derivative filter", kernel.P_DERIVATIVE_FILTER, D.NUMBER),
    ("set point weight", kernel.P_WEIGHT, D.NUMBER),
    ("pv filter", kernel.P_PV_FILTER, D.TIME),
    ("integral dead band", kernel.P_DEAD_BAND, D.VOLUME),
    ("output low", kernel.P_OUT_LOW, D.PERCENT),
    ("output high", kernel.P_OUT_HIGH, D.PERCENT),
    ("output rate", kernel.P_OUT_RATE, D.PERCENT_RATE),
    ("set point low", kernel.P_SP_LOW, D.VOLUME),
    ("set point high", kernel.P_SP_HIGH, D.VOLUME),
    ("entry step", kernel.P_SP_STEP, D.VOLUME),
    ("ramp", kernel.P_RAMP, D.FLOW),
    ("rate of change averaging", kernel.P_RATE_AVERAGING, D.TIME),
    ("no rise output", kernel.P_NO_RISE_OUTPUT, D.PERCENT),
    ("silence time", kernel.P_SILENCE_TIME, D.TIME),
    ("acknowledge by hand", kernel.P_BY_HAND, None),
    ("airlock", kernel.F_AIRLOCK, None),
    ("echo lost", kernel.F_ECHO_LOST, None),
    ("signal held", kernel.F_HELD, None),
    ("switch stuck", kernel.F_SWITCH_STUCK, None),
    ("switch wire open", kernel.F_SWITCH_WIRE, None),
    ("check valve leaks", kernel.F_CHECK_VALVE, None),
    ("loop wire open", kernel.F_LOOP_WIRE, None),
)
_PRESSED: tuple[tuple[str, int, Dimension | None], ...] = (
    ("reset", kernel.P_RESET, None),
    ("power on", kernel.P_START, None),
    ("prime", kernel.P_PRIME, None),
    ("silence", kernel.P_SILENCE, None),
    ("top up", kernel.P_TOP_UP, D.VOLUME),
    ("acknowledge", kernel.P_ACKNOWLEDGE, None),
    *((f"{alarm} acknowledge", kernel.P_ACKNOWLEDGE_ONE + at, None) for at, alarm in enumerate(ALARM_NAMES)),
    *((f"{alarm} shelve", kernel.P_SHELVE + at, D.TIME) for at, alarm in enumerate(ALARM_NAMES)),
)


def _parts(alarm: str, at: int) -> Iterator[PanelEntry]:
    """Give the panel entries of an alarm, those that mean something for it."""
    for offset, (part, kind) in enumerate(_ALARM_PARTS):
        if part == "limit" and alarm in _WITHOUT_LIMIT:
            continue
        if part == "dead band" and alarm in (*_WITHOUT_LIMIT, "frozen signal"):
            continue
        dimension = D.FLOW if kind is D.VOLUME and alarm == "rate of change" else kind
        words = alarms.SUPPRESSIONS if part == "suppression" else ()
        yield PanelEntry(f"{alarm} {part}", kernel.P_ALARMS + kernel.PARTS * at + offset, dimension, choices=words)


ENTRIES: dict[str, PanelEntry] = {
    one.name: one
    for one in (
        *(PanelEntry(*row) for row in _SET),
        *(PanelEntry(*row, momentary=True) for row in _PRESSED),
        *(part for at, alarm in enumerate(ALARM_NAMES) for part in _parts(alarm, at)),
        *(
            PanelEntry(f"lamps {state}", kernel.P_LAMPS + at, None, choices=lamps.CHOICES)
            for at, state in enumerate(alarms.LAMP_STATES)
        ),
    )
}

# In the order of the kernel's bits.
CONDITION_NAMES = (
    *("mains on", "started", "stop pressed", "stop latched", "switch open", "switch latched"),
    *("sensor failed", "sensor latched", "pump allowed", "pump running", "pump dry", "siphon primed"),
    *("spilling", "reservoir spilling", "automatic", "output limited"),
    *BAND_NAMES,
    *("red steady", "yellow steady", "green steady", "blue steady"),
    *("red flashing", "yellow flashing", "green flashing", "blue flashing", "horn", "silenced"),
    *ALARM_NAMES[len(BAND_NAMES) :],
)
# What people read when a condition comes, and when it goes. The journal keeps the names themselves.
_COMING_AND_GOING = {
    "mains on": ("mains on", "mains off"),
    "started": ("started", "start dropped"),
    "stop pressed": ("emergency stop pressed", "emergency stop released"),
    "stop latched": ("emergency stop tripped", "emergency stop reset"),
    "switch open": ("overflow switch opened", "overflow switch closed"),
    "switch latched": ("overflow switch tripped", "overflow switch reset"),
    "sensor failed": ("sensor signal failed", "sensor signal good again"),
    "sensor latched": ("sensor failure tripped", "sensor failure reset"),
    "pump allowed": ("pump released", "pump blocked"),
    "pump running": ("pump runs", "pump stands still"),
    "pump dry": ("pump takes air", "pump no longer takes air"),
    "siphon primed": ("siphon primed", "siphon broken"),
    "spilling": ("tank spills", "tank no longer spills"),
    "reservoir spilling": ("reservoir spills", "reservoir no longer spills"),
    "automatic": ("mode auto", "mode manual"),
    "output limited": ("output at its limit", "output within its limits"),
    "horn": ("horn sounds", "horn quiet"),
    "silenced": ("horn silenced", "silence over"),
}
_COMING_AND_GOING |= {alarm: (f"{alarm} alarm", f"{alarm} back to normal") for alarm in ALARM_NAMES}
_COMING_AND_GOING |= {
    f"{lamp} {mode}": (f"{lamp} lamp {lit}", f"{lamp} lamp {dark}")
    for lamp in ("red", "yellow", "green", "blue")
    for mode, lit, dark in (("steady", "on", "off"), ("flashing", "flashes", "stops flashing"))
}
BITS = {name: bit for bit, name in enumerate(CONDITION_NAMES)}


@dataclass(frozen=True)
class Column:
    """One column of a recording: its name, the SI unit it is kept in, and its dimension (None: bits)."""

    name: str
    unit: str
    dimension: Dimension | None


# In the order of the kernel's rows.
COLUMNS = (
    Column("time", "s", D.TIME),
    Column("set_point", "m3", D.VOLUME),
    Column("pv", "m3", D.VOLUME),
    Column("volume", "m3", D.VOLUME),
    Column("level", "m", D.LENGTH),
    Column("output", "1", D.PERCENT),
    Column("pump_flow", "m3/s", D.FLOW),
    Column("drain_flow", "m3/s", D.FLOW),
    Column("reservoir", "m3", D.VOLUME),
    Column("spilled", "m3", D.VOLUME),
    Column("used", "m3", D.VOLUME),
    Column("added", "m3", D.VOLUME),
    Column("signal", "A", D.CURRENT),
    Column("conditions", "", None),
    Column("alarms", "", None),
)


def has(conditions: int, name: str) -> bool:
    """Tell whether a condition holds in a set of bits."""
    return bool((conditions >> BITS[name]) & 1)


def alarm_words(name: str, state: float) -> str:
    """Say in the words of the trade that an alarm came into a state."""
    return f"{name} alarm {ALARM_STATES[int(state)]}"


def goes_without_saying(kind: str, value: float, who: str) -> bool:
    """Tell whether a line of the journal says no more than the coming or going of a condition, which has its own."""
    return kind == "alarm" and who == WHO[kernel.PROCESS] and value in (kernel.NORMAL, kernel.UNACKNOWLEDGED)


def alarm_of(event: int) -> str:
    """Give the name of the alarm whose new state an event of the scan is; "" for a condition's coming or going."""
    return ALARM_NAMES[event - kernel.CONDITIONS_USED] if event >= kernel.CONDITIONS_USED else ""


def event_words(name: str, value: float) -> str:
    """Say in the words of the trade that a condition came (1) or went (0)."""
    came, went = _COMING_AND_GOING[name]
    return came if value > 0 else went


def status_word(conditions: int) -> str:
    """Give the word a person glances at: HIGH, LOW or OK."""
    if has(conditions, "high") or has(conditions, "high-high"):
        return "HIGH"
    if has(conditions, "low") or has(conditions, "low-low"):
        return "LOW"
    return "OK"
