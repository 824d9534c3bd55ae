"""Long work: answers on the main thread, stale ones dropped, cancel heeded, the window never held."""

import threading
import time

import pytest
from pulse import Heartbeat
from PySide6.QtCore import QObject, Qt, QThread
from shiboken6 import delete

from levelbench.gui.work import jobs
from levelbench.gui.work.job_line import JobLine, remaining
from levelbench.gui.work.jobs import Job, Progress

pytestmark = pytest.mark.gui


@pytest.fixture
def owner(qapp):
    one = QObject()
    yield one
    assert jobs.stop_all()


def refuse(error):
    raise AssertionError(error)


def spin(progress: Progress) -> str:
    """Work until told to stop."""
    while not progress.cancelled:
        time.sleep(0.005)
    return "too late"


def test_the_answer_comes_on_the_main_thread(qtbot, owner):
    got = []

    def work(progress):
        return threading.current_thread().name, 6 * 7

    Job(owner, work, lambda answer: got.append((answer, QThread.currentThread() is owner.thread())), refuse)
    qtbot.waitUntil(lambda: bool(got))
    (name, product), on_main = got[0]
    assert name.startswith("levelbench-job")
    assert (product, on_main) == (42, True)
    assert jobs.busy() == 0


def test_an_error_goes_to_on_error_only(qtbot, owner):
    done, errors = [], []

    def work(progress):
        raise ValueError("no rim")

    job = Job(owner, work, done.append, errors.append)
    qtbot.waitSignal(job.ended).wait()
    assert not done
    assert str(errors[0]) == "no rim"


def test_a_newer_job_of_the_same_key_makes_the_older_stale(qtbot, owner):
    got = []
    older = Job(owner, spin, got.append, refuse, key="review")
    other = Job(owner, lambda progress: "other key", got.append, refuse, key="sheet")
    newer = Job(owner, lambda progress: "newer", got.append, refuse, key="review")
    assert older.cancelled
    assert not other.cancelled
    qtbot.waitUntil(lambda: not (older.running or newer.running or other.running))
    assert sorted(got) == ["newer", "other key"]


def test_a_cancelled_job_brings_nothing_and_says_that_it_ended(qtbot, owner):
    job = Job(owner, spin, refuse, refuse)
    with qtbot.waitSignal(job.ended):
        job.cancel()
    assert not job.running


def test_a_destroyed_owner_gets_nothing(qtbot, owner):
    mine = QObject()
    job = Job(mine, spin, refuse, refuse)
    with qtbot.waitSignal(job.ended):
        mine.deleteLater()
    assert job.cancelled


def test_stop_all_waits_for_the_threads(qtbot, owner):
    begun, left = [], []

    def work(progress):
        begun.append(True)
        spin(progress)
        time.sleep(0.05)
        left.append(True)

    for key in "abc":
        Job(owner, work, refuse, refuse, key=key)
    qtbot.waitUntil(lambda: len(begun) >= 2)
    assert jobs.stop_all()
    assert len(left) == len(begun)
    qtbot.waitUntil(lambda: jobs.busy() == 0)


def test_only_long_work_is_announced(qtbot, owner):
    long, short = [], []
    quick = Job(owner, lambda progress: None, lambda answer: None, refuse, key="quick")
    quick.running_longer_than_half_a_second.connect(lambda: short.append(1))
    slow = Job(owner, spin, refuse, refuse, key="slow")
    slow.running_longer_than_half_a_second.connect(lambda: long.append(time.monotonic() - slow.started))
    qtbot.waitUntil(lambda: bool(long))
    assert not short
    assert long[0] >= 0.45


def test_progress_is_thinned_but_its_end_is_told(qtbot, owner):
    heard = []

    def work(progress):
        for step in range(10_001):
            progress.report(step / 10_000, f"step {step}")

    job = Job(owner, work, lambda answer: None, refuse)
    job.progressed.connect(lambda fraction, text: heard.append((fraction, text)))
    qtbot.waitSignal(job.ended).wait()
    assert heard[-1] == (1.0, "step 10000")
    assert len(heard) < 100


def test_work_in_plain_python_does_not_hold_the_window(qtbot, owner):
    """A worker that never sleeps still leaves the event loop its turn (50 ms is the promise)."""

    def work(progress):
        total = 0
        until = time.thread_time() + 0.5
        while time.thread_time() < until:
            total += sum(range(200))
        return total

    with Heartbeat() as beat:
        qtbot.waitSignal(Job(owner, work, lambda answer: None, refuse).ended, timeout=60_000).wait()
    assert beat.worst < 0.050, beat


def test_the_line_shows_long_work_only_and_offers_a_way_out(qtbot, owner):
    line = JobLine()
    qtbot.addWidget(line)
    halfway = threading.Event()

    def work(progress):
        halfway.wait(5)
        progress.report(0.5, "second of two")
        return spin(progress)

    job = Job(owner, work, refuse, refuse, title="Checking")
    line.follow(job)
    assert not line.isVisible()
    qtbot.waitUntil(line.isVisible)
    halfway.set()
    qtbot.waitUntil(lambda: line.bar.value() == 500)
    assert line.words.text() == "Checking: second of two"
    qtbot.mouseClick(line.stop, Qt.MouseButton.LeftButton)
    assert job.cancelled
    qtbot.waitUntil(lambda: not line.isVisible())


def test_a_line_that_went_before_its_job_hears_nothing_more(qtbot, owner):
    go = threading.Event()
    line = JobLine()
    job = Job(owner, lambda progress: go.wait(10) and progress.report(1.0), lambda _: None, refuse)
    line.follow(job)
    delete(line)
    with qtbot.waitSignal(job.ended, timeout=10_000):  # an error in a slot fails the test
        go.set()


@pytest.mark.parametrize(
    ("fraction", "elapsed", "words"),
    [(0.01, 5, ""), (0.5, 0.2, ""), (0.25, 10, "about 30 s left"), (0.9, 9, "about a second left")],
)
def test_the_remaining_time_is_in_proportion(fraction, elapsed, words):
    assert remaining(fraction, elapsed) == words
