"""How an alarm comes and goes, as a picture: crossings lie on the curve, the bar follows the delays, all is legible.

That an alarm comes after its on-delay beyond the limit and goes after its off-delay past the dead band is ANSI/ISA-18.2
(quoted from memory).
"""

from itertools import combinations, pairwise

import pytest

from levelbench.alarms.names import LETTERS
from levelbench.drawing.alarm_kinds import SKETCHES, Path, Sketch, alarm_picture, sketch_of
from levelbench.drawing.frame import Size
from levelbench.drawing.measure import text_box
from levelbench.drawing.scene import Polygon, Role, Text

SIZE = Size(348.0, 92.0, 10.0)
HIGH_SIDE = ("high", "switch", "spill")


def at(path: Path, x: float) -> float:
    for (x1, y1), (x2, y2) in pairwise(path):
        if x1 <= x <= x2:
            return y1 + (y2 - y1) * (x - x1) / (x2 - x1)
    raise AssertionError(x)


def test_every_alarm_has_a_picture() -> None:
    assert {sketch_of(key).title for key in LETTERS} == {one.title for one in SKETCHES.values()}


@pytest.mark.parametrize("sketch", SKETCHES.values(), ids=SKETCHES.keys())
def test_it_comes_after_the_crossing_and_goes_after_the_return(sketch: Sketch) -> None:
    assert 0.0 < sketch.beyond <= sketch.comes < sketch.safe <= sketch.goes < 1.0


@pytest.mark.parametrize("key", ["high", "low", "switch", "spill"])
def test_the_crossings_lie_on_the_curve(key: str) -> None:
    sketch = SKETCHES[key]
    limit, back = sketch.lines[0][0], sketch.lines[-1][0]
    assert at(sketch.curve, sketch.beyond) == pytest.approx(limit, abs=0.02)
    assert at(sketch.curve, sketch.safe) == pytest.approx(back, abs=0.02)
    side = 1.0 if key in HIGH_SIDE else -1.0
    middle = (sketch.comes + sketch.safe) / 2
    assert side * (at(sketch.curve, middle) - limit) >= -1e-9
    assert side * (limit - back) >= 0.0  # the dead band lies on the safe side


def test_the_deviation_is_beyond_on_one_side_of_the_set_point() -> None:
    sketch = SKETCHES["deviation"]
    high, middle, low = (height for height, _ in sketch.lines)
    assert high - middle == pytest.approx(middle - low)
    assert at(sketch.curve, sketch.beyond) == pytest.approx(low, abs=0.03)
    assert at(sketch.curve, sketch.comes) < low < at(sketch.curve, sketch.safe)


@pytest.mark.parametrize("key", LETTERS)
@pytest.mark.parametrize("width", [280.0, 348.0])
def test_names_are_inside_and_none_is_over_another(key: str, width: float) -> None:
    scene = alarm_picture(key, Size(width, SIZE.height, SIZE.text))
    boxes = [text_box(one) for one in scene.items if isinstance(one, Text)]
    for left, top, right, bottom in boxes:
        assert left >= 0.0
        assert right <= width
        assert top >= -0.5
        assert bottom <= SIZE.height + 0.5
    for one, other in combinations(boxes, 2):
        apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] + 3 or other[3] <= one[1] + 3
        assert apart, (one, other)


def test_the_bar_stands_from_coming_to_going() -> None:
    scene = alarm_picture("high", SIZE)
    (bar,) = [one for one in scene.items if isinstance(one, Polygon) and one.fill is Role.STOP]
    xs = [x for x, _ in bar.points]
    sketch = sketch_of("high")
    assert max(xs) / min(xs) == pytest.approx(sketch.goes / sketch.comes)
    assert "high limit" in scene.title
