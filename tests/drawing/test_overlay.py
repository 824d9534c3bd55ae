"""Runs laid over each other: true places, a break for each curve, tints that hold every run."""

import numpy as np
import pytest

from levelbench.drawing.frame import Size
from levelbench.drawing.measure import text_box
from levelbench.drawing.overlay import AFTER, BEFORE, OWN, Curve, Panel, overlay
from levelbench.drawing.scene import Line, Polygon, Polyline, Role, Scene, Text

TIME = np.linspace(0.0, 100.0, 51)
RUNS = np.array([TIME, TIME + 10.0, TIME + 20.0])
SIZE = Size(186.0, 60.0, 2.9)


def drawn(**more: object) -> Scene:
    curves = (Curve("was", RUNS, BEFORE), Curve("is", RUNS[:1], AFTER))
    return overlay((Panel("volume", TIME, "l", curves, **more),), "s", SIZE, "runs")


def lines(scene: Scene) -> dict[str, Polyline]:
    return {one.tag: one for one in scene.items if isinstance(one, Polyline) and one.tag}


def test_each_curve_is_the_mean_of_its_runs_at_its_true_place() -> None:
    scene = drawn()
    was, now = (lines(scene)[name] for name in ("was", "is"))
    assert len(was.points) == len(TIME)
    (x0, y0), (x1, y1) = now.points[0], now.points[-1]
    for at in (0, 20, 50):
        x, y = now.points[at]
        assert (x - x0) / (x1 - x0) == pytest.approx(TIME[at] / 100.0)
        assert (y - y0) / (y1 - y0) == pytest.approx(TIME[at] / 100.0)
        lift = (now.points[at][1] - was.points[at][1]) / (y0 - y1)
        assert lift == pytest.approx(10.0 / 100.0)  # the mean of 0, 10 and 20 more


def test_the_tint_holds_every_run_and_only_where_there_are_several() -> None:
    scene = drawn()
    (tint,) = [one for one in scene.items if isinstance(one, Polygon)]
    low, high = min(y for _, y in tint.points), max(y for _, y in tint.points)
    assert all(low <= y <= high for _, y in lines(scene)["was"].points)
    assert tint.fill is BEFORE.tint


def test_curves_differ_without_colour_and_have_their_names_beside_them() -> None:
    assert len({one.stroke for one in (BEFORE, AFTER, OWN)}) == 3
    scene = drawn(mark=(50.0, "SP"))
    assert {"was", "is", "SP", "volume, l"} <= set(scene.texts())
    assert any(text.endswith(" s") for text in scene.texts())
    ruled = [one for one in scene.items if isinstance(one, Line) and one.start[1] == one.end[1]]
    y = next(one.start[1] for one in ruled if one.role is Role.INK)
    at = lines(scene)["is"].points[25][1]  # 50 l at 50 s
    assert y == pytest.approx(at)


def test_what_lies_outside_of_the_limits_stays_in_the_panel() -> None:
    scene = drawn(limits=(40.0, 60.0))
    frame = next(one for one in scene.items if isinstance(one, Polyline) and one.tag is None)
    top, low = min(y for _, y in frame.points), max(y for _, y in frame.points)
    assert all(top - 1e-9 <= y <= low + 1e-9 for one in lines(scene).values() for _, y in one.points)


@pytest.mark.parametrize("panels", [1, 2, 3])
def test_nothing_leaves_the_paper_and_no_words_run_into_others(panels: int) -> None:
    curves = (Curve("the PI as set, b = 0.8", RUNS, BEFORE), Curve("the learning cut-off", RUNS[:1], AFTER))
    one = Panel("volume, the end enlarged", TIME, "US gal", curves, (50.0, "SP"))
    scene = overlay((one,) * panels, "min", Size(186.0, 40.0 * panels, 2.9), "runs")
    boxes = [text_box(each) for each in scene.items if isinstance(each, Text)]
    for left, top, right, low in boxes:
        assert left >= 0
        assert top >= 0
        assert right <= scene.width
        assert low <= scene.height
    for at, (left, top, right, low) in enumerate(boxes):
        for other in boxes[at + 1 :]:
            assert right <= other[0] or other[2] <= left or low <= other[1] or other[3] <= top
