"""What is worth a picture besides the stages: the station, the other windows, and the window with something in hand."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QDialog, QPushButton, QWidget

from levelbench.gui.bands.way_shifts import Shifts
from levelbench.gui.bench.bench import Bench
from levelbench.gui.dialogs import ProblemsDialog
from levelbench.gui.help.about import AboutDialog
from levelbench.gui.interview.interview import Interview, Notes
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences_dialog import PreferencesDialog
from levelbench.gui.stages.describe import NAMES
from levelbench.gui.station.window import StationWindow
from levelbench.gui.tuning.way_record import Record
from levelbench.gui.ways.choice import Choice
from levelbench.gui.ways.way import Way
from levelbench.gui.work.jobs import busy
from levelbench.project import Problem, units
from levelbench.records.csv import write_csv
from levelbench.rig import Action, run

Scene = tuple[str, QWidget]
LONG = 300.0  # s; a first start compiles
_DRAGGED = "bands.high.limit"
_TOO_HIGH = 1.4  # times the limit: over the switch, so that a warning comes up
_WHAT_IF = 10.0  # s that a finding with something to try may take to come
_WORK = 90.0  # s that a way of tuning may work for its picture
# what a button says that begins the work of a way
BEGINS = ("Search", "Run the experiment", "Work it out", "Run the shifts", "Prove the silence")
_SHIFTS = "20"  # as typed: a thousand would take a minute
_SCRUBS = 8  # presses of Alt+Right
_RECORDED, _STEP_AT = 600.0, 120.0  # s of the record, and when its set point moves
_PROBLEM = Problem(12, "tank.diameter", "“twelve”", "a length such as 12 in", None, "This is no length.")


def wait(until: Callable[[], bool], longest: float = LONG) -> None:
    """Let the program work until something is so, or for `longest` [s]."""
    end = time.monotonic() + longest
    while not until() and time.monotonic() < end:
        QApplication.processEvents()
        time.sleep(0.005)


def settle() -> None:
    """Let everything be laid out and painted."""
    wait(lambda: False, 0.12)


def scenes(window: MainWindow, bench: Bench) -> Iterator[Scene]:
    """Bring one thing after another into sight, to be taken before the next; each is put away again."""
    for made in (_describe, _check, _tune, _alarms, _section, _dialogs, _help):
        for name, shown in made(window, bench):
            settle()
            yield name, shown


def _describe(window: MainWindow, _bench: Bench) -> Iterator[Scene]:
    window.rail.choose(0)
    window.activateWindow()
    settle()
    window.describe.go_to("drain.inlet_above_floor")
    yield "describe-field", window
    for at, name in enumerate(NAMES):
        window.describe.buttons.button(at).setChecked(True)
        yield f"describe-{name.lower()}", window
    window.describe.buttons.button(1).setChecked(True)


def _check(window: MainWindow, _bench: Bench) -> Iterator[Scene]:
    window.rail.choose(1)
    wait(lambda: any(box.finding.what_if for box in window.check.boxes()), _WHAT_IF)
    box = next((one for one in window.check.boxes() if one.finding.what_if), None)
    if box is None:
        return
    box.try_it.emit(box)
    wait(lambda: box.outcome is not None and box.outcome.adopt.isEnabled())
    yield "check-what-if", window
    box.leave()


def _tune(window: MainWindow, _bench: Bench) -> Iterator[Scene]:
    window.rail.choose(2)
    cell = window.tune.hand.grid.cells["standard", "gain"]
    cell.setFocus()
    for _ in range(_SCRUBS):
        _press(cell, Qt.Key.Key_Right, Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.ShiftModifier)
    settle()
    wait(lambda: busy() == 0, _WORK)
    settle()
    yield "tune-scrub", window
    window.tune.hand.does.large.click()
    settle()
    yield "tune-margins", window
    window.tune.hand.does.large.click()
    _press(cell, Qt.Key.Key_Escape)
    yield from _ways(window.tune, "tune", window)


def ask_little(way: Way) -> None:
    """Type few shifts into the box of the way that would run a thousand."""
    if isinstance(way, Shifts):
        box = way.form.shifts.boxes[0]
        box.selectAll()
        box.insert(_SHIFTS)


def _ways(stage: Choice, name: str, window: MainWindow) -> Iterator[Scene]:
    """Show every other way of a stage as it is found, and with what its work brings where a button begins it."""
    for key in list(stage.buttons)[1:]:
        way = stage.choose(key)
        settle()
        wait(lambda: busy() == 0, _WORK)
        settle()
        yield f"{name}-{key}", window
        if isinstance(way, Record):
            yield from _record(way, window)
        begins = [one for one in way.findChildren(QPushButton) if one.text() in BEGINS and one.isVisible()]
        if begins and begins[0].isEnabled():
            ask_little(way)
            begins[0].click()
            settle()
            wait(lambda: busy() == 0, _WORK)
            settle()
            yield f"{name}-{key}-done", window
    stage.choose(stage.offers.first)


def _record(way: Record, window: MainWindow) -> Iterator[Scene]:
    """Show a record of the bench's own rig, and what is fitted to it."""
    assert way.rig is not None
    project = way.rig.project
    step = Action(_STEP_AT, "set point", project.start.set_point.si + 4 * project.loop_settings.entry_step.si)
    with TemporaryDirectory() as folder:
        write_csv(run(way.rig, _RECORDED, actions=[step], every=5), Path(folder) / "record.csv", units(project))
        way.open(Path(folder) / "record.csv")
        wait(lambda: busy() == 0, _WORK)
        settle()
        yield "tune-record-read", window
        way.fits.begin()
        settle()
        wait(lambda: busy() == 0, _WORK)
        settle()
        yield "tune-record-done", window


def _alarms(window: MainWindow, _bench: Bench) -> Iterator[Scene]:
    """Show an alarm of another kind in full, and the whole table, then every other way."""
    window.rail.choose(3)
    ladder = window.alarms.ladder
    for _ in range(2):  # the fields come first, then there is something to scroll to
        ladder.go_to("bands.deviation.basis", focus=False)
        settle()
    yield "alarms-reasons", window
    ladder.large.click()
    wait(lambda: ladder.tables.whole.is_made)
    settle()
    yield "alarms-whole", window
    ladder.large.click()
    yield from _ways(window.alarms, "alarms", window)


def _press(widget: QWidget, key: Qt.Key, with_it: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    QApplication.sendEvent(widget, QKeyEvent(QEvent.Type.KeyPress, key, with_it))


def _section(window: MainWindow, bench: Bench) -> Iterator[Scene]:
    window.rail.choose(3)
    settle()
    section = bench.section
    section.choose(_DRAGGED)
    handle = section.hand.handle
    if handle is None:
        return
    frame = section.canvas.frame
    section.selected.emit(_DRAGGED)
    settle()
    section.hand.grasp(frame.y(handle.at(handle.value)))
    section.hand.drag(frame.y(handle.at(_TOO_HIGH * handle.value)), frame)
    section.update()
    yield "section-drag", window
    section.hand.give_up()
    section.update()


def _dialogs(window: MainWindow, _bench: Bench) -> Iterator[Scene]:
    interview = Interview(window, Notes({"diameter": "30 cm"}, 3))
    named: tuple[tuple[str, QDialog], ...] = (
        ("interview", interview),
        ("preferences", PreferencesDialog(window, window.preferences)),
        ("about", AboutDialog(window)),
        ("problems", ProblemsDialog(window, "sent.toml", [_PROBLEM])),
    )
    for name, dialog in named:
        dialog.open()
        yield name, dialog
        dialog.reject()


def _help(window: MainWindow, _bench: Bench) -> Iterator[Scene]:
    window.help.open("tune")
    if window.help.window is not None:
        yield "help", window.help.window
    window.help.close()
    window.rail.choose(0)
    window.help.tour.begin()
    yield "tour", window
    window.help.tour.end()


def station_of(bench: Bench, width: int, height: int) -> StationWindow:
    """Open the operator station in a size."""
    assert bench.station is not None
    bench.station.open()
    assert bench.station.window is not None
    bench.station.window.showNormal()
    bench.station.window.resize(width, height)
    settle()
    return bench.station.window


def calm(station: StationWindow) -> Iterator[Scene]:
    """Show the station as it is, then with a large change that it reads back."""
    settle()
    yield "station-calm", station
    pad = station.station.pad
    for key in "2.1":
        pad.type(key)
    pad.hand_in()
    settle()
    yield "station-read-back", station
    pad.say_no()
    pad.wipe()


def alarm(bench: Bench) -> None:
    """Break the wire of the sensor, and let some seconds go by."""
    live = bench.live
    assert live is not None
    assert live.view is not None
    until = live.view["time"] + 30.0
    bench.act("loop wire open", 1.0)
    live.run()
    wait(lambda: live.view is not None and live.view["time"] >= until, 60.0)
    live.pause()
    settle()


def standing(window: MainWindow) -> Iterator[Scene]:
    """Show the alarms that stand."""
    window.rail.choose(3)
    window.alarms.choose("standing")
    settle()
    yield "alarms-standing-alarm", window
    window.rail.choose(4)
    settle()
    yield "rehearse-alarm", window
