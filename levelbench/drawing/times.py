"""The time that each alarm leaves, drawn as bars over seconds from the limit on: not seen yet, left to act, too late.

Each stretch has its own fill and its own border beside its colour, and every bar its words, so that a grey copy still
tells them apart. The bracket under a bar is what a person is given: it fits under what is left, or it does not.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from levelbench.alarms.timing import ENOUGH, HAPPENED, LATE, NEVER, SAID, SHORT, Timed
from levelbench.drawing.frame import Size
from levelbench.drawing.measure import text_width
from levelbench.drawing.scene import Anchor, Hatch, Item, Line, Polygon, Role, Scene, Stroke, Text
from levelbench.drawing.strokes import BOLD, FINE, THIN, arrow
from levelbench.drawing.ticks import nice_ticks
from levelbench.quantity import Units

ROW = 3.4  # text sizes from one alarm to the next
AXIS = 5.2  # text sizes for the clock and the key under the bars
_BAR = 1.3  # height of a bar in text sizes
_MOST = 2.5  # the clock goes so far beyond the longest bar, if what a person is given asks for it
_KEY = (
    ("not seen yet", "late"), ("left to act", "left"), ("still runs in", "coast"), ("given to a person", "given"),
    ("next level", "next"),
)  # fmt: skip
_STRETCHES = 3  # of the key, before what is a mark
_SIGN = 2.2  # width of what stands before the words of the key, in text sizes


def paper_times(count: int, text: float = 2.9) -> Size:
    """Give the room of the drawing on a sheet [mm] for so many alarms."""
    return Size(186.0, (ROW * count + AXIS) * text, text)


def times_picture(timed: Sequence[Timed], shown_in: Units, size: Size) -> Scene:
    """Draw the alarms one under another, the first on top."""
    text = size.text
    names = max((text_width(_name(one), text) for one in timed), default=0.0)
    ends = max((text_width(_verdict(one, shown_in), text, bold=True) for one in timed), default=0.0)
    ruler = _Ruler(names + 1.2 * text, size.width - ends - 1.2 * text, _until(timed))
    tall = (size.height - AXIS * text) / max(len(timed), 1)
    items = _clock(ruler, size, len(timed) * tall)
    for at, one in enumerate(timed):
        middle = at * tall + tall / 2
        items.append(Text((0.0, middle + 0.35 * text), _name(one), text, tag=f"bands.{one.key}"))
        items += _row(one, ruler, middle, text, shown_in)
        verdict = _verdict(one, shown_in)
        bold = one.stands != ENOUGH
        items.append(Text((size.width - 0.1 * text, middle + 0.35 * text), verdict, text, anchor=Anchor.END, bold=bold))
    items += _key(ruler, size)
    return Scene(size.width, size.height, tuple(items), "Time that each alarm leaves")


def _name(one: Timed) -> str:
    return f"{one.name} {one.tag}"


def _verdict(one: Timed, shown_in: Units) -> str:
    mark = SAID[one.stands][0]
    if one.stands in (NEVER, HAPPENED):
        return f"{mark} {one.stands}"
    return f"{mark} {'no end' if math.isinf(one.left.si) else shown_in.tell(one.left)}"


@dataclass(frozen=True)
class _Ruler:
    """Where a time stands: from left at 0 s to right at `until` [s]."""

    left: float
    right: float
    until: float

    def x(self, seconds: float) -> float:
        """Give the place of a time [s], held at the right edge."""
        return self.left + min(max(seconds, 0.0) / self.until, 1.0) * (self.right - self.left)


def _until(timed: Sequence[Timed]) -> float:
    """Give the end of the clock [s]."""
    bars = [one.to_end.si for one in timed if math.isfinite(one.to_end.si)]
    longest = max([*bars, 10.0])
    given = [one.late.si + one.needed for one in timed if math.isfinite(one.late.si)]
    return max(longest, min(max(given, default=0.0), _MOST * longest)) * 1.02


def _clock(ruler: _Ruler, size: Size, low: float) -> list[Item]:
    """Rule the clock: thin lines through the bars, and the seconds under them."""
    text, items = size.text, list[Item]()
    most = max(2, int((ruler.right - ruler.left) / (6.0 * text)))
    for seconds, words in nice_ticks(0.0, ruler.until, most):
        x = ruler.x(seconds)
        items.append(Line((x, 0.0), (x, low), Role.HAIRLINE, THIN * text))
        items.append(Text((x, low + 1.2 * text), f"{words} s", text, Role.QUIET, Anchor.MIDDLE))
    return items


def _row(one: Timed, ruler: _Ruler, middle: float, text: float, shown_in: Units) -> list[Item]:
    """Draw one bar with the bracket of what a person is given under it, and the words of its end."""
    top, low = middle - _BAR / 2 * text, middle + _BAR / 2 * text
    begin = ruler.x(0.0)
    items: list[Item] = [Line((begin, top - 0.3 * text), (begin, low + 0.3 * text), Role.INK, FINE * text)]
    if one.stands in (NEVER, HAPPENED):
        return [*items, *_words((begin, middle), SAID[one.stands][1], ruler, text)]
    end, seen = ruler.x(one.to_end.si), ruler.x(one.late.si)
    last = ruler.x(one.late.si + one.left.si) if math.isfinite(one.left.si) else end
    items += [*_late((begin, seen), (top, low), text), *_left((seen, min(last, end)), (top, low), text)]
    items += _coast((max(last, seen), end), (top, low), text) if one.left.si > 0 else []
    if one.needed > 0 and one.stands in (ENOUGH, SHORT, LATE):
        items += _given(ruler, one, low + 0.55 * text, text)
    if one.to_next.si < one.to_end.si:
        x = ruler.x(one.to_next.si)
        items.append(Line((x, top - 0.35 * text), (x, low), Role.INK, FINE * text, Stroke.DOTTED))
    items.append(Line((end, top - 0.3 * text), (end, low + 0.3 * text), Role.INK, BOLD * text))
    return [*items, *_words((max(end, seen), middle), _ends(one, shown_in), ruler, text)]


def _late(x: tuple[float, float], y: tuple[float, float], text: float) -> list[Item]:
    """Draw the stretch in which nobody knows of it yet: tinted, with slanting strokes."""
    (left, right), (top, low) = x, y
    if right - left < 1e-6:
        return []
    step, strokes, at = 0.45 * text, [], left
    while at < right:
        reach = min(low - top, right - at)
        strokes.append(((at, low), (at + reach, low - reach)))
        at += step
    return [
        Polygon(_box(x, y), Role.ATTENTION_TINT, Role.ATTENTION, FINE * text, tag="late"),
        Hatch(tuple(strokes), Role.ATTENTION, THIN * text),
    ]


def _left(x: tuple[float, float], y: tuple[float, float], text: float) -> list[Item]:
    if x[1] - x[0] < 1e-6:
        return []
    return [Polygon(_box(x, y), Role.LIQUID, Role.WATER_LINE, FINE * text, tag="left")]


def _coast(x: tuple[float, float], y: tuple[float, float], text: float) -> list[Item]:
    if x[1] - x[0] < 1e-6:
        return []
    return [Polygon(_box(x, y), Role.STOP_TINT, Role.STOP, FINE * text, Stroke.DASHED, tag="coast")]


def _box(x: tuple[float, float], y: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    (left, right), (top, low) = x, y
    return ((left, top), (right, top), (right, low), (left, low))


def _given(ruler: _Ruler, one: Timed, y: float, text: float) -> list[Item]:
    """Draw what a person is given, from where the alarm is seen; beyond the clock it ends in an arrow."""
    begin, over = ruler.x(one.late.si), one.late.si + one.needed > ruler.until
    end, role = ruler.x(one.late.si + one.needed), Role.INK if one.stands == ENOUGH else Role.STOP
    stroke = Stroke.SOLID if one.stands == ENOUGH else Stroke.DASHED
    cap = 0.25 * text
    items: list[Item] = [
        Line((begin, y), (end, y), role, FINE * text, stroke, tag="given"),
        Line((begin, y - cap), (begin, y + cap), role, FINE * text),
    ]
    if over:
        return [*items, arrow((end, y), (1.0, 0.0), 0.6 * text, role)]
    return [*items, Line((end, y - cap), (end, y + cap), role, FINE * text)]


def _ends(one: Timed, shown_in: Units) -> str:
    """Say what comes at the end of a bar, and before it."""
    if math.isinf(one.to_end.si):
        return "nothing leaves"
    end = f"{one.end} {shown_in.tell(one.to_end)}"
    return end if one.next_rung == one.end else f"{one.next_rung} {shown_in.tell(one.to_next)} · {end}"


def _words(at: tuple[float, float], words: str, ruler: _Ruler, size: float) -> list[Item]:
    """Write words beside the end of a bar where there is room, else on the bar; no line runs through them.

    Where neither has the room they are shortened to what is beside it.
    """
    end, baseline = at[0], at[1] + 0.35 * size
    whole = words.split(" ")
    while len(whole) > 1 and text_width(words, size) + 0.5 * size > max(
        ruler.right + 0.8 * size - end, end - ruler.left
    ):
        whole.pop()
        words = f"{' '.join(whole)} …"
    wide = text_width(words, size)
    beside = end + 0.5 * size + wide <= ruler.right + 0.8 * size
    left = end + 0.5 * size if beside else end - 0.5 * size - wide
    ground = _box((left - 0.2 * size, left + wide + 0.2 * size), (at[1] - 0.55 * size, at[1] + 0.62 * size))
    return [Polygon(ground, Role.CARD), Text((left, baseline), words, size, Role.QUIET if beside else Role.INK)]


def _key(ruler: _Ruler, size: Size) -> list[Item]:
    """Say what each stretch means, under the clock; what is no stretch comes under those where it has no room."""
    text = size.text
    lines: list[Sequence[tuple[str, str]]] = [_KEY]
    if _key_wide(_KEY, text) > size.width:
        lines = [_KEY[:_STRETCHES], _KEY[_STRETCHES:]]
    left = max(min(ruler.left, size.width - max(_key_wide(one, text) for one in lines)), 0.0)
    items = list[Item]()
    for up, line in enumerate(reversed(lines)):
        x, y = left, size.height - (1.1 + 1.4 * up) * text
        for words, what in line:
            items += [*_sign(what, x, y, text), Text((x + (_SIGN + 0.4) * text, y), words, text, Role.QUIET)]
            x += _key_wide(((words, what),), text) + 1.2 * text
    return items


def _key_wide(line: Sequence[tuple[str, str]], text: float) -> float:
    """Give how wide a line of the key is."""
    return sum((_SIGN + 1.6) * text + text_width(words, text) for words, _ in line) - 1.2 * text


def _sign(what: str, x: float, y: float, text: float) -> list[Item]:
    """Draw what a word of the key stands for, on its base line."""
    right = x + _SIGN * text
    if what == "given":
        middle, cap = y - 0.35 * text, 0.25 * text
        strokes = [((x, middle), (right, middle))]
        strokes += [((end, middle - cap), (end, middle + cap)) for end in (x, right)]
        return [Line(*ends, Role.INK, FINE * text) for ends in strokes]
    if what == "next":
        across = (x + right) / 2
        return [Line((across, y - text), (across, y + 0.3 * text), Role.INK, FINE * text, Stroke.DOTTED)]
    return {"late": _late, "left": _left, "coast": _coast}[what]((x, right), (y - 0.85 * text, y + 0.15 * text), text)
