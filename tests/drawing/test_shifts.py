"""The picture of the worst shift: limits named at their lines without touching, alarms as steps, the room kept."""

from itertools import combinations

import numpy as np
import pytest

from levelbench.alarms.proof import Proof, prove
from levelbench.alarms.shifts import Use
from levelbench.drawing.frame import Size
from levelbench.drawing.measure import text_width
from levelbench.drawing.scene import Anchor, Line, Polyline, Scene, Text
from levelbench.drawing.shifts import PAPER_SHIFT, shift_picture
from levelbench.project import edit_many, load, sample, units
from levelbench.rig import assemble

CHATTERS = {"bands.high.limit": "3.00 gal", "bands.high.dead_band": "0 gal", "bands.high.on_delay": "0 s"}


@pytest.fixture(scope="module")
def proof() -> Proof:
    rig = assemble(edit_many(load(sample("seedling_house")), CHATTERS))
    return prove(rig, shifts=3, use=Use(lasts=3600.0, lead_in=60.0))


@pytest.fixture(scope="module", params=[PAPER_SHIFT, Size(620.0, 260.0, 10.0), Size(1100.0, 420.0, 11.0)])
def scene(request: pytest.FixtureRequest, proof: Proof) -> Scene:
    return shift_picture(proof, units(proof.users.rig.project), request.param)


def box(one: Text) -> tuple[float, float, float, float]:
    wide = text_width(one.text, one.size)
    left = one.at[0] - {Anchor.START: 0.0, Anchor.MIDDLE: wide / 2, Anchor.END: wide}[one.anchor]
    return left, one.at[1] - 0.72 * one.size, left + wide, one.at[1]


def test_no_text_lies_on_another_and_all_lie_within(scene: Scene) -> None:
    texts = [item for item in scene.items if isinstance(item, Text)]
    for one, other in combinations(texts, 2):
        a, b = box(one), box(other)
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1], (one.text, other.text)
    assert all(box(one)[0] >= -1e-6 and box(one)[2] <= scene.width + 1e-6 for one in texts)


def test_limits_are_named_and_stand_where_they_are(scene: Scene, proof: Proof) -> None:
    names = scene.texts()
    assert {"high-high", "high", "low", "low-low", "set point", "volume"} <= set(names)
    titles = [one for one in names if one.startswith(("the worst shift", "alarms in"))]
    assert titles == ["the worst shift: true volume, US gal", "alarms in each ten minutes"]
    flat = [item for item in scene.items if isinstance(item, Line) and item.start[1] == item.end[1]]
    places = {one.text: one.at[1] for one in scene.items if isinstance(one, Text) and one.text in ("high-high", "low")}
    assert places["high-high"] < places["low"]
    assert len(flat) >= 4


def test_the_steps_are_the_counts(scene: Scene, proof: Proof) -> None:
    steps = next(one for one in scene.items if isinstance(one, Polyline) and one.tag == "alarms")
    heights = np.array([y for _, y in steps.points])[::2]
    counts = proof.worst.tens.astype(float)
    assert counts.max() > 10
    scaled = (heights - heights.max()) / (heights.min() - heights.max())
    np.testing.assert_allclose(scaled, (counts - counts.min()) / (counts.max() - counts.min()), atol=1e-9)
