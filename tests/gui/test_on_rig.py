"""What every way that works on the rig has: its line of state, its button, and nothing of a project that is gone."""

from collections.abc import Iterator
from threading import Event

import pytest
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.ways.on_rig import Asked, Work
from levelbench.gui.work import jobs
from levelbench.gui.work.answers import Answers
from levelbench.gui.work.jobs import Job, Progress
from levelbench.project import Project, load, sample
from levelbench.rig import Rig, RigError, assemble


class Count(Asked[int]):
    """Waits until it is told to go on, or to stop; answers how often it was asked."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers, ("Count", "count one more"))
        self.go_on = Event()
        self.shown: list[int] = []
        self.amiss = ""
        self.follow()

    def take_up(self, _rig: Rig) -> None:
        if self.amiss:
            self.state.setText(self.amiss)

    def forget(self) -> None:
        self.shown.clear()

    def work(self, _rig: Rig) -> Work[int]:
        def count(progress: Progress) -> int:
            while not self.go_on.wait(0.002) and not progress.cancelled:
                pass
            return 1

        return Work(count, "counting")

    def show_answer(self, found: int) -> None:
        self.shown.append(found)


@pytest.fixture
def way(qtbot: QtBot, document: Document) -> Iterator[Count]:
    made = Count(document, Answers(document, wait=True))
    qtbot.addWidget(made)
    with qtbot.waitExposed(made):
        made.show()
    made.answers.rig_changed.emit(assemble(document.project))
    yield made
    made.go_on.set()


def test_work_on_a_project_that_is_gone_brings_nothing_into_the_next(
    qtbot: QtBot, way: Count, document: Document
) -> None:
    way.begin()
    with qtbot.waitSignal(document.replaced):
        document.replace(load(sample("parts_washer")), None)
    other = assemble(document.project)
    way.answers.rig_changed.emit(other)
    way.go_on.set()
    qtbot.waitUntil(lambda: jobs.busy() == 0)
    assert way.rig is other
    assert way.shown == []
    assert way.go.isEnabled()
    way.begin()
    qtbot.waitUntil(lambda: way.shown == [1])


def test_the_button_waits_for_its_own_work_and_for_no_other(qtbot: QtBot, way: Count) -> None:
    way.begin()
    way.answers.state_changed.emit()  # before the line of the work is in sight
    assert not way.go.isEnabled()
    way.go_on.set()
    qtbot.waitUntil(way.go.isEnabled)
    way.go_on.clear()

    def other(progress: Progress) -> None:
        while not way.go_on.wait(0.002) and not progress.cancelled:
            pass

    way.job_line.follow(Job(way, other, lambda _nothing: None, way.failed, key="other"))
    qtbot.waitUntil(way.job_line.isVisible)
    way.answers.state_changed.emit()
    assert way.go.isEnabled()
    way.go_on.set()
    qtbot.waitUntil(lambda: not way.job_line.isVisible())


def test_what_was_said_of_a_rig_goes_with_it(way: Count, document: Document, house: Project) -> None:
    way.failed(RigError("There is no flow.", "pump.flow", "Give one."))
    assert way.state.text().startswith("■ There is no flow.")
    way.answers.state_changed.emit()
    assert way.state.text().startswith("■ There is no flow.")  # it is of this rig yet
    way.amiss = "■ limits in disorder"
    way.answers.rig_changed.emit(assemble(house))
    assert way.state.text() == "■ limits in disorder"
    way.amiss = ""
    way.answers.rig_changed.emit(assemble(house))
    assert way.state.text() == ""


def test_a_refusal_stands_until_the_next_edit(way: Count, document: Document) -> None:
    way.edit({"loop_settings.scan": "12 gal"}, "set a time to a volume")
    assert way.state.text().startswith("✗ ")
    way.edit({"loop_settings.scan": "0.2 s"}, "set the scan")
    assert way.state.text() == ""
    way.edit({"loop_settings.scan": "12 gal"}, "set a time to a volume")
    document.replace(load(sample("parts_washer")), None)
    assert not way.state.text().startswith("✗")
