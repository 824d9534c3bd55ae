"""What alarms are called: the name of each member of the ladder, and the letters of its tag."""

from levelbench.project.fields import entries
from levelbench.project.records import Bands
from levelbench.rig.telling import Teller

LETTERS: dict[str, tuple[str, str]] = {
    "high_high": ("AHH", ""),
    "high": ("AH", ""),
    "low": ("AL", ""),
    "low_low": ("ALL", ""),
    "deviation": ("AD", ""),
    "rate_of_change": ("KA", ""),
    "frozen_signal": ("XA", "A"),
    "bad_signal": ("XA", "B"),
    "no_rise": ("XA", "C"),
    "switch": ("SHH", ""),
    "spill": ("XA", "D"),
}
"""By key of the section bands: the letters after the first one of the loop, and a suffix behind its number.

After ANSI/ISA-5.1-2009 Table 4.1, quoted from memory: A alarm, H and L once and twice, D deviation, K rate of change.
X has no meaning of its own there and takes the one that the sheet gives it.
"""


MEANINGS: dict[str, str] = {
    "high_high": "alarm, high-high", "high": "alarm, high", "low": "alarm, low", "low_low": "alarm, low-low",
    "deviation": "alarm, deviation", "rate_of_change": "K: rate of change, alarm", "frozen_signal": "X: signal, alarm",
    "bad_signal": "X: signal, alarm", "no_rise": "X: pump, alarm", "switch": "switch, high-high",
    "spill": "X: spill, alarm",
}  # fmt: skip
"""What the letters of each tag say."""


def tag_of(teller: Teller, key: str) -> str:
    """Give the tag of an alarm in a rig's loop: "LAH-310"."""
    letters, suffix = LETTERS[key]
    return f"{teller.tag(letters)}{suffix}"


def name_of(key: str) -> str:
    """Give the name of an alarm by its key in the section bands: "high-high", "no rise"."""
    return entries(Bands)[key].label
