"""The program with its window: what is set up before the first window shows, and what follows after.

The window shows at once, before anything compiled is loaded. Then a child process fills the compile cache, if that is
needed, and a worker loads the rig; the drawing, the trend and the bench bar take their places when it is there.
"""

import sys
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from levelbench.gui import dialogs, theme
from levelbench.gui.answers import Answers
from levelbench.gui.bench import Bench
from levelbench.gui.document import Document
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences import Preferences
from levelbench.project import ProjectProblems, SaveError, load, recovery, samples


def make_window(path: Path | None, preferences: Preferences) -> tuple[MainWindow, Bench]:
    """Make the window of a project file (a sample when there is none, or it can't be read) and the bench in it."""
    problems: ProjectProblems | None = None
    document = None
    if path is not None:
        try:
            document = Document(load(path), path)
        except ProjectProblems as error:
            problems = error
    if document is None:
        document = Document(load(samples()[-1]))
    answers = Answers(document, wait=True)
    bench = Bench(document, answers)
    window = MainWindow(document, answers, bench, preferences)
    document.setParent(window)  # and with it the answers and the bench: they end with the window
    bench.join(window)
    if path is not None and problems is None:
        preferences.remember(path)
    if problems is not None:
        dialogs.show_problems(window, problems)
    return window, bench


def offer_recovered(window: MainWindow) -> None:
    """Offer the newest copy that an earlier start left behind."""
    for copy in recovery.found()[:1]:
        answer = dialogs.ask_about_recovered(window, copy)
        if answer is False:
            recovery.discard(copy)
        elif answer:
            _take_up(window, copy)


def _take_up(window: MainWindow, copy: recovery.Recovered) -> None:
    """Go on with a copy; it is removed only when this start has kept a copy of its own."""
    try:
        project = copy.read()
        window.document.replace(project, copy.original, edited=True)
        recovery.keep(project, copy.original)
    except ProjectProblems as error:
        dialogs.show_problems(window, error)
    except SaveError as error:
        dialogs.show_trouble(window, "No copy kept", error)
    else:
        recovery.discard(copy)


def open_window(path: Path | None) -> int:
    """Open the window on a project file (None: a sample), run until it closes, and give the exit code."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName("LevelBench")
    preferences = Preferences()
    theme.apply(app, theme.THEMES.get(preferences.theme, theme.LIGHT))
    window, _ = make_window(path, preferences)
    window.show()
    QTimer.singleShot(0, window, lambda: offer_recovered(window))
    return app.exec()
