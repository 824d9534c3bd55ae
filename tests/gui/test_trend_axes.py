"""The trend's axes, its stretch of time and its memory, without a window."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtGui import QFontMetrics

from levelbench.gui.look.theme import SMALL, font
from levelbench.gui.trend import pyramid as pyramid_module
from levelbench.gui.trend.axes import clock_label, clock_step, scale_label, scale_step
from levelbench.gui.trend.pyramid import FAN, Pyramid
from levelbench.gui.trend.span import Span

pytestmark = pytest.mark.gui


def test_moving_to_the_past_stays_there_and_moving_back_takes_the_present_up_again() -> None:
    span = Span()
    span.follow(100.0)
    start, end = span.shown(1000.0)
    span.move(start - 5, end - 5, 1000.0)
    assert not span.following
    assert span.shown(2000.0) == (start - 5, end - 5)  # the present runs on, the view does not
    span.move(1950.0, 2053.0, 2000.0)
    assert span.following
    assert span.shown(2010.0)[1] == pytest.approx(2010.0 + 0.03 * 100)


def test_pulling_at_the_start_of_a_run_changes_nothing() -> None:
    span = Span()
    _, end = span.shown(30.0)
    span.move(-4.0, end - 4.0, 30.0)
    assert span.following


def test_the_whole_run_stays_in_view_as_it_grows() -> None:
    span = Span()
    span.follow(whole=True)
    assert span.shown(0.0)[0] == 0
    assert span.shown(604_800.0) == (0.0, pytest.approx(1.03 * 604_800.0))


# Axes ----------------------------------------------------------------------------------------------------------------


@given(st.floats(2.0, 8 * 86400.0), st.floats(0.0, 7 * 86400.0), st.integers(250, 2500))
def test_the_labels_of_the_clock_never_touch(qapp: object, length: float, start: float, width: int) -> None:
    """Measured in the axis's own font, with at least the width of a digit between two labels."""
    step = clock_step(length, width)
    metrics = QFontMetrics(font(SMALL))
    first = np.ceil(start / step) * step
    labels = [clock_label(at, step) for at in np.arange(first, start + length, step)]
    room = step / length * width
    assert max((metrics.horizontalAdvance(one) for one in labels), default=0) + metrics.horizontalAdvance("0") <= room
    assert len(set(labels)) == len(labels)


@pytest.mark.parametrize(
    ("time", "step", "words"),
    [
        (30.5, 0.5, "0:00:30.5"),
        (90, 15, "0:01:30"),
        (300, 60, "5 min"),
        (3600, 600, "1 h"),
        (4500, 900, "1 h 15"),
        (21600, 21600, "0 d 6 h"),
        (172800, 43200, "2 d"),
    ],
)
def test_a_label_of_the_clock_says_its_units(time: float, step: float, words: str) -> None:
    assert clock_label(time, step) == words


@given(st.floats(1e-6, 1e6), st.floats(-1e6, 1e6), st.integers(44, 800))
def test_the_ticks_of_a_scale_are_round_and_apart(qapp: object, length: float, low: float, height: int) -> None:
    step = scale_step(length, height)
    digits = f"{step:e}".partition("e")[0].rstrip("0").rstrip(".")
    assert digits in ("1", "2", "5")
    assert step / length * height >= QFontMetrics(font(SMALL)).height() or step >= length


def test_the_labels_of_a_scale() -> None:
    assert [scale_label(at, 0.05) for at in (-0.1, 0.0, 3.25)] == ["−0.10", "0.00", "3.25"]
    assert scale_label(-1e-12, 0.5) == "0.0"
    assert scale_label(1500.0, 500.0) == "1500"


# Memory --------------------------------------------------------------------------------------------------------------


def test_old_rows_give_way_to_their_extremes_and_memory_stays_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    """With blocks of 64 rows the recent 896 stay; a spike of one row long ago is still drawn."""
    monkeypatch.setattr(pyramid_module, "BLOCK", 64)
    made, most = Pyramid(1), 0
    for begin in range(0, 40_000, 500):
        values = np.zeros((1, 500))
        values[0, 123] = 5.0 if begin == 1000 else 0.0
        made.append(0.1 * np.arange(begin, begin + 500), values)
        if begin == 20_000:
            most = made.bytes
    assert made.bytes <= 1.2 * most
    times, drawn = made.drawn(0, 0.0, 4000.0, 200)
    assert drawn.max() == 5.0
    assert times[int(drawn.argmax())] == pytest.approx(112.3, abs=80.0)  # to a bin of what is drawn
    assert made.grain(3999.0) == 0.0
    assert made.grain(112.3) >= 0.1 * FAN
    assert made.value(0, 3999.0) == 0.0
    assert made.value(0, 112.3) == 2.5  # the middle of 0 and 5 in its bin
    assert made.now == pytest.approx(3999.9)
