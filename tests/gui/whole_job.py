"""A whole job at the window, action by action, as a person does it: every field, command, stage and dialog."""

import gc
import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TypeVar

import walk
from every_command import commands
from pulse import Pulse
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QFileDialog, QLineEdit, QPushButton, QTableWidget, QWidget
from shiboken6 import isValid

from levelbench.gui import app
from levelbench.gui.bench.bench import Bench
from levelbench.gui.fields.forms import Form
from levelbench.gui.fields.sentences import SentenceBox
from levelbench.gui.look.closing import take_apart
from levelbench.gui.main_window import MainWindow
from levelbench.gui.pictures.scenes import BEGINS, ask_little
from levelbench.gui.preferences import Preferences
from levelbench.gui.rail import STAGES
from levelbench.gui.stages.describe import NAMES, PARTS
from levelbench.gui.stages.staged import ORDER
from levelbench.gui.ways.choice import Choice
from levelbench.gui.work import jobs
from levelbench.gui.work.sweeps import Sweeps
from levelbench.project import sample

T = TypeVar("T")
SWEEPS = gc.get_threshold()  # of the garbage collector, before the program takes them over
Do = Callable[[], object]
Act = tuple[str, Do] | tuple[str, Do, Callable[[], bool]]
CONTROL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
ALT = Qt.KeyboardModifier.AltModifier
LEFT = Qt.MouseButton.LeftButton


@dataclass
class Job:
    """A window with its bench, and a folder for what is saved; `every` field, or a few of each part."""

    window: MainWindow
    bench: Bench
    folder: Path
    every: bool = True

    def few(self, all_of_them: Sequence[T], count: int = 3) -> Sequence[T]:
        """Give all of something, or the first few."""
        return all_of_them if self.every else all_of_them[:count]

    def calm(self) -> bool:
        """Whether every answer is there and nothing is under way."""
        answers = self.window.answers
        return not answers.working and not answers.waiting and jobs.busy() == 0


def begin(folder: Path, *, every: bool = True) -> Job:
    """Open the window on a sample and wait until the bench stands."""
    path = folder / "job.toml"
    path.write_text(sample("seedling_house").read_text(encoding="utf-8"), encoding="utf-8")
    window, bench = app.make_window(path, Preferences())
    Sweeps(window)
    window.resize(1280, 800)
    window.show()
    window.activateWindow()
    made = Job(window, bench, folder, every)
    walk.until(lambda: bench.live is not None and bench.live.view is not None and made.calm(), 110)
    walk.settle()
    return made


def end(job: Job) -> None:
    """Close the window, which goes then bit by bit."""
    job.window.close()
    gc.set_threshold(*SWEEPS)
    take_apart(job.window, (job.window.document, job.window.answers))


def do_all(pulse: Pulse, job: Job, parts: tuple[Callable[[Job], Iterator[Act]], ...]) -> None:
    """Do every action of some parts of the job."""
    for part in parts:
        for name, do, *until in part(job):
            pulse.act(name, do, *until)
        pulse.act(f"{part.__name__}: its answers come", lambda: None, job.calm)


def stages(job: Job) -> Iterator[Act]:
    """Bring up each stage, twice: it is made only once."""
    for time in ("first", "again"):
        for at, name in enumerate(STAGES):
            key = Qt.Key(Qt.Key.Key_1 + at)
            yield f"stage {name}, {time}", lambda key=key: QTest.keyClick(job.window, key, CONTROL), job.calm


def describe(job: Job) -> Iterator[Act]:
    """Choose each part, and type into each of its fields."""
    yield "stage Describe", lambda: job.window.rail.choose(0)
    for at, name in enumerate(NAMES):
        button = job.window.describe.buttons.button(at)
        yield f"part {name}, first", lambda button=button: QTest.mouseClick(button, LEFT)
    for at, name in enumerate(NAMES):
        button = job.window.describe.buttons.button(at)
        yield f"part {name}, again", lambda button=button: QTest.mouseClick(button, LEFT)
        form = job.window.describe._made[name]
        if isinstance(form, Form):
            walk.until(lambda form=form: form.whole)
            yield from _type_in(job, PARTS[name])
        else:
            form.grid.setFocus()
            yield "lamp of the next mode", lambda form=form: QTest.keyClick(form.grid, Qt.Key.Key_Space)
            yield "undo a lamp", lambda: QTest.keyClick(job.window, Qt.Key.Key_Z, CONTROL)
    yield "go to the tank's diameter", lambda: job.window.go_to("tank.diameter")


def _type_in(job: Job, keys: tuple[str, ...]) -> Iterator[Act]:
    for key in job.few(keys):
        form = next(one for one in job.window.findChildren(Form) if key in one.fields)
        field = form.fields[key]
        if field.isHidden():
            continue
        yield f"go to {key}", lambda key=key: job.window.go_to(key)
        box = field.boxes()[0]
        if isinstance(box, QLineEdit):
            yield from _type(job, key, box)
        elif isinstance(box, QComboBox):
            yield from _choose(job, key, box)
        elif isinstance(box, SentenceBox):
            yield f"a letter into {key}", lambda box=box: QTest.keyClick(box, Qt.Key.Key_X)
            yield f"Enter in {key}", lambda box=box: QTest.keyClick(box, Qt.Key.Key_Return)
            yield f"undo {key}", job.window.document.undo_stack.undo
        elif not isinstance(box, QTableWidget):
            yield f"press {key}", lambda box=box: QTest.mouseClick(box, LEFT, pos=QPoint(8, box.height() // 2))
            yield f"undo {key}", job.window.document.undo_stack.undo


def _type(job: Job, key: str, box: QLineEdit) -> Iterator[Act]:
    """Put a blank into the text, which means the same and is an edit all the same; then take it back."""
    words = box.text() or box.placeholderText()
    box.setText(words)
    middle = words.find(" ") if " " in words else len(words)
    box.setCursorPosition(max(middle, 0))
    edits = job.window.document.undo_stack.index()
    yield f"a letter into {key}", lambda: QTest.keyClick(box, Qt.Key.Key_Space)
    yield f"Enter in {key}", lambda: QTest.keyClick(box, Qt.Key.Key_Return)
    if job.window.document.undo_stack.index() != edits:
        yield f"undo {key}", lambda: QTest.keyClick(box, Qt.Key.Key_Z, CONTROL)
        yield f"redo {key}", lambda: QTest.keyClick(box, Qt.Key.Key_Z, CONTROL | SHIFT)
        yield f"undo {key}", lambda: QTest.keyClick(box, Qt.Key.Key_Z, CONTROL)
    else:
        yield f"Escape in {key}", lambda: QTest.keyClick(box, Qt.Key.Key_Escape)


def _choose(job: Job, key: str, box: QComboBox) -> Iterator[Act]:
    stack = job.window.document.undo_stack
    for at in range(box.count()):
        edits = stack.index()
        yield f"choose {key}", lambda at=at: (box.setCurrentIndex(at), box.activated.emit(at))
        if stack.index() != edits:
            yield f"undo {key}", stack.undo
        else:
            yield f"Escape in {key}", lambda: QTest.keyClick(box, Qt.Key.Key_Escape)


def check(job: Job) -> Iterator[Act]:
    """Open findings, try one, adopt it, undo that; sift."""
    window = job.window
    yield "stage Check", lambda: window.rail.choose(1), job.calm
    for box in window.check.boxes():
        yield "open a finding", lambda box=box: box.fold.click()
    box = next(one for one in window.check.boxes() if one.finding.what_if)
    yield "try a finding", lambda: box.try_it.emit(box), lambda: box.outcome is not None and jobs.busy() == 0
    yield "adopt it", lambda: box.adopted.emit(box.finding)
    yield "the answers after adopting", lambda: None, job.calm
    yield "undo adopting", window.document.undo_stack.undo
    yield "the answers after undoing", lambda: None, job.calm
    yield "hide the good ones", window.check.filters["good"].click
    yield "show the good ones", window.check.filters["good"].click
    yield "copy as text", window.check.copy_text.click
    yield "copy as CSV", window.check.copy_csv.click
    go_to = next(one.finding.go_to for one in window.check.boxes() if one.finding.go_to)
    yield "go there", lambda: window.check.go_to.emit(go_to)


def tune(job: Job) -> Iterator[Act]:
    """Scrub a setting, let go, undo; type into each field."""
    window = job.window
    yield "stage Tune", lambda: window.rail.choose(2), job.calm
    for form, row in (("standard", "gain"), ("parallel", "gain")):
        cell = window.tune.hand.grid.cells[form, row]
        yield "into a cell", cell.setFocus
        for _ in range(4):
            yield "scrub", lambda cell=cell: QTest.keyClick(cell, Qt.Key.Key_Right, ALT)
        yield "what the scrub would do", lambda: None, lambda: jobs.busy() == 0
        yield "Enter after a scrub", lambda cell=cell: QTest.keyClick(cell, Qt.Key.Key_Return)
        yield "the answers after a scrub", lambda: None, job.calm
        yield "undo a scrub", window.document.undo_stack.undo
        yield "the answers after undoing a scrub", lambda: None, job.calm
    for key in ("loop_settings.gain", "loop_settings.output_rate"):
        yield "unfold settings", lambda key=key: window.tune.go_to(key)
    for form in window.tune.hand.findChildren(Form):
        yield from _type_in(job, tuple(form.fields))
    yield from _ways(job)


def _ways(job: Job) -> Iterator[Act]:
    """Show the margins, move over them, scrub beside them; then every way."""
    hand = job.window.tune.hand
    yield "the margins", hand.does.large.click
    for key in (Qt.Key.Key_Home, Qt.Key.Key_Left, Qt.Key.Key_PageDown):
        yield "move over the margins", lambda key=key: QTest.keyClick(hand.does.picture.canvas, key)
    cell = hand.grid.cells["standard", "gain"]
    yield "scrub beside the margins", lambda: QTest.keyClick(cell, Qt.Key.Key_Right, ALT)
    yield "the margins that would be", lambda: None, lambda: jobs.busy() == 0
    yield "take the scrub back", lambda: QTest.keyClick(cell, Qt.Key.Key_Escape)
    yield "drawing and trend", hand.does.picture.back.click
    yield from _ways_of(job, job.window.tune)


def _ways_of(job: Job, stage: Choice) -> Iterator[Act]:
    """Choose every way of a stage, twice, and begin its work."""
    for key in (*stage.buttons, *stage.buttons):
        yield f"way {key}", stage.buttons[key].click, lambda key=key: key in stage.ways and jobs.busy() == 0
        begins = [one for one in stage.ways[key].findChildren(QPushButton) if one.text() in BEGINS]
        for one in begins[:1] if job.every else []:
            yield f"little asked of {key}", partial(ask_little, stage.ways[key])
            yield f"{one.text()} of {key}", one.click, lambda: jobs.busy() == 0
    yield "the first way again", stage.buttons[stage.offers.first].click


def alarms(job: Job) -> Iterator[Act]:
    """Choose each limit, type into each of its fields, leave one out and take it up again, scrub a cell."""
    ladder = job.window.alarms.ladder
    yield "stage Alarms", lambda: job.window.rail.choose(3), job.calm
    others = ("rate_of_change", "no_rise", "frozen_signal", "bad_signal", "switch", "spill")
    for band in ("deviation", "low_low", "low", "high", "high_high", *others):
        yield f"alarm {band}, first", lambda band=band: ladder.table.choose(band), job.calm
    for band in ("low", "high"):
        yield f"alarm {band}, again", lambda band=band: ladder.table.choose(band), job.calm
        yield from _type_in(job, tuple(key for key in ladder.card.fields if key.startswith(f"bands.{band}.")))
    yield "leave a limit out", ladder.table.rows["high"].in_use.click
    yield "take a limit up", ladder.table.rows["high"].in_use.click
    yield "the answers after a limit", lambda: None, job.calm
    cell = ladder.table.cell("high", "volume")
    yield "into a limit's cell", cell.setFocus
    for _ in range(3):
        yield "scrub a limit", lambda: QTest.keyClick(cell, Qt.Key.Key_Right, ALT)
    yield "what the limit would do", lambda: None, lambda: jobs.busy() == 0
    yield "take the limit back", lambda: QTest.keyClick(cell, Qt.Key.Key_Escape)
    yield "the whole table", ladder.large.click, lambda: ladder.tables.whole.is_made
    yield "drawing and trend again", ladder.large.click
    yield from _ways_of(job, job.window.alarms)


def section(job: Job) -> Iterator[Act]:
    """Drag heights on the section, move them by keys, type one, zoom, copy."""
    view = job.bench.section
    for key in ("bands.high.limit", "start.set_point", "sensor.face_above_floor", "drain.inlet_above_floor"):
        if key not in view.hand.handles:
            continue
        yield "choose a handle", lambda key=key: (view.choose(key), view.selected.emit(key))
        place = view.canvas.place_of(key)
        yield "press on a handle", lambda place=place: QTest.mousePress(view, LEFT, pos=place.toPoint())
        for step in range(1, 6):
            to = (place - QPointF(0, 4 * step)).toPoint()
            yield f"drag {key}", lambda to=to: QTest.mouseMove(view, to)
        yield f"let go {key}", lambda to=to: QTest.mouseRelease(view, LEFT, pos=to)
        yield "the answers after a drag", lambda: None, job.calm
    view.choose("bands.high.limit")
    view.setFocus()
    yield "arrow key on a handle", lambda: QTest.keyClick(view, Qt.Key.Key_Up)
    yield "undo on the section", lambda: QTest.keyClick(view, Qt.Key.Key_Z, CONTROL)
    yield "type on the section", view.open_editor
    yield "close the editor", lambda: QTest.keyClick(view.editor, Qt.Key.Key_Escape)
    for words, key in (("nearer", Qt.Key.Key_Plus), ("farther", Qt.Key.Key_Minus), ("whole", Qt.Key.Key_0)):
        yield f"zoom {words}", lambda key=key: QTest.keyClick(view, key, CONTROL)
    yield "copy the drawing", lambda: QTest.keyClick(view, Qt.Key.Key_C, CONTROL)


def live(job: Job) -> Iterator[Act]:
    """Start, watch at 200 ×, edit meanwhile, pause."""
    window, run = job.window, job.bench.live
    assert run is not None
    yield "stage Rehearse", lambda: window.rail.choose(4)
    yield "200 ×", lambda: window.bar.speed.activated.emit(window.bar.speed.count() - 1)
    yield "run", lambda: QTest.mouseClick(window.bar.run_button, LEFT)
    yield "watch the run", lambda: None, _later(run, 200.0)
    for at, name in enumerate(STAGES):
        yield f"stage {name} while it runs", lambda at=at: window.rail.choose(at), _later(run, 20.0)
    yield "an edit while it runs", lambda: window.document.edit("loop_settings.gain", "3.0"), job.calm
    yield "watch on", lambda: None, _later(run, 100.0)
    yield "undo while it runs", window.document.undo_stack.undo, job.calm
    controls = window.rehearse.controls
    yield "stop", controls.stop.click, _later(run, 20.0)
    yield "stop released", controls.stop.click, _later(run, 20.0)
    yield "pause", lambda: QTest.mouseClick(window.bar.run_button, LEFT)
    yield "one scan", lambda: QTest.mouseClick(window.bar.scan_button, LEFT)


def _later(run: object, seconds: float) -> Callable[[], bool]:
    """Give a question whether the run has gone on by some seconds since it was first asked."""
    asked: list[float] = []

    def later() -> bool:
        now = run.view["time"]  # type: ignore[attr-defined]
        asked.append(now)
        return bool(now >= asked[0] + seconds)

    return later


def beside(job: Job) -> Iterator[Act]:
    """Open a second window, on each stage in turn, and close it with all of its stages made."""
    preferences = Preferences()
    for at, name in job.few(tuple(enumerate(STAGES))):
        preferences.stage = at
        made: list[MainWindow] = []
        yield f"another window on {name}", lambda made=made: made.append(app.show_another(preferences, None))
        yield f"what comes into it, {name}", lambda: None, lambda made=made: _stands(made[0])
        yield f"close it on {name}", made[0].close, lambda made=made: not isValid(made[0])
    job.window.activateWindow()


def _stands(window: MainWindow) -> bool:
    """Whether every stage of a window is there, and every answer."""
    answers = window.answers
    whole = all(name in vars(window) for name in ORDER)
    return whole and not answers.working and not answers.waiting and jobs.busy() == 0


def window_itself(job: Job) -> Iterator[Act]:
    """Resize with each stage in sight, change the theme and back, come back from another window."""
    window = job.window
    for at, name in job.few(tuple(enumerate(STAGES)), 4):  # an even number: the theme is what it was
        yield f"stage {name} before a new size", lambda at=at: window.rail.choose(at), job.calm
        for width, height in ((1400, 900), (1280, 800)):
            yield f"resize in {name}", lambda size=(width, height): window.resize(*size)
        yield f"theme in {name}", window.menus.switch_theme
        if job.every:
            yield f"theme back in {name}", window.menus.switch_theme
    yield "move the splitter", lambda: window.centre.setSizes([300, 400])
    yield "splitter back", lambda: window.centre.setSizes([2000, 256])
    yield "come back", window.activateWindow


def files(job: Job) -> Iterator[Act]:
    """Edit, save, save under a name, open another file and come back, revert."""
    window, own = job.window, job.folder / "job.toml"
    other = job.folder / "other.toml"
    other.write_text(sample("parts_washer").read_text(encoding="utf-8"), encoding="utf-8")
    for at, stage in job.few(((1, "Check"), (2, "Tune"), (0, "Describe"), (3, "Alarms")), 2):
        window.rail.choose(at)
        yield f"open a file in {stage}", lambda: window.files.open(other), lambda: window.document.path == other
        yield f"its answers in {stage}", lambda: None, job.calm
        yield f"open the other in {stage}", lambda: window.files.open(own), lambda: window.document.path == own
        yield f"the other's answers in {stage}", lambda: None, job.calm
    window.rail.choose(0)
    yield "an edit to be saved", lambda: window.document.edit("title", "A rig of my own")
    yield "save", lambda: QTest.keyClick(window, Qt.Key.Key_S, CONTROL)
    yield "another edit", lambda: window.document.edit("title", "A rig of somebody")
    yield "revert", window.files.revert, job.calm
    yield "save as", lambda: window.files.save_to(job.folder / "copy.toml")


def hand_over(job: Job) -> Iterator[Act]:
    """Make the sheet, fill in its head."""
    window = job.window
    yield "stage Describe before the sheet", lambda: window.rail.choose(0)
    yield "a gain for the sheet", lambda: window.document.edit("loop_settings.gain", "3.1"), job.calm
    yield "stage Hand over, a new sheet", lambda: window.rail.choose(5), lambda: window.hand_over.printed is not None
    yield from _type_in(job, PARTS["Sheet"])
    yield "its answers after the head", lambda: None, job.calm


def answer_dialogs(monkeypatch: object, folder: Path) -> None:
    """Let the dialogs of the desktop answer by themselves."""
    set_to = monkeypatch.setattr  # type: ignore[attr-defined]
    numbers = itertools.count()

    def to_save(_parent: QWidget, _title: str, start: str, *_more: str) -> tuple[str, str]:
        return str(folder / f"saved-{next(numbers)}-{Path(start).name}"), ""

    set_to(QFileDialog, "getSaveFileName", to_save)
    set_to(QFileDialog, "getOpenFileName", lambda *_all: (str(folder / "job.toml"), ""))


QUICK = (stages, describe, check, tune, alarms, section, hand_over, files, window_itself, beside)
ALL = (stages, describe, check, tune, alarms, section, live, hand_over, files, window_itself, beside, commands)
