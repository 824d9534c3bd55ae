"""Tests with a window: offscreen, in the look of the program, settings of their own, leaving nothing behind."""

import gc
import os
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"

import pytest
from hands import LONG, Hands, Running
from PySide6.QtCore import QCoreApplication, QEvent, QThread, QThreadPool, QTimer
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from shiboken6 import isValid

from levelbench.gui import app, dialogs
from levelbench.gui.dialogs import Unsaved
from levelbench.gui.document.document import Document
from levelbench.gui.look import theme
from levelbench.gui.look.closing import delete_windows
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences import Preferences
from levelbench.gui.stages.staged import DESCRIBE
from levelbench.gui.work import jobs
from levelbench.gui.work.answers import Answers
from levelbench.project import Project, load, sample


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents and "qapp" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.gui)
            # Qt's offscreen platform says so whenever a window has a least size; there is no screen to tell it to.
            # The same for a window that is asked to come to the front.
            silent = "This plugin does not support (propagateSizeHints|raise)"
            item.add_marker(pytest.mark.qt_log_ignore(silent, extend=True))


@pytest.fixture(autouse=True)
def settings_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "LOCALAPPDATA", "HOME"):
        monkeypatch.setenv(name, str(tmp_path / "user"))


@pytest.fixture(scope="session")
def qapp(qapp: QApplication) -> Iterator[QApplication]:
    theme.apply(qapp, theme.LIGHT)
    yield qapp
    qapp.clipboard().clear()  # off screen it outlives Python, and with it what a test put there would end the process


@pytest.fixture(autouse=True)
def nothing_left_behind(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail on a job, thread, timer or window that outlives its test."""
    if "qapp" not in request.fixturenames:
        yield
        return
    app: QApplication = request.getfixturevalue("qapp")
    threads = set(threading.enumerate())
    yield
    assert jobs.stop_all(20), "a job does not heed cancelling"
    gc.collect()
    for _ in range(3):
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        app.processEvents()
    assert jobs.busy() == 0, "a job outlived its test"
    windows = [one for one in app.topLevelWidgets() if one.isVisible()]
    assert not windows, f"windows outlived their test: {windows}"
    delete_windows(app)  # hidden ones too: a change of theme in a later test would still reach them
    _assert_no_timers_or_threads(threads)


def _assert_no_timers_or_threads(threads: set[threading.Thread]) -> None:
    objects = [one for one in gc.get_objects() if isinstance(one, (QTimer, QThread))]
    timers = [one for one in objects if isinstance(one, QTimer) and isValid(one) and one.isActive()]
    assert not timers, f"timers outlived their test: {[(one.parent(), one.interval()) for one in timers]}"
    running = [one for one in objects if isinstance(one, QThread) and isValid(one) and one.isRunning()]
    running = [one for one in running if one is not QThread.currentThread()]
    assert not running, f"threads outlived their test: {running}"
    new = [one for one in threading.enumerate() if one not in threads and not one.name.startswith("levelbench-job")]
    assert not new, f"threads outlived their test: {new}"
    assert QThreadPool.globalInstance().activeThreadCount() == 0


@pytest.fixture
def house() -> Project:
    return load(sample("seedling_house"))


@pytest.fixture
def document(qapp: QApplication, house: Project) -> Iterator[Document]:
    made = Document(house)
    yield made
    made.deleteLater()


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture
def answer_unsaved(monkeypatch: pytest.MonkeyPatch) -> Callable[[Unsaved], list[str]]:
    """Answer the question about unsaved work; gives the titles that it was asked about."""
    asked: list[str] = []

    def answer(with_this: Unsaved) -> list[str]:
        def ask(_parent: object, title: str) -> Unsaved:
            asked.append(title)
            return with_this

        monkeypatch.setattr(dialogs, "ask_about_unsaved", ask)
        return asked

    return answer


@pytest.fixture
def window(
    qtbot: QtBot, document: Document, hands: Hands, answer_unsaved: Callable[[Unsaved], list[str]]
) -> MainWindow:
    """The main window without a running rig: everything that works before the rig is there."""
    answer_unsaved(Unsaved.LET_GO)
    made = MainWindow(document, Answers(document, wait=True), hands, Preferences())
    made.rail.choose(DESCRIBE)
    qtbot.addWidget(made)
    made.resize(1280, 800)
    with qtbot.waitActive(made), qtbot.waitSignal(made.all_made):
        made.show()
        made.activateWindow()
    return made


@pytest.fixture
def running(qtbot: QtBot, answer_unsaved: Callable[[Unsaved], list[str]]) -> Iterator[Running]:
    """The whole program, with its rig on the bench and everything worked out; time does not pass yet."""
    answer_unsaved(Unsaved.LET_GO)
    window, bench = app.make_window(sample("seedling_house"), Preferences())
    qtbot.addWidget(window)
    window.resize(1280, 800)
    with qtbot.waitActive(window):
        window.show()
        window.activateWindow()
    qtbot.waitUntil(lambda: bench.live is not None and bench.live.view is not None, timeout=LONG)
    qtbot.waitUntil(lambda: not window.answers.working, timeout=LONG)
    assert bench.live is not None
    yield window, bench, bench.live
    window.close()
