"""Fits on the card: a model is chosen and fitted, what was found is shown, used elsewhere, and put into the project."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.tuning.evidence_line import EvidenceLine
from levelbench.gui.tuning.fit_part import FitPart
from levelbench.gui.tuning.record_room import RecordRoom
from levelbench.gui.tuning.record_view import RecordView
from levelbench.gui.work import jobs
from levelbench.gui.work.evidence import Evidence
from levelbench.project import load, sample, units
from levelbench.quantity import Dimension
from levelbench.records.measured import Measured
from levelbench.rig import Rig, assemble
from levelbench.tuning.identify.every import Weighed
from levelbench.tuning.process import Integrating

LONG = 20_000  # ms
SLOPE, DEAD_TIME = 6e-5, 3.0  # m3/s, s


def bumps(seed: int = 0) -> Measured:
    """A record of an integrating tank, one sample a second."""
    time = np.arange(0.0, 300.0)
    output = np.where((time > 40) & (time < 100), 0.4, np.where((time > 160) & (time < 220), 0.1, 0.25))
    late = np.concatenate((np.full(3, output[0]), output[:-3]))
    volume = 0.011 + np.concatenate(([0.0], np.cumsum(SLOPE * (late[:-1] - 0.25))))
    pv = volume + np.random.default_rng(seed).normal(0, 1e-5, 300)
    return Measured(time, pv, output, None, None, "US gal", Dimension.VOLUME, "bumps.csv")


@pytest.fixture(scope="module")
def rig() -> Rig:
    return assemble(load(sample("seedling_house")))


@pytest.fixture
def part(qtbot: QtBot, document: Document) -> Iterator[FitPart]:
    document.replace(load(sample("seedling_house")), None)
    made = FitPart(document, Evidence(document))
    qtbot.addWidget(made)
    made.resize(360, 500)
    with qtbot.waitExposed(made):
        made.show()
    yield made
    jobs.stop_all()


def fitted(qtbot: QtBot, part: FitPart, rig: Rig | None, model: str = "integrating") -> None:
    part.take_record(bumps(), rig, units(load(sample("seedling_house"))))
    part.model.setCurrentIndex(part.model.findData(model))
    with qtbot.waitSignal(part.shown, timeout=LONG):
        qtbot.mouseClick(part.go, Qt.MouseButton.LeftButton)


def test_nothing_can_be_fitted_without_a_record(part: FitPart) -> None:
    assert not part.go.isEnabled()
    assert not part.use.isVisible()
    assert not part.apply.isVisible()


def test_a_fit_lies_over_its_record_with_numbers_and_what_is_left(
    qtbot: QtBot, part: FitPart, document: Document, rig: Rig
) -> None:
    room, shown_in = RecordRoom(RecordView()), units(document.project)
    qtbot.addWidget(room)
    room.resize(650, 640)
    with qtbot.waitExposed(room):
        room.show()
    room.view.show_record(bumps())
    assert not room.left.isVisible()
    part.shown.connect(lambda fit, error: room.show_fit(fit, bumps(), shown_in, error))
    part.gone.connect(room.hide_fit)
    fitted(qtbot, part, rig)
    assert room.left.isVisible()
    words = room.table.words()
    slope = words.index("rate of the PV per 100 % of output, k'")
    assert words[slope + 1].startswith("0.9")  # 6e-5 m3/s is 0.951 US gal/min
    assert "US gal/min …" in words[slope + 2]
    assert any(one.startswith("● ") for one in words)
    assert any("held out" in one for one in words)
    part.take_record(bumps(1), rig, shown_in)  # another record: what was found was of the one before
    assert not room.left.isVisible()


def test_a_process_is_used_elsewhere_until_it_is_given_back(
    qtbot: QtBot, part: FitPart, document: Document, rig: Rig
) -> None:
    evidence = part._evidence
    line = EvidenceLine(evidence)
    qtbot.addWidget(line)
    fitted(qtbot, part, rig)
    assert line.isHidden()
    qtbot.mouseClick(part.use, Qt.MouseButton.LeftButton)
    assert evidence.found is not None
    process = evidence.found.process
    assert isinstance(process, Integrating)
    assert process.slope == pytest.approx(SLOPE, rel=0.02)
    assert process.dead_time == pytest.approx(DEAD_TIME, abs=0.3)
    assert evidence.found.slopes is not None
    assert evidence.found.slopes[0] < SLOPE < evidence.found.slopes[1]
    assert evidence.found.dead_times is not None
    assert evidence.found.dead_times[0] <= evidence.found.process.dead_time <= evidence.found.dead_times[1]
    assert not line.isHidden()
    assert "bumps.csv" in line.words.text()
    line.back.click()
    assert evidence.found is None
    assert line.isHidden()
    part._use()
    document.replace(load(sample("parts_washer")), None)  # another rig
    assert evidence.found is None


def test_a_record_of_another_rig_can_not_be_used(qtbot: QtBot, part: FitPart) -> None:
    fitted(qtbot, part, None)
    assert not part.use.isVisible()


def test_what_was_found_goes_into_the_project_in_one_step(
    qtbot: QtBot, part: FitPart, document: Document, rig: Rig
) -> None:
    fitted(qtbot, part, rig)
    weighed = part._weighed
    assert weighed is not None
    edits = {"pump.largest_flow": "0.95 gal/min", "sensor.noise": "0.5 mm"}
    changed = tuple(replace(one, edits=edits) for one in weighed.fits)
    part._found(Weighed(changed, weighed.foretold, weighed.taken, weighed.words, {}))
    assert "pump, largest flow: 1.0 gal/min → 0.95 gal/min" in part.changes.text()
    before = document.project
    qtbot.mouseClick(part.apply, Qt.MouseButton.LeftButton)
    assert document.project.pump.largest_flow.text == "0.95 gal/min"
    assert document.project.sensor.noise.text == "0.5 mm"
    document.undo_stack.undo()
    assert document.project.text == before.text


def test_why_a_record_can_not_be_fitted_is_said(qtbot: QtBot, part: FitPart) -> None:
    still = replace(bumps(), output=np.full(300, 0.3))
    part.take_record(still, None, units(load(sample("seedling_house"))))
    part.model.setCurrentIndex(part.model.findData("integrating"))
    qtbot.mouseClick(part.go, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(part.trouble.isVisible, timeout=LONG)
    assert "stays the same" in part.trouble.text()
    assert part.go.isEnabled()
