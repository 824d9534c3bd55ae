"""The program with its windows: what is set up before the first one shows, and what follows after.

A window shows at once, before anything compiled is loaded. Then a child process fills the compile cache, if that is
needed, and a worker loads the rig; the drawing, the trend and the bench bar take their places when it is there.
"""

import sys
from functools import partial
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from levelbench.gui import dialogs
from levelbench.gui.bench.bench import Bench
from levelbench.gui.document.disk import FromFile, from_file
from levelbench.gui.document.document import Document
from levelbench.gui.look import look
from levelbench.gui.look.closing import delete_windows, take_apart
from levelbench.gui.look.icons import program_icon
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences import Preferences
from levelbench.gui.work import jobs
from levelbench.gui.work.answers import Answers
from levelbench.gui.work.sweeps import Sweeps
from levelbench.project import ProjectProblems, SaveError, load, recovery, samples


def make_window(path: Path | None, preferences: Preferences) -> tuple[MainWindow, Bench]:
    """Make the window of a project file (a sample when there is none, or it can't be read) and the bench in it."""
    problems: ProjectProblems | None = None
    held: FromFile | None = None
    if path is not None:
        try:
            held = from_file(path)
            preferences.remember(path)
        except ProjectProblems as error:
            problems = error
    window, bench = _window_of(held, preferences)
    window.rail.choose(preferences.stage)
    if problems is not None:
        dialogs.show_problems(window, problems)
    return window, bench


def _window_of(held: FromFile | None, preferences: Preferences) -> tuple[MainWindow, Bench]:
    """Make the window of what was read from a file; None: of a sample."""
    document = Document(held.project, held.path, mark=held.mark) if held else Document(load(samples()[-1]))
    answers = Answers(document, wait=True)
    bench = Bench(document, answers)
    window = MainWindow(document, answers, bench, preferences)
    document.setParent(window)  # and with it the answers and the bench: they end with the window
    bench.join(window)
    window.files.window_wanted.connect(partial(show_another, preferences))
    return window, bench


def show_another(preferences: Preferences, held: FromFile | None) -> MainWindow:
    """Show one more window, on what was read from a file or on a sample; it goes for good when it is closed."""
    window, _ = _window_of(held, preferences)
    _goes_when_closed(window)
    window.show()
    window.bring(preferences.stage)
    return window


def _goes_when_closed(window: MainWindow) -> None:
    window.closed.connect(lambda: take_apart(window, (window.document, window.answers)))


def offer_recovered(window: MainWindow, preferences: Preferences) -> None:
    """Offer every copy that an earlier start left behind, the newest first."""
    for copy in recovery.found():
        if not window.isVisible():
            return  # it was closed when the last one was asked about
        answer = dialogs.ask_about_recovered(window, copy)
        if answer is False:
            recovery.discard(copy)
        elif answer:
            _take_up(window if _is_free_for(window, copy) else show_another(preferences, None), copy)


def _is_free_for(window: MainWindow, copy: recovery.Recovered) -> bool:
    """Whether nothing is lost from sight when a copy takes this window."""
    document = window.document
    return not document.edited and document.path in (None, copy.original)


def _take_up(window: MainWindow, copy: recovery.Recovered) -> None:
    """Go on with a copy; it is removed only when this start has kept a copy of its own."""
    try:
        project = copy.read()
        window.document.replace(project, copy.original, edited=True)
        window.document.copy.now()
    except ProjectProblems as error:
        dialogs.show_problems(window, error)
    except SaveError as error:
        dialogs.show_trouble(window, "No copy kept", error)
    else:
        recovery.discard(copy)


def open_window(path: Path | None) -> int:
    """Open the window on a project file (None: a sample), run until all are closed, and give the exit code."""
    preferences = Preferences()
    look.scale_up(preferences)
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName("LevelBench")
    app.setDesktopFileName("levelbench")
    app.setWindowIcon(program_icon())
    Sweeps(app)
    look.put_on(app, preferences)
    look.follow_system(app, preferences)
    window, _ = make_window(path, preferences)
    _goes_when_closed(window)
    window.show()
    window.all_made.connect(lambda: window.help.tour.offer_once(preferences))
    QTimer.singleShot(0, window, lambda: offer_recovered(window, preferences))
    code = app.exec()
    jobs.stop_all()
    delete_windows(app)
    return code


def start() -> int:
    """Open the window for somebody who pressed its icon, on the file that the desktop hands over, if it hands one."""
    return open_window(Path(sys.argv[1]) if len(sys.argv) > 1 else None)
