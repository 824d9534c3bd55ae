"""A record in equal steps: nothing of the output is lost or made up, straight lines stay straight, gaps are marked."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelbench.project import load, sample, units
from levelbench.quantity import Dimension
from levelbench.records import Measured, RecordError, from_recording
from levelbench.rig import assemble, run


def measured(time: "np.ndarray", pv: "np.ndarray", output: "np.ndarray") -> Measured:
    return Measured(time, pv, output, output + 1, output + 2, "V", None, "made up")


@st.composite
def uneven(draw: st.DrawFn) -> Measured:
    steps = draw(st.lists(st.floats(0.05, 3.0), min_size=20, max_size=60))
    seed = draw(st.integers(0, 2**31))
    chance = np.random.default_rng(seed)
    time = np.concatenate(([0.0], np.cumsum(steps)))
    return measured(time, chance.standard_normal(len(time)), chance.random(len(time)))


@settings(max_examples=60, deadline=None)
@given(record=uneven(), share=st.floats(0.02, 0.12))
def test_the_output_keeps_its_integral_and_the_set_point_and_draw_with_it(record: Measured, share: float) -> None:
    even = record.regular(share * record.lasts)
    ends = even.measured.time[0], even.measured.time[-1]
    fine = np.linspace(*ends, 200_001)[:-1]
    held = record.output[np.searchsorted(record.time, fine, side="right") - 1]  # another way: a sum of thin strips
    whole = np.sum(even.measured.output[:-1]) * even.step
    assert whole == pytest.approx(held.sum() * (ends[1] - ends[0]) / 200_000, abs=2e-4 * (ends[1] - ends[0]))
    assert even.measured.set_point == pytest.approx(even.measured.output + 1)
    assert even.measured.draw == pytest.approx(even.measured.output + 2)


@settings(max_examples=60, deadline=None)
@given(record=uneven(), share=st.floats(0.002, 0.12), slope=st.floats(-5, 5))
def test_a_straight_pv_stays_straight_at_any_step(record: Measured, share: float, slope: float) -> None:
    straight = measured(record.time, 2.0 + slope * record.time, record.output)
    even = straight.regular(share * record.lasts)
    inner = slice(1, -1)  # at the ends the mean is over half a step
    expected = 2.0 + slope * even.measured.time
    np.testing.assert_allclose(even.measured.pv[inner], expected[inner], atol=1e-9 * (1 + abs(slope) * record.lasts))


def test_noise_is_averaged_where_steps_are_wide() -> None:
    chance = np.random.default_rng(3)
    record = measured(np.arange(20_000.0), chance.standard_normal(20_000), np.zeros(20_000))
    even = record.regular(25.0)
    assert np.std(even.measured.pv[1:-1]) == pytest.approx(1 / 5, rel=0.1)  # of a mean of 25: 1/√25


def test_gaps_are_found_and_marked() -> None:
    time = np.concatenate((np.arange(50.0), 200 + np.arange(50.0)))
    record = measured(time, time.copy(), np.zeros(100))
    assert record.gaps().tolist() == [[49.0, 200.0]]
    even = record.regular()
    assert even.measured.time[~even.whole].tolist() == list(range(50, 200))
    assert (record.step, record.lasts) == (1.0, 249.0)


def test_a_part_is_cut_alike_in_every_column() -> None:
    record = measured(np.arange(20.0), np.arange(20.0), np.arange(20.0) / 20)
    part = record.part(5, 10)
    assert part.time.tolist() == [5, 6, 7, 8, 9]
    assert part.set_point is not None
    assert part.set_point.tolist() == (part.output + 1).tolist()


@pytest.mark.parametrize("step", [0.0, -1.0, 1e-9, 1e9])
def test_a_step_that_makes_no_sense_is_refused(step: float) -> None:
    record = measured(np.arange(20.0), np.arange(20.0), np.zeros(20))
    with pytest.raises(RecordError, match="Take a step"):
        record.regular(step)


def test_a_recording_gives_what_a_person_could_have_measured() -> None:
    project = load(sample("seedling_house"))
    recording = run(assemble(project), 30.0)
    found = from_recording(recording, units(project))
    np.testing.assert_array_equal(found.pv, recording["pv"])
    assert (found.pv_dimension, found.draw) == (Dimension.VOLUME, None)
    with_draw = from_recording(recording, units(project), with_draw=True)
    np.testing.assert_array_equal(with_draw.draw, recording["drain_flow"])
    with pytest.raises(RecordError, match="run it for longer"):
        from_recording(run(assemble(project), 0.2), units(project))
