"""What the station's pad takes: each target with its limits, its steps and the change that it asks about."""

import pytest

from levelbench.gui.station.entry import targets
from levelbench.project import edit_many, load, sample
from levelbench.quantity import QuantityError

US_GAL = 3.785411784e-3  # m3 (NIST SP 811, appendix B)


def test_a_step_of_a_quarter_is_shown_whole_and_no_other_target_asks() -> None:
    project = edit_many(load(sample("seedling_house")), {"loop_settings.entry_step": "0.25 gal"})
    set_point, output, valve = targets(project)
    assert set_point.show(3.25 * US_GAL) == "3.25 US gal"
    assert set_point.judge("3.25") == pytest.approx(3.25 * US_GAL)
    with pytest.raises(QuantityError, match=r"Type 3\.00 or 3\.25\."):
        set_point.judge("3.1")
    assert set_point.asks(3.0 * US_GAL, 3.25 * US_GAL)
    assert not set_point.asks(3.0 * US_GAL, 3.2 * US_GAL)  # a tenth of 2.00 exactly
    assert not output.asks(0.0, 1.0)
    assert not valve.asks(0.0, 1.0)


def test_a_forced_draw_takes_the_place_of_the_valve() -> None:
    project = edit_many(load(sample("seedling_house")), {"drain.kind": "forced draw", "drain.draw": "0.2 gal/min"})
    draw = targets(project)[2]
    assert draw.what == "draw"
    assert draw.judge("0.5") == pytest.approx(0.5 * US_GAL / 60)
    assert draw.stepped(draw.judge("0.5"), up=True) > draw.judge("0.5")
