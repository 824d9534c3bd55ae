"""Pictures of the real window, for the README and for a critical eye: every stage in both themes, and the sheet.

python -m levelbench.gui.pictures FOLDER
"""

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from PySide6.QtWidgets import QApplication

from levelbench.gui import theme
from levelbench.gui.app import make_window
from levelbench.gui.bench import Bench
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences import Preferences
from levelbench.gui.rail import STAGES

SIZES = ((1280, 800), (1600, 1000))
_LONG = 300.0  # s; a first start compiles
_SPEED = 50


def _wait(until: Callable[[], bool], longest: float = _LONG) -> None:
    """Let the program work until something is so, or for `longest` [s]."""
    end = time.monotonic() + longest
    while not until() and time.monotonic() < end:
        QApplication.processEvents()
        time.sleep(0.005)


def _run_a_while(bench: Bench) -> None:
    """Let the rig hold its volume, then move the set point up, and stop the clock while it settles."""
    live = bench.live
    assert live is not None
    assert live.rig is not None

    def at(seconds: float) -> Callable[[], bool]:
        return lambda: live.view is not None and live.view["time"] >= seconds

    settings, start = live.rig.project.loop_settings, live.rig.project.start
    live.set_speed(_SPEED)
    live.run()
    _wait(at(40.0), 60.0)
    room = settings.set_point_high.si - start.set_point.si
    step = max(round(0.25 * room / settings.entry_step.si), 1) * settings.entry_step.si
    bench.act("set point", start.set_point.si + step)
    _wait(at(100.0), 60.0)
    live.pause()
    _wait(lambda: False, 0.3)


def take(window: MainWindow, folder: Path, look: theme.Theme) -> list[Path]:
    """Take every stage of a window in a theme, in both sizes, and give the files."""
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    theme.apply(app, look)
    taken: list[Path] = []
    for width, height in SIZES:
        window.resize(width, height)
        for at, name in enumerate(STAGES):
            window.rail.choose(at)
            if at == len(STAGES) - 1:
                _wait(lambda: window.hand_over.printed is not None)
            _wait(lambda: False, 0.3)
            file = folder / f"{name.lower().replace(' ', '-')}-{look.name}-{width}.png"
            window.grab().save(str(file))
            taken.append(file)
    return taken


def main(arguments: list[str]) -> int:
    """Take all pictures into the folder that is named, and the sheet's pages beside them."""
    if len(arguments) != 1:
        sys.stderr.write("Say where the pictures go: python -m levelbench.gui.pictures FOLDER\n")
        return 2
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    folder = Path(arguments[0])
    folder.mkdir(parents=True, exist_ok=True)
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    theme.apply(app, theme.LIGHT)
    with TemporaryDirectory() as own:
        window, bench = make_window(None, Preferences(Path(own) / "window.ini"))
        window.show()
        _wait(lambda: not window.answers.working and not window.answers.waiting and bench.live is not None)
        _run_a_while(bench)
        for look in (theme.LIGHT, theme.DARK):
            take(window, folder, look)
        for at, page in enumerate(window.hand_over.pages.views()):
            page.image.save(str(folder / f"sheet-page-{at + 1}.png"))
        window.close()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
