"""Counting alarms: against counting by going through every second, and against examples counted by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelbench.alarms.counting import (
    chattering,
    common,
    floods,
    in_last,
    in_tens,
    joined,
    meets,
    most_in,
    spans_of,
    spans_where,
    total,
    union,
)

END = 4000
# whole seconds, sparse and dense: alone, in bursts, several at once
TIMES = st.one_of(
    st.lists(st.integers(0, END - 1), max_size=40),
    st.lists(st.integers(0, 300), max_size=40),
    st.lists(st.sampled_from([0, 10, 20, 590, 600, 610, 1200, 1201]), max_size=60),
).map(lambda found: np.array(sorted(found), dtype=np.float64))
SPANS = st.lists(st.integers(0, 200), max_size=16, unique=True).map(
    lambda found: np.array(sorted(found)[: len(found) // 2 * 2], dtype=np.float64).reshape(-1, 2)
)


def slowly(times: np.ndarray, second: float, within: float) -> int:
    """How many lie in the last `within` up to a second."""
    return sum(1 for one in times if second - within < one <= second)


@given(TIMES)
def test_the_most_in_ten_minutes_is_what_a_look_in_every_second_finds(times: np.ndarray) -> None:
    assert most_in(times) == max((slowly(times, second, 600) for second in times), default=0)
    every_second = [slowly(times, second, 600) for second in range(END + 600)]
    assert most_in(times) == max(every_second)


@given(TIMES)
def test_each_ten_minutes_is_counted_as_by_hand(times: np.ndarray) -> None:
    found = in_tens(times, 0.0, float(END))
    assert len(found) == END // 600  # a stretch that is not whole is none
    for at, count in enumerate(found.tolist()):
        assert count == sum(1 for one in times if 600 * at <= one < 600 * (at + 1))


@given(TIMES)
def test_chatter_is_what_any_three_in_a_minute_are(times: np.ndarray) -> None:
    slow = [
        any(times[a + 2] - times[a] <= 60 for a in range(len(times) - 2) if a <= at <= a + 2)
        for at in range(len(times))
    ]
    assert chattering(times).tolist() == slow


@given(TIMES)
def test_floods_are_what_going_through_every_second_finds(times: np.ndarray) -> None:
    slow, since = [], None
    for second in range(END + 1):
        now = slowly(times, second, 600)
        if since is not None and now < 5:
            slow.append((since, second))
            since = None
        if since is None and now > 10 and second in times:
            since = second
    if since is not None:
        slow.append((since, END))
    assert floods(times, float(END)).tolist() == [list(map(float, one)) for one in slow]


def test_a_flood_by_hand() -> None:
    """Eleven alarms, one a minute: the eleventh at 10:00 makes eleven in ten minutes only if the first still counts."""
    apart = np.arange(11) * 60.0  # the first has left the ten minutes when the eleventh comes: ten, no flood
    assert most_in(apart) == 10
    assert len(floods(apart, 4000.0)) == 0
    close = np.arange(11) * 59.0  # 0 … 590 s: eleven in ten minutes, a flood from 590 s on
    assert most_in(close) == 11
    # fewer than five are left when the seventh leaves: it came at 6 × 59 s = 354 s, and leaves at 954 s
    assert floods(close, 4000.0).tolist() == [[590.0, 954.0]]
    assert floods(close, 700.0).tolist() == [[590.0, 700.0]]


def test_chatter_by_hand() -> None:
    """Three a minute (ANSI/ISA-18.2-2016, quoted in an open training text): 0, 30, 60 s are, 0, 31, 62 s are not."""
    assert chattering(np.array([0.0, 30.0, 60.0])).all()
    assert not chattering(np.array([0.0, 31.0, 62.0])).any()
    assert chattering(np.array([0.0, 500.0, 510.0, 520.0, 2000.0])).tolist() == [False, True, True, True, False]


def test_a_poisson_stream_has_the_rate_it_was_made_with() -> None:
    """Counts in ten minutes of a Poisson process have mean and variance λ; 99 % of normal theory for 20 000 of them."""
    rng, rate, tens = np.random.default_rng(5), 3.0, 20_000
    times = np.cumsum(rng.exponential(600.0 / rate, int(rate * tens * 1.1)))
    found = in_tens(times, 0.0, 600.0 * tens)
    assert found.mean() == pytest.approx(rate, abs=2.576 * np.sqrt(rate / tens))
    assert found.var() == pytest.approx(rate, abs=2.576 * np.sqrt((rate + 2 * rate**2) / tens))
    assert in_last(times, 600.0)[100:].mean() == pytest.approx(1.0 + rate, rel=0.02)  # itself, and those before it


@given(SPANS, SPANS)
def test_spans_are_what_a_look_in_every_second_finds(one: np.ndarray, other: np.ndarray) -> None:
    def holds(spans: np.ndarray) -> np.ndarray:
        middle = np.arange(200) + 0.5
        return np.any((spans[:, :1] <= middle) & (middle < spans[:, 1:]), axis=0) if len(spans) else np.zeros(200, bool)

    assert total(one) == holds(one).sum()
    assert common(one, other) == (holds(one) & holds(other)).sum()
    assert total(union(one, other)) == (holds(one) | holds(other)).sum()
    near = joined(one, 5.0)
    assert total(near) == total(one) + sum(gap for gap in one[1:, 0] - one[:-1, 1] if gap <= 5.0)
    for second in range(0, 200, 7):
        touches = bool(np.any((one[:, 0] <= second + 3) & (one[:, 1] >= second))) if len(one) else False
        assert meets(one, second, second + 3.0) == touches


@given(st.lists(st.tuples(st.integers(0, 100), st.booleans()), max_size=20), st.booleans())
def test_spans_of_changes_are_cut_to_what_is_counted(changes: list[tuple[int, bool]], at_first: bool) -> None:
    changes.sort(key=lambda one: one[0])
    held, slow = at_first, []
    for second in range(110):
        for time, holds in changes:
            if time == second:
                held = holds
        slow.append(held and 20 <= second < 90)
    found = spans_of([(float(time), holds) for time, holds in changes], at_first, 20.0, 90.0)
    assert total(found) == sum(slow)


@given(st.lists(st.booleans(), max_size=30))
def test_spans_of_rows_go_from_the_first_to_the_last_that_holds(rows: list[bool]) -> None:
    found = spans_where(np.arange(len(rows), dtype=np.float64), np.array(rows, dtype=np.bool_))
    inside = [any(a <= at <= b for a, b in found.tolist()) for at in range(len(rows))]
    assert inside == rows
