"""The bars of the alarms: true lengths, three stretches that differ without colour, the bracket, words that fit."""

import pytest
from bench_rig import rig_with
from whole_ladder import whole_rig

from levelbench.alarms.timing import Timed, timing
from levelbench.drawing.frame import Size
from levelbench.drawing.measure import text_box
from levelbench.drawing.scene import Hatch, Line, Polygon, Role, Scene, Stroke, Text
from levelbench.drawing.times import paper_times, times_picture
from levelbench.project import units
from levelbench.rig import Rig


def drawn(rig: Rig, size: Size | None = None) -> tuple[Scene, tuple[Timed, ...]]:
    timed = timing(rig)
    return times_picture(timed, units(rig.project), size or paper_times(len(timed))), timed


def wide(one: Polygon) -> float:
    return max(x for x, _ in one.points) - min(x for x, _ in one.points)


def stretches(scene: Scene, tag: str) -> list[Polygon]:
    """The bars' stretches of a kind, without the one of the key."""
    return [one for one in scene.items if isinstance(one, Polygon) and one.tag == tag][:-1]


def test_every_stretch_is_as_long_as_its_time() -> None:
    """High and low of the bench rig: lengths stand to each other as their seconds do."""
    scene, timed = drawn(rig_with({}))
    seconds = {
        "late": [one.late.si for one in timed],
        "left": [one.left.si for one in timed],
        "coast": [one.to_end.si - one.late.si - one.left.si for one in timed if one.rising],
    }
    scale = wide(stretches(scene, "left")[0]) / seconds["left"][0]
    for tag, those in seconds.items():
        found = [wide(one) for one in stretches(scene, tag)]
        assert found == pytest.approx([one * scale for one in those], rel=1e-6)


def test_the_three_stretches_differ_without_colour() -> None:
    """One is hatched, one is plain, one has a broken border; each has its words in the key."""
    scene, _ = drawn(rig_with({}))
    assert any(isinstance(one, Hatch) for one in scene.items)
    assert {one.stroke for one in stretches(scene, "left")} == {Stroke.SOLID}
    assert {one.stroke for one in stretches(scene, "coast")} == {Stroke.DASHED}
    assert {"not seen yet", "left to act", "still runs in", "given to a person", "next level"} <= set(scene.texts())


def test_the_bracket_is_broken_where_the_time_does_not_fit() -> None:
    short, _ = drawn(rig_with({}))
    enough, _ = drawn(rig_with({"duty.time_to_act": "30 s"}))
    strokes = [
        {one.stroke for one in scene.items if isinstance(one, Line) and one.tag == "given"} for scene in (short, enough)
    ]
    assert strokes == [{Stroke.DASHED}, {Stroke.SOLID}]


def test_every_alarm_has_its_name_its_tag_and_its_verdict() -> None:
    rig = whole_rig()
    scene, timed = drawn(rig)
    texts = scene.texts()
    assert [name for one in timed if (name := f"{one.name} {one.tag}") not in texts] == []
    assert len(timed) == 11
    assert {"○ only a jump", "○ has happened", "✓ 41 s"} <= set(texts)


@pytest.mark.parametrize(
    "size", [paper_times(11), Size(442.0, 438.0, 11.0), Size(640.0, 420.0, 11.0), Size(900.0, 500.0, 13.0)]
)
def test_no_word_leaves_the_drawing_and_names_stay_off_the_bars(size: Size) -> None:
    scene, _ = drawn(whole_rig(duty__time_to_act="2 h"), size)
    bars = min(x for one in stretches(scene, "late") for x, _ in one.points)
    for one in scene.items:
        if isinstance(one, Text):
            left, top, right, low = text_box(one)
            assert left >= -0.01
            assert right <= size.width + 0.01
            assert top >= -0.01
            assert low <= size.height + 0.01
            if one.tag is not None and one.tag.startswith("bands."):
                assert right < bars


def test_where_nothing_leaves_a_fall_has_no_end() -> None:
    rig = rig_with({"drain.kind": "none", "duty.largest_draw": "0 gal/min"})
    scene, timed = drawn(rig)
    assert next(one for one in timed if one.key == "low").left.si == float("inf")
    assert "✓ no end" in scene.texts()
    assert "nothing leaves" in scene.texts()
    assert all(isinstance(one.role, Role) for one in scene.items if isinstance(one, Text))
