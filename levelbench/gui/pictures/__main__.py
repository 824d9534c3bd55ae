"""Pictures of the real window, for the README and for a critical eye: every stage and window in both themes, the
sheet, and one picture of them all.

python -m levelbench.gui.pictures --help
"""

import argparse
import os
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from PySide6.QtWidgets import QApplication, QWidget

from levelbench.gui.app import make_window
from levelbench.gui.bench.bench import Bench
from levelbench.gui.look import theme
from levelbench.gui.main_window import MainWindow
from levelbench.gui.pictures.scenes import Scene, alarm, calm, scenes, settle, standing, station_of, wait
from levelbench.gui.pictures.sheet import Group, contact_sheet
from levelbench.gui.preferences import Preferences
from levelbench.gui.rail import STAGES

SIZES = ((1280, 800), (1920, 1080))
LOOKS = {look.name: look for look in (theme.LIGHT, theme.DARK)}
LEAST_STATION = (800, 600)
_SPEED = 50


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


def take_stages(window: MainWindow, folder: Path, look: theme.Theme, size: tuple[int, int]) -> Group:
    """Take every stage of a window in a theme and a size."""
    _put_on(look)
    width, height = size
    window.resize(width, height)
    taken = []
    for at, name in enumerate(STAGES):
        window.rail.choose(at)
        if at == len(STAGES) - 1:
            wait(lambda: window.hand_over.printed is not None)
        settle()
        taken.append(_save(window, folder / f"{name.lower().replace(' ', '-')}-{look.name}-{width}.png"))
    return Group(f"The stages, {look.name}, {width} × {height}", (*taken,))


def take_others(window: MainWindow, bench: Bench, folder: Path, look: theme.Theme) -> Group:
    """Take the other windows and what is in hand in a theme."""
    _put_on(look)
    window.resize(*SIZES[0])
    return Group(f"Ways, dialogs and what is in hand, {look.name}", _all(scenes(window, bench), folder, look))


def take_station(window: MainWindow, bench: Bench, folder: Path, looks: Sequence[theme.Theme]) -> Group:
    """Take the station, calm and with an alarm, and what the window says of that; the sensor stays broken."""
    station = station_of(bench, *SIZES[0])
    taken: list[Path] = []
    for look in looks:
        _put_on(look)
        taken += _all(calm(station), folder, look)
    alarm(bench)
    for look in looks:
        _put_on(look)
        settle()
        taken.append(_save(station, folder / f"station-alarm-{look.name}.png"))
    small = station_of(bench, *LEAST_STATION)
    taken.append(_save(small, folder / f"station-small-{looks[-1].name}.png"))
    station.close()
    for look in looks:
        _put_on(look)
        taken += _all(standing(window), folder, look)
    return Group("The operator station, and alarms that stand", (*taken,))


def take_pages(window: MainWindow, folder: Path) -> Group:
    """Take the pages of the sheet."""
    files = []
    for at, page in enumerate(window.hand_over.pages.views()):
        files.append(folder / f"sheet-page-{at + 1}.png")
        page.image.save(str(files[-1]))
    return Group("The loop-settings sheet", (*files,))


def _all(shown: Iterable[Scene], folder: Path, look: theme.Theme) -> tuple[Path, ...]:
    return tuple(_save(one, folder / f"{name}-{look.name}.png") for name, one in shown)


def _put_on(look: theme.Theme) -> None:
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    theme.apply(app, look)


def _save(widget: QWidget, file: Path) -> Path:
    widget.grab().save(str(file))
    return file


def _asked(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser("python -m levelbench.gui.pictures", description="Take pictures of every window.")
    parser.add_argument("folder", type=Path, help="where the pictures go")
    parser.add_argument("--project", type=Path, help="the project that is shown; left out: a sample")
    parser.add_argument("--theme", choices=LOOKS, help="one theme only")
    parser.add_argument("--quick", action="store_true", help="one theme (light, unless another is named), one size")
    return parser.parse_args(arguments)


def main(arguments: list[str]) -> int:
    """Take all pictures into the folder that is named, with one of them all."""
    asked = _asked(arguments)
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    asked.folder.mkdir(parents=True, exist_ok=True)
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    named = [LOOKS[asked.theme]] if asked.theme else [*LOOKS.values()]
    looks, sizes = (named[:1], SIZES[:1]) if asked.quick else (named, SIZES)
    theme.apply(app, looks[0])
    with TemporaryDirectory() as own:
        window, bench = make_window(asked.project, Preferences(Path(own) / "window.ini"))
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
        groups = [take_stages(window, asked.folder, look, size) for look in looks for size in sizes]
        pages = take_pages(window, asked.folder)
        groups += [take_others(window, bench, asked.folder, look) for look in looks]
        groups.append(take_station(window, bench, asked.folder, looks))
        contact_sheet([*groups, pages], asked.folder / "contact-sheet.png")
        window.close()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
