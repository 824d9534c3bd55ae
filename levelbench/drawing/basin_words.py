"""What the reservoir holds and where it stands, in words: in its liquid, in the air over it, or where there is room."""

from collections.abc import Iterator, Sequence

from levelbench.drawing.body import depth_shown
from levelbench.drawing.frame import Frame
from levelbench.drawing.measure import text_box, text_width, wrap
from levelbench.drawing.scene import Anchor, Item, Point, Role, Text
from levelbench.drawing.state import SectionState
from levelbench.quantity import Dimension
from levelbench.rig.bench import Bench

LINE = 1.2  # from one line to the next, in text sizes
WIDE, NARROW = 14.0, 8.0  # of words beside the reservoir, in text sizes, at most and where it is close
LOW = 18.0  # of words at the lower edge, where nothing else is so low
DOWN = 6  # lines that words beside it may stand lower than its floor
Box = tuple[float, float, float, float]


def basin_words(frame: Frame, bench: Bench, state: SectionState, taken: Sequence[Item]) -> list[Item]:
    """Say what the reservoir holds and where it stands; `taken` are items whose texts the words keep clear of."""
    basin, text, capacity = frame.basin, frame.text, bench.project.reservoir.capacity.si
    holds, place = _told(frame, bench, state)
    aside = 0.0 if basin.beside else 1.0 * text  # the suction comes in at the left
    room = basin.right - basin.left - 0.6 * text - 2 * aside
    inside = holds if text_width(" ".join(holds), text) > room else [" ".join(holds)]
    surface = basin.floor - (basin.floor - basin.brim) * min(max(state.reservoir / capacity, 0.0), 1.0)
    edge = frame.size.height - 0.4 * text
    spaces = [(surface + 0.2 * text, min(basin.floor, edge)), (basin.brim, min(surface, edge))]
    middle = (basin.left + basin.right) / 2 + aside
    groups, items = [inside + wrap(place, text, room)], list[Item]()
    if not basin.beside and not any(_fits(groups[0], space, text, room) for space in spaces):
        groups = [inside, wrap(place, text, room)]
    for lines in list(groups):
        space = next((one for one in spaces if _fits(lines, one, text, room)), None)
        if space:
            spaces.remove(space)
            groups.remove(lines)
            first = (sum(space) - LINE * len(lines) * text) / 2 + 0.9 * text
            items += _lines(lines, (middle, first), text, Anchor.MIDDLE)
    if not basin.to_scale and not basin.beside:
        at = (middle, basin.floor + frame.wall + 0.9 * text)
        items.append(Text(at, "reservoir not to scale", text, Role.QUIET, Anchor.MIDDLE, tag="reservoir"))
    if groups and basin.beside:
        top = max(basin.brim - LINE * len(groups[0]) * text + 0.5 * text, 1.1 * text)
        items += _lines(groups[0], (middle, top), text, Anchor.MIDDLE)
    elif groups:
        said = [one for one in items if isinstance(one, Text) and one.role is Role.QUIET]
        items = [*said, *_outside(frame, bench, (holds, place), [*taken, *said])]
    return items


def _outside(frame: Frame, bench: Bench, words: tuple[list[str], str], taken: Sequence[Item]) -> list[Text]:
    """Give the words where they are clear of the ladder and of other texts: beside the reservoir or under it."""
    text, boxes = frame.text, [text_box(one) for one in taken if isinstance(one, Text)]
    tried = [_lines(lines, at, text, Anchor.START, backed=True) for at, lines in _places(frame, bench, words)]
    past = max((right for _, _, right, low in boxes if low > frame.floor), default=frame.drain_x) + 0.8 * text
    lines = _broken(frame, words, LOW * text)
    first = min(frame.basin.floor, frame.size.height) - (0.6 + LINE * (len(lines) - 1)) * text
    tried.append(_lines(lines, (past, first), text, Anchor.START, backed=True))
    flat = sorted(tried, key=len)
    for places, right in ((tried, frame.axis), (flat, frame.size.width)):  # the ladder rarely reaches so low
        for each in places:
            if all(_clear(text_box(one), boxes, (right, frame.size.height)) for one in each):
                return each
    return tried[0]


def _places(frame: Frame, bench: Bench, words: tuple[list[str], str]) -> Iterator[tuple[Point, list[str]]]:
    """Give where the words may stand, the best first, each with the lines that they make there."""
    basin, text = frame.basin, frame.text
    low = min(basin.floor, frame.size.height - 0.6 * text)
    away = 0.6 if not depth_shown(frame) else 2.6 + text_width(bench.project.reservoir.height.shown, 1.0) / 2
    beside = 0.0 if frame.closed else frame.drain_x + 4.4 * text  # past a drain that goes elsewhere, and its word
    x = max(basin.right + frame.wall + away * text, beside)
    wide = _broken(frame, words, WIDE * text)
    yield (x, low - LINE * (len(wide) - 1) * text), wide
    under = basin.floor + frame.wall + 1.1 * text
    yield (basin.left, under), _broken(frame, words, frame.axis - basin.left)
    for room in (WIDE, (frame.axis - x) / text, NARROW, LOW):
        lines = _broken(frame, words, room * text)
        for down in range(DOWN):
            yield (x, low + LINE * (down - len(lines) + 1) * text), lines
    left = 0.4 * text
    yield (left, under), _broken(frame, words, frame.axis - left)


def _broken(frame: Frame, words: tuple[list[str], str], room: float) -> list[str]:
    """Break the words into lines; a value keeps its unit."""
    holds, place = words
    lines: list[str] = []
    for one in holds:
        if lines and text_width(f"{lines[-1]} {one}", frame.text) <= room:
            lines[-1] += f" {one}"
        else:
            lines.append(one)
    lines += wrap(place, frame.text, room)
    unseen = frame.basin.floor > frame.size.height
    return [*lines, *wrap("↓ further down, true to scale", frame.text, room)] if unseen else lines


def _clear(box: Box, taken: Sequence[Box], room: Point) -> bool:
    """Tell whether a text ends within a room and touches no other."""
    left, top, right, low = box
    if right > room[0] or low > room[1]:
        return False
    return all(right < one[0] or one[2] < left or low < one[1] or one[3] < top for one in taken)


def _fits(lines: list[str], space: tuple[float, float], text: float, room: float) -> bool:
    return (
        max(text_width(line, text) for line in lines) <= room and space[1] - space[0] > (LINE * len(lines) + 0.3) * text
    )


def _lines(lines: list[str], first: Point, text: float, anchor: Anchor, *, backed: bool = False) -> list[Text]:
    x, y = first
    return [
        Text((x, y + LINE * text * at), line, text, Role.INK, anchor, backed=backed, tag="reservoir")
        for at, line in enumerate(lines)
    ]


def _told(frame: Frame, bench: Bench, state: SectionState) -> tuple[list[str], str]:
    """Give what the reservoir holds, where it may be broken, and where it stands."""
    reservoir = bench.project.reservoir
    holds = bench.show(state.reservoir, Dimension.VOLUME, reservoir.capacity.si / 100)
    deep = reservoir.floor_below_tank_floor
    side = "below" if deep.si >= 0 else "above"
    place = f"floor {deep.shown.lstrip('-−').strip()} {side} tank floor"
    place += ", not to scale" if frame.basin.beside and not frame.basin.to_scale else ""
    return ["reservoir", holds, f"of {reservoir.capacity.shown}"], place
