"""What stands over painted plots of records and steps: it gives way where there is no room, and says all elsewhere."""

from contextlib import nullcontext
from typing import Any

import numpy as np
import pytest
from painted import cut_or_mixed, longer_letters, painted
from PySide6.QtCore import QPoint
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.look import theme
from levelbench.gui.look.plot_paper import fitting
from levelbench.gui.tuning.record_view import RecordView
from levelbench.gui.tuning.response_plot import ResponsePlot
from levelbench.quantity import Dimension
from levelbench.records.measured import Measured
from levelbench.tuning.prediction import Response


def texts(widget: QWidget) -> list[str]:
    return [one.words for _, found in painted(widget).values() for one in found]


def answer(settled: float) -> Response:
    """A made-up answer to a step [m3]: only what stands over it matters here."""
    time = np.arange(0.0, 300.0)
    run: Any = {"time": time, "pv": settled + 1e-4 * np.exp(-time / 20), "set_point": np.full(300, settled)}
    return Response(run, 20.0, 280.0)


@pytest.mark.parametrize("longer", [False, True], ids=["as it is", "longer"])
@pytest.mark.parametrize("wide", [212, 260, 420])
def test_the_key_of_a_step_has_room_beside_its_title_or_under_it(qtbot: QtBot, wide: int, longer: bool) -> None:
    plot = ResponsePlot("set point step")
    qtbot.addWidget(plot)
    plot.resize(wide, plot.height())
    plot.show_lines(answer(0.0114), answer(0.0115), "US gal")
    with qtbot.waitExposed(plot):
        plot.show()
    with longer_letters() if longer else nullcontext():
        assert cut_or_mixed(plot, longer=longer) == []
    assert {"set point step, US gal", "PV tried", "PV now", "SP"} <= set(texts(plot))


def test_the_title_of_a_record_gives_way_to_the_edge_and_to_what_is_pointed_at(qtbot: QtBot) -> None:
    time, name = np.arange(0.0, 300.0), "step of the day tank in the seedling house, before the pump was changed.csv"
    view = RecordView()
    qtbot.addWidget(view)
    view.resize(482, 257)
    view.show_record(Measured(time, 0.011 + 1e-6 * time, 0 * time, None, None, "US gal", Dimension.VOLUME, name))
    with qtbot.waitExposed(view):
        view.show()
    assert cut_or_mixed(view) == []
    (short,) = (one for one in texts(view) if one.startswith("step of the day tank"))
    assert name.startswith(short.removesuffix(" …"))
    assert f"{name} · 300 samples, 4.983 min" in view.toolTip()
    qtbot.mouseMove(view, QPoint(300, 120))
    assert any(": PV " in one for one in texts(view))
    assert cut_or_mixed(view) == []
    view.show_words("nothing")
    assert name not in view.toolTip()


def test_words_are_left_out_from_the_end_as_few_as_can_be() -> None:
    metrics = QFontMetricsF(theme.font(theme.SMALL))
    words = "one two three"
    assert fitting(words, metrics.horizontalAdvance(words), metrics) == words
    assert fitting(words, metrics.horizontalAdvance("one two …"), metrics) == "one two …"
    assert fitting("one-long-name", metrics.horizontalAdvance("one-lo…"), metrics).startswith("one-")
