"""Whatever a person does, the window is never held: a whole job, action by action, on the processor's own clock.

Time on the wall depends on what else the machine does; it is measured under tests/benchmarks.
"""

import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
import walk
import whole_job
from done_once import fill_once
from pulse import Heartbeat, Hold, Look, Pulse
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from levelbench.gui.dialogs import Unsaved
from levelbench.gui.tuning import way_filling

LIMIT = 0.050  # s of the processor on the main thread, in one turn of the event loop


def too_long(pulse: Pulse) -> dict[str, Hold]:
    return {hold.action: hold for hold in pulse.holds.values() if hold.cpu > LIMIT}


def test_no_action_of_a_whole_job_holds_the_window(
    qapp: QApplication,
    tmp_path: Path,
    answer_unsaved: Callable[[Unsaved], list[str]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What was too long is done again in a new window, up to three times: by chance it is not so each time.

    What other threads work is not judged, so the longest of it is done once for this test and others.
    """
    monkeypatch.setattr(way_filling, "fill", fill_once)
    answer_unsaved(Unsaved.LET_GO)
    whole_job.answer_dialogs(monkeypatch, tmp_path)
    parts, held, seen = whole_job.QUICK, dict[str, Hold](), 0
    for number in range(3):
        job, holds = whole_job.begin(tmp_path, every=False), {}
        try:
            for part in parts:
                pulse = Pulse()
                whole_job.do_all(pulse, job, (part,))
                holds[part], seen = too_long(pulse), seen + len(pulse.holds)
        finally:
            whole_job.end(job)
        now = {name: hold for some in holds.values() for name, hold in some.items()}
        held = now if number == 0 else {name: hold for name, hold in now.items() if name in held}
        parts = tuple(part for part, some in holds.items() if held.keys() & some.keys())
        if not parts:
            break
    assert held == {}, "\n".join(map(str, held.values()))
    assert seen > 150


def busy(seconds: float) -> None:
    end = time.thread_time() + seconds
    while time.thread_time() < end:
        pass


def test_a_hold_is_seen_at_once_and_in_what_comes_later(qapp: QApplication) -> None:
    pulse, came = Pulse(), list[int]()
    pulse.act("at once", lambda: busy(0.06))

    def later() -> None:
        busy(0.07)
        came.append(1)

    pulse.act("later", lambda: QTimer.singleShot(20, later), lambda: bool(came))
    pulse.act("in slices", lambda: [QTimer.singleShot(wait, lambda: busy(0.004)) for wait in range(0, 90, 10)])
    pulse.act("asleep", lambda: time.sleep(0.06))
    assert set(too_long(pulse)) == {"at once", "later"}
    assert pulse.holds["asleep"].wall >= 0.06
    assert [hold.action for hold in pulse.worst(2)] == ["later", "at once"]


@pytest.mark.parametrize(
    "hold",
    [
        lambda: busy(0.06),
        lambda: time.sleep(0.06),
        lambda: threading.Thread(target=lambda: sum(range(15_000_000))).start(),  # keeps the interpreter to itself
    ],
)
def test_a_heartbeat_tells_what_the_program_holds(qapp: QApplication, hold: Callable[[], object]) -> None:
    came, before = list[int](), threading.active_count()
    with Heartbeat() as beat:
        QTimer.singleShot(30, hold)
        QTimer.singleShot(40, lambda: came.append(1))
        walk.until(lambda: bool(came) and threading.active_count() == before)
    assert beat.worst > 0.050
    with Heartbeat() as beat:
        QTimer.singleShot(30, lambda: busy(0.015))
        QTimer.singleShot(60, lambda: came.append(2))
        walk.until(lambda: len(came) == 2)
    assert 0.014 < beat.worst < 0.035


BEGIN = Look(0.0, 0.0, 0.0, 0.0, {"2": 7.0})


@pytest.mark.parametrize(
    ("look", "held"),
    [
        (Look(1.0, 0.01, 0.01, 0.98, {"2": 7.0}), 0.02),  # other programs have the processor
        (Look(1.0, 0.51, 0.01, 0.98, {"2": 7.0}), 0.02),  # and beside them a job works meanwhile
        (Look(1.0, 0.05, 0.01, 0.10, {"2": 7.85}), 0.05),  # a job that has the interpreter does not come to work
        (Look(1.0, 0.05, 0.01, 0.10, {"3": 0.85}), 0.05),  # one that has begun since
        (Look(1.0, 0.30, 0.01, 0.70, {"2": 7.70}), 0.30),  # it does in the end, and works long
        (Look(1.0, 0.01, 0.01, 0.10, {"2": 7.0}), 0.90),  # a child that works is waited for
    ],
)
def test_what_the_program_does_not_answer_for_is_no_hold(look: Look, held: float) -> None:
    assert look.held_since(BEGIN) == pytest.approx(held)
