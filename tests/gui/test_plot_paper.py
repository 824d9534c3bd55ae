"""Names in the painted plots: wherever the marks lie, how wide the plot is and how long the words are, none meet."""

from collections.abc import Iterator
from contextlib import nullcontext
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from painted import cut_or_mixed, longer_letters, painted
from PySide6.QtCore import QSize
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from levelbench.alarms.answer import Design
from levelbench.alarms.design import ONS
from levelbench.alarms.grid import Axes, Choice, Grid
from levelbench.drawing.ticks import log_ticks
from levelbench.gui.bands.noise_curve import NoiseCurve
from levelbench.gui.tuning.search_curve import SearchCurve
from levelbench.project import load, sample, units
from levelbench.quantity import Dimension, Figure
from levelbench.tuning.search import Candidate, Found

D = Dimension
# px: as in a window of 1280 × 800, of 1600 × 1000, and in the narrowest room that either plot takes
SIZES = (QSize(622, 300), QSize(942, 380), QSize(400, 190))
MANY = 40  # places that are tried in each size


@pytest.fixture(scope="module")
def designed() -> Design:
    """A design that is made up: only where its choices lie matters here."""
    wide, seconds = np.arange(10.0), np.array(ONS)
    volumes = tuple(Choice("", one, f"{0.0028 * one:.2g} US gal") for one in wide)
    delays = tuple(Choice("", one, f"{one:g} s") for one in ONS)
    crossings = 1 + 99 * np.exp(-0.7 * wide)[:, None, None] * np.exp(-seconds / 16)[None, :, None]
    none, astray = np.zeros(0), (4 + 0.9 * seconds, (0.3 * wide)[:, None])
    grid = Grid(
        Axes((Choice("", 1.0, "4.3 US gal"),), volumes, delays, delays[:1]),
        none, none, none, none, none, none, astray, crossings, none, False, 0.0, 0.0,
    )  # fmt: skip
    front = tuple((0, band, 0, 0) for band in range(7))
    unused: Any = None
    return Design(unused, "high", unused, unused, grid, front, front[-1], front[-1], (0, 9, 4, 0), None)


def candidate(settling: float, deviation: float, travel: float) -> Candidate:
    """Settings of which only what the curve shows is made up: [s], [m3], [1/s]."""
    seen = ((settling, D.TIME), (deviation, D.VOLUME), (travel, D.PERCENT_RATE))
    shown = [Figure("", "", one, dimension, "", (), "") for one, dimension in seen]
    unused: Any = None
    return Candidate(unused, (), {}, *shown[:2], unused, shown[2], *[unused] * 4, {}, {})


@pytest.fixture(scope="module")
def searched() -> Found:
    """A search that is made up: only where its settings lie matters here."""
    curve = [(95, 7.2), (92.4, 6), (90.7, 4.8), (90, 3.5), (90.2, 3.2), (90.3, 2.8), (90.8, 2.4), (90.1, 2.2)]
    front = tuple(candidate(one, load / 1e5, 0.007 * 1.5**at) for at, (one, load) in enumerate(curve))
    unused: Any = None
    return Found(unused, unused, unused, (), front, 3, front[3], None, "", 0)


def sized(qtbot: QtBot, plot: QWidget) -> Iterator[QSize]:
    """Show a plot in every size."""
    qtbot.addWidget(plot)
    for size in SIZES:
        plot.resize(size)
        with qtbot.waitExposed(plot):
            plot.show()
        yield size


def words(plot: QWidget) -> list[str]:
    return [one.words for _, texts in painted(plot).values() for one in texts]


@pytest.mark.parametrize("longer", [False, True])
def test_names_of_the_noise_never_meet_wherever_the_choices_lie(qtbot: QtBot, designed: Design, longer: bool) -> None:
    chance, plot, shape = np.random.default_rng(3), NoiseCurve(), designed.grid.axes.shape
    assert designed.picked is not None
    for _ in sized(qtbot, plot):
        for _ in range(MANY):
            band, on = int(chance.integers(shape[1])), int(chance.integers(shape[2]))
            near = 0, min(band + int(chance.integers(2)), shape[1] - 1), on, 0
            shown = replace(designed, picked=(0, band, on, 0), present=near)
            with longer_letters() if longer else nullcontext():
                plot.show_found(shown, designed.picked if chance.integers(2) else near)
                assert not cut_or_mixed(plot, longer=longer)
                assert {"now", "proposed"} <= set(words(plot))


@pytest.mark.parametrize("longer", [False, True])
def test_names_of_a_search_never_meet_however_close_they_lie(qtbot: QtBot, searched: Found, longer: bool) -> None:
    chance, plot, shown_in = np.random.default_rng(4), SearchCurve(), units(load(sample("seedling_house")))
    for _ in sized(qtbot, plot):
        for _ in range(MANY):
            at = int(chance.integers(len(searched.front)))
            pick = searched.front[at]
            near = {
                key: replace(getattr(pick, key), si=getattr(pick, key).si * float(chance.uniform(0.97, 1.03)))
                for key in ("travel", "settling", "deviation")
            }
            shown = replace(searched, picked=at, present=replace(searched.present, **near))
            with longer_letters() if longer else nullcontext():
                plot.show_found(shown, shown_in)
                assert not cut_or_mixed(plot, longer=longer)
                assert [one for one in words(plot) if one in ("now", "proposed")] == ["proposed", "now"] * 2


def test_values_of_a_logarithmic_scale() -> None:
    assert log_ticks(0.1, 20.0) == pytest.approx([0.1, 0.2, 0.5, 1, 2, 5, 10, 20])
    assert log_ticks(3.0, 4.0) == []
    assert log_ticks(3.0, 4.0, (1.0, 3.0, 4.0)) == pytest.approx([3.0, 4.0])
