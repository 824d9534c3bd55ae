"""What the stack light and the horn do in one state, as one number of the panel and in words.

The number has a digit of base three for each lamp (0 off, 1 steady, 2 flashing), then one of base two for the horn and
one for flashing that becomes steady once it is acknowledged.
"""

from itertools import product

from levelbench.project.records import LAMP_ANSWERS, LAMP_COLOURS, LAMP_MODES, LampRow

_MODES = len(LAMP_MODES)
HORN: int = _MODES ** len(LAMP_COLOURS)
CALMS = 2 * HORN


def code_of(row: LampRow) -> int:
    """Give the number of what a row of the truth table shows."""
    modes = [LAMP_MODES.index(getattr(row, colour)) for colour in LAMP_COLOURS]
    lamps = sum(mode * int(_MODES**place) for place, mode in enumerate(modes))
    return lamps + HORN * int(row.horn) + CALMS * LAMP_ANSWERS.index(row.acknowledged)


def _words(calms: int, horn: int, *modes: int) -> str:
    lit = [f"{colour} {LAMP_MODES[mode]}" for colour, mode in zip(LAMP_COLOURS, reversed(modes), strict=True) if mode]
    told = [*(lit or ["dark"]), *(["horn"] * horn), *(["steady once acknowledged"] * calms)]
    return ", ".join(told)


CHOICES = tuple(_words(*digits) for digits in product((0, 1), (0, 1), *[range(_MODES)] * len(LAMP_COLOURS)))
"""In words, by the number: "red flashing, blue flashing, horn"."""
