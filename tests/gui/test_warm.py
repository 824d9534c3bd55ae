"""Getting ready: the child compiles, this process loads, and the window is never held."""

import gc

import pytest
from pulse import Heartbeat
from PySide6.QtCore import QProcess

from levelbench.gui.bench import warm
from levelbench.gui.bench.warm import Warm
from levelbench.gui.work import jobs

pytestmark = pytest.mark.gui


@pytest.fixture
def one(qapp, monkeypatch):
    """As in the first window of a process."""
    monkeypatch.setattr(Warm, "loaded_here", False)
    made = Warm()
    yield made
    made.stop()
    assert jobs.stop_all(60)
    gc.enable()


def test_ready_comes_once_and_the_window_is_never_held_over_50_ms(qtbot, one):
    """The child may compile for many seconds meanwhile."""
    said = []
    one.ready.connect(lambda: said.append(1))
    with Heartbeat() as beat:
        with qtbot.waitSignal(one.ready, timeout=110_000):
            one.start()
        qtbot.waitUntil(lambda: jobs.busy() == 0)
    assert one.is_ready
    assert said == [1]
    assert gc.isenabled()
    assert beat.worst < 0.050, beat.over
    further = Warm()
    with qtbot.waitSignal(further.ready):
        further.start()
    assert not further.findChildren(QProcess)  # it has no child: all is loaded
    qtbot.waitUntil(lambda: jobs.busy() == 0)


def test_stop_ends_the_child(qtbot, one, monkeypatch):
    monkeypatch.setattr(warm, "CHILD_MODULE", "http.server")
    one.start()
    child = one.findChild(QProcess)
    qtbot.waitUntil(lambda: child.state() == QProcess.ProcessState.Running)
    assert not gc.isenabled()  # its full sweeps would hold the window
    one.stop()
    assert gc.isenabled()
    assert child.state() == QProcess.ProcessState.NotRunning
    assert not one.is_ready


def test_what_can_not_be_loaded_is_said(qtbot, one, monkeypatch):
    def no(_progress):
        raise RuntimeError("the cache folder is full.")

    monkeypatch.setattr(warm, "_load_here", no)
    monkeypatch.setattr(warm, "CHILD_MODULE", "this")
    with qtbot.waitSignal(one.failed, timeout=20_000) as heard:
        one.start()
    assert "the cache folder is full" in heard.args[0]
    assert not one.is_ready
    assert gc.isenabled()


def test_without_a_child_it_loads_here(qtbot, one, monkeypatch):
    monkeypatch.setattr(warm.sys, "executable", "/nowhere/python")
    monkeypatch.setattr(warm, "_load_here", lambda _progress: None)
    with qtbot.waitSignal(one.ready, timeout=20_000):
        one.start()
