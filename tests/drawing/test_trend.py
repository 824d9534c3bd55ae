"""The small plot: true places, units, lines that differ without colour, no extreme lost."""

import numpy as np
import pytest
from shapes import rig

from levelbench.drawing.measure import text_box
from levelbench.drawing.scene import Line, Polyline, Stroke, Text
from levelbench.drawing.trend import MOST, PAPER_TREND, trend
from levelbench.quantity import LevelBenchError
from levelbench.rig import Action, Recording, run


@pytest.fixture(scope="module")
def recording() -> Recording:
    return run(rig("upright cylinder"), 240.0, actions=[Action(30.0, "set point", 3.2 * 3.785411784e-3)], seed=1)


def test_the_plot_has_a_pane_a_dimension_with_units_and_a_key(recording: Recording) -> None:
    scene = trend(recording, title="Step")
    texts = scene.texts()
    assert {"Step", "PV", "SP", "OP"} <= set(texts)
    assert any(text.endswith(" US gal") for text in texts)
    assert any(text.endswith(" %") for text in texts)
    assert any(text.endswith(" min") for text in texts)
    tags = [item.tag for item in scene.items if isinstance(item, Polyline) and item.tag]
    assert tags == ["pv", "set_point", "output"]


def test_lines_of_a_pane_differ_without_colour(recording: Recording) -> None:
    scene = trend(recording, ("pv", "set_point", "volume", "reservoir"))
    strokes = [item.stroke for item in scene.items if isinstance(item, Polyline) and item.tag]
    assert len(set(strokes)) == 4
    assert strokes[0] is Stroke.SOLID


def test_points_stand_where_their_values_are(recording: Recording) -> None:
    """The place of every drawn point is straight in time and value; extremes of a thinned line are kept."""
    (line,) = [item for item in trend(recording, ("output",)).items if isinstance(item, Polyline) and item.tag]
    assert len(line.points) <= MOST + 4 < len(recording)
    ys = [y for _, y in line.points]
    values = recording["output"]
    slope = (max(ys) - min(ys)) / (values.max() - values.min())
    first = min(ys) + slope * (values.max() - values[0])
    assert line.points[0][1] == pytest.approx(first)
    xs = np.array([x for x, _ in line.points])
    assert (np.diff(xs) >= 0).all()


def test_nothing_leaves_the_plot(recording: Recording) -> None:
    scene = trend(recording, ("pv", "pump_flow", "level"), times=(20.0, 100.0))
    for item in scene.items:
        if isinstance(item, Text):
            left, top, right, low = text_box(item)
            assert left >= -0.5
            assert right <= PAPER_TREND.width + 0.5
            assert top >= -0.5
            assert low <= PAPER_TREND.height + 0.5
        if isinstance(item, Line | Polyline):
            ends = (item.start, item.end) if isinstance(item, Line) else item.points
            assert all(0 <= x <= PAPER_TREND.width and 0 <= y <= PAPER_TREND.height for x, y in ends)
    assert any(text.endswith(" s") for text in scene.texts())


def test_what_cannot_be_plotted_is_refused_with_what_can(recording: Recording) -> None:
    with pytest.raises(LevelBenchError, match=r"“colour” can't be plotted.*set_point"):
        trend(recording, ("colour",))
    with pytest.raises(LevelBenchError, match="conditions"):
        trend(recording, ("conditions",))
    with pytest.raises(LevelBenchError, match="nothing to plot"):
        trend(recording, times=(1e6, 2e6))
