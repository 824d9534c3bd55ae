"""Pictures of the real window, for the README and for a critical eye: every stage and window in both themes, the
sheet, and one picture of them all.

python -m levelbench.gui.pictures [--quick] FOLDER        quick: one theme, one size
"""

import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QApplication, QWidget

from levelbench.gui.app import make_window
from levelbench.gui.bench.bench import Bench
from levelbench.gui.look import theme
from levelbench.gui.main_window import MainWindow
from levelbench.gui.pictures.scenes import alarm, calm, scenes, settle, station_of, wait
from levelbench.gui.preferences import Preferences
from levelbench.gui.rail import STAGES

SIZES = ((1280, 800), (1600, 1000))
LEAST_STATION = (800, 600)
QUICK = "--quick"
_SPEED = 50
_COLUMNS, _SMALL, _GAP, _CAPTION = 4, 480, 12, 20  # of the contact sheet; px


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
    wait(at(40.0), 60.0)
    room = settings.set_point_high.si - start.set_point.si
    step = max(round(0.25 * room / settings.entry_step.si), 1) * settings.entry_step.si
    bench.act("set point", start.set_point.si + step)
    wait(at(100.0), 60.0)
    live.pause()
    settle()


def take(window: MainWindow, folder: Path, look: theme.Theme, sizes: tuple[tuple[int, int], ...]) -> list[Path]:
    """Take every stage of a window in a theme, in some sizes, and give the files."""
    _put_on(look)
    taken: list[Path] = []
    for width, height in sizes:
        window.resize(width, height)
        for at, name in enumerate(STAGES):
            window.rail.choose(at)
            if at == len(STAGES) - 1:
                wait(lambda: window.hand_over.printed is not None)
            settle()
            taken.append(_save(window, folder / f"{name.lower().replace(' ', '-')}-{look.name}-{width}.png"))
    return taken


def take_others(window: MainWindow, bench: Bench, folder: Path, looks: Sequence[theme.Theme]) -> list[Path]:
    """Take the other windows, what is in hand, and the station, in some themes."""
    taken: list[Path] = []
    window.resize(*SIZES[0])
    for look in looks:
        _put_on(look)
        shown = scenes(window, bench)
        taken += [_save(one, folder / f"{name}-{look.name}.png") for name, one in shown]
    station = station_of(bench, *SIZES[0])
    for look in looks:
        _put_on(look)
        taken += [_save(one, folder / f"{name}-{look.name}.png") for name, one in calm(station)]
    for name, one in alarm(bench, station):
        for look in looks:
            _put_on(look)
            settle()
            taken.append(_save(one, folder / f"{name}-{look.name}.png"))
    small = station_of(bench, *LEAST_STATION)
    taken.append(_save(small, folder / f"station-small-{looks[-1].name}.png"))
    station.close()
    return taken


def contact_sheet(files: Sequence[Path], to: Path) -> None:
    """Put many pictures on one, small, each with its name under it."""
    smooth, keep = Qt.TransformationMode.SmoothTransformation, Qt.AspectRatioMode.KeepAspectRatio
    high = round(_SMALL * SIZES[0][1] / SIZES[0][0])
    wide, tall = _SMALL + _GAP, high + _CAPTION + _GAP
    sheet = QImage(_COLUMNS * wide + _GAP, -(-len(files) // _COLUMNS) * tall + _GAP, QImage.Format.Format_RGB32)
    sheet.fill(QColor(theme.LIGHT.edge))
    painter = QPainter(sheet)
    for at, file in enumerate(files):
        x, y = _GAP + at % _COLUMNS * wide, _GAP + at // _COLUMNS * tall
        painter.drawImage(x, y, QImage(str(file)).scaled(_SMALL, high, keep, smooth))
        painter.drawText(x, y + high, _SMALL, _CAPTION, Qt.AlignmentFlag.AlignVCenter, file.stem)
    painter.end()
    sheet.save(str(to))


def _put_on(look: theme.Theme) -> None:
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    theme.apply(app, look)


def _save(widget: QWidget, file: Path) -> Path:
    widget.grab().save(str(file))
    return file


def main(arguments: list[str]) -> int:
    """Take all pictures into the folder that is named, and the sheet's pages beside them."""
    folders = [one for one in arguments if one != QUICK]
    if len(folders) != 1:
        sys.stderr.write(f"Say where the pictures go: python -m levelbench.gui.pictures [{QUICK}] FOLDER\n")
        return 2
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    folder = Path(folders[0])
    folder.mkdir(parents=True, exist_ok=True)
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    looks, sizes = ((theme.LIGHT,), SIZES[:1]) if QUICK in arguments else ((theme.LIGHT, theme.DARK), SIZES)
    theme.apply(app, theme.LIGHT)
    with TemporaryDirectory() as own:
        window, bench = make_window(None, Preferences(Path(own) / "window.ini"))
        window.show()
        wait(
            lambda: (
                not window.answers.working
                and not window.answers.waiting
                and bench.live is not None
                and bench.live.view is not None
            )
        )
        _run_a_while(bench)
        taken = [file for look in looks for file in take(window, folder, look, sizes)]
        pages = window.hand_over.pages.views()
        taken += [_save_page(page.image, folder / f"sheet-page-{at + 1}.png") for at, page in enumerate(pages)]
        taken += take_others(window, bench, folder, looks)
        contact_sheet(taken, folder / "contact-sheet.png")
        window.close()
    return 0


def _save_page(image: QImage, file: Path) -> Path:
    image.save(str(file))
    return file


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
