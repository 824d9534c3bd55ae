"""Whatever a person does, the window is never held: a whole job, action by action, on the processor's own clock.

Time on the wall depends on what else the machine does; it is measured under tests/benchmarks.
"""

import time
from collections.abc import Callable
from pathlib import Path

import pytest
import whole_job
from pulse import Hold, Pulse
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from levelbench.gui.dialogs import Unsaved

LIMIT = 0.050  # s of the processor on the main thread, in one turn of the event loop


def too_long(pulse: Pulse) -> dict[str, Hold]:
    return {hold.action: hold for hold in pulse.holds.values() if hold.cpu > LIMIT}


def test_no_action_of_a_whole_job_holds_the_window(
    qapp: QApplication,
    tmp_path: Path,
    answer_unsaved: Callable[[Unsaved], list[str]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What was too long is done again in a new window, up to three times: by chance it is not so each time."""
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
