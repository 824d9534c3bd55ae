"""A walk over everything of a window in sight: what has less room than its words, what the keys can't reach.

A column may scroll up and down; nothing may be cut.
"""

import math
import time
from collections.abc import Callable, Iterator

from boxes import lengthen_boxes, longer
from PySide6.QtCore import QEvent, QRect, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QApplication,
    QCheckBox,
    QComboBox,
    QDialog,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QWidget,
)

from levelbench.gui.bands.rows import ALARMS
from levelbench.gui.bench.bench import Bench
from levelbench.gui.dialogs import ProblemsDialog
from levelbench.gui.findings.finding_box import FindingBox
from levelbench.gui.help.about import AboutDialog
from levelbench.gui.interview.interview import Interview, Notes
from levelbench.gui.look.elided import Elided
from levelbench.gui.look.scene_view import Drawn
from levelbench.gui.main_window import MainWindow
from levelbench.gui.pictures.scenes import BEGINS, ask_little
from levelbench.gui.preferences_dialog import PreferencesDialog
from levelbench.gui.stages.describe import LIGHTS, NAMES
from levelbench.gui.ways.choice import Choice
from levelbench.gui.work.jobs import busy
from levelbench.gui.work.slices import at_work
from levelbench.project import Problem

Place = tuple[str, QWidget]


def settle(rounds: int = 5) -> None:
    """Let what is made in turns of the event loop be made, and layouts take their places."""
    until(lambda: not at_work())
    for _ in range(rounds):
        QApplication.processEvents()


def until(so: Callable[[], bool], longest: float = 60.0) -> None:
    """Let the program work until something is so, at most `longest` [s]."""
    end = time.monotonic() + longest
    while not so():
        assert time.monotonic() < end
        QApplication.processEvents()
        time.sleep(0.005)


def places(window: MainWindow, bench: Bench, *, every: bool) -> Iterator[Place]:
    """Bring every stage and every other window into sight, one after another; or of what is alike some only."""
    for at, name in enumerate(("Describe", "Check", "Tune", "Alarms", "Rehearse", "Hand over")):
        window.rail.choose(at)
        settle()
        if name == "Describe":
            for part in (
                range(len(NAMES)) if every else (NAMES.index("Tank"), NAMES.index("Drain"), NAMES.index(LIGHTS))
            ):
                window.describe.buttons.button(part).setChecked(True)
                settle()
                yield f"Describe, {NAMES[part]}", window
        elif name == "Check":
            until(lambda: len(window.check.boxes()) > 10)
            settle()
            yield name, window
            yield from _what_if(window)
        elif name == "Tune":
            yield from _ways(window.tune, name, window, every=every)
            yield from _margins(window)
        elif name == "Alarms":
            yield from _ladder(window, every=every)
            yield from _ways(window.alarms, name, window, every=every)
        else:
            yield name, window
    yield from _station(bench)
    yield from _interview(window, every=every)
    yield from _dialogs(window)


def _ways(stage: Choice, name: str, window: MainWindow, *, every: bool) -> Iterator[Place]:
    """Show every way of a stage, maybe with what its work brings."""
    for key in stage.buttons:
        way = stage.choose(key)
        settle()
        yield f"{name}, {key}", window
        until(lambda: busy() == 0)
        settle()
        yield f"{name}, {key}, worked out", window
        begins = [one for one in way.findChildren(QPushButton) if one.text() in BEGINS and one.isVisible()]
        for one in begins[:1] if every else []:
            ask_little(way)
            one.click()
            settle()
            until(lambda: busy() == 0, 120)
            settle()
            yield f"{name}, {key}, {one.text()}", window
    stage.choose(stage.offers.first)


def _ladder(window: MainWindow, *, every: bool) -> Iterator[Place]:
    """Show alarms in full, taken into use and left out, then the whole table."""
    ladder = window.alarms.ladder
    edits = window.document.undo_stack.count()
    for key in [row.key for row in ALARMS] if every else ("rate_of_change", "spill"):
        box = ladder.table.rows[key].in_use
        assert box is not None
        ladder.table.choose(key)
        until(lambda: not ladder.card.busy)
        settle(20)
        yield f"Alarms, {key}, {'in use' if box.isChecked() else 'left out'}", window
        box.click()
        until(lambda: not window.answers.working)
        settle(20)
        yield f"Alarms, {key}, {'in use' if box.isChecked() else 'left out'}", window
    ladder.large.click()
    until(lambda: ladder.tables.whole.is_made)
    settle()
    yield "Alarms, the whole table", window
    ladder.large.click()
    window.document.undo_stack.setIndex(edits)
    until(lambda: not window.answers.working)


def _margins(window: MainWindow) -> Iterator[Place]:
    """Show the margins in the room of drawing and trend."""
    hand = window.tune.hand
    until(hand.does.isVisible)
    hand.does.large.click()
    settle()
    yield "Tune, margins", window
    hand.does.large.click()
    settle()


def _what_if(window: MainWindow) -> Iterator[Place]:
    box = next((one for one in window.check.boxes() if one.finding.what_if), None)
    if box is None:
        return
    box.try_it.emit(box)
    until(lambda: box.outcome is not None and box.outcome.adopt.isEnabled())
    yield "Check, what if", window
    box.leave()
    settle()


def _station(bench: Bench) -> Iterator[Place]:
    """Show the station on three screens, with a large change that it reads back on the last."""
    assert bench.station is not None
    bench.station.open()
    station = bench.station.window
    assert station is not None
    station.showNormal()
    for width, height in ((1280, 800), (800, 600), (640, 400)):
        station.resize(width, height)
        settle()
        yield f"station {width} × {height}", station
    pad = station.station.pad
    target = pad.target
    for key in target.bare(target.low + target.step):
        pad.type(key)
    pad.hand_in()
    settle()
    yield "station, read back", station
    station.close()


def _interview(window: MainWindow, *, every: bool) -> Iterator[Place]:
    interview = Interview(window, Notes())
    interview.open()
    for at in range(len(interview.pages)) if every else (1, 3):
        interview.show_question(at)
        settle()
        yield f"interview, question {at + 1}", interview
    _close(interview)


def _dialogs(window: MainWindow) -> Iterator[Place]:
    problem = Problem(12, "tank.diameter", "“twelve”", "a length such as 12 in", None, "This is no length.")
    for dialog in (
        PreferencesDialog(window, window.preferences),
        AboutDialog(window),
        ProblemsDialog(window, "a file that was sent.toml", [problem] * 3),
    ):
        dialog.open()
        settle()
        yield type(dialog).__name__, dialog
        _close(dialog)
    window.help.open("start")
    settle()
    assert window.help.window is not None
    yield "help", window.help.window
    window.help.close()


def _close(dialog: QDialog) -> None:
    dialog.reject()
    settle()


def lay_out(window: QWidget) -> None:
    """Let everything ask anew for its room, and take it."""
    for each in window.findChildren(QWidget):
        each.updateGeometry()
    for picture in window.findChildren(Drawn):
        QApplication.sendEvent(picture, QEvent(QEvent.Type.LocaleChange))  # what is drawn once is drawn anew
    settle()


def worded(window: QWidget) -> list[QLabel | QAbstractButton]:
    """Give every label and button of a window that is in sight and says something."""
    found: list[QLabel | QAbstractButton] = [one for one in window.findChildren(QLabel) if one.isVisible()]
    found += [one for one in window.findChildren(QAbstractButton) if one.isVisible()]
    found = [one for one in found if one.text() and not isinstance(one.parent(), QComboBox)]
    return [one for one in found if not isinstance(one, Elided)]  # ends in "…", and its tooltip says all of it


def cut(window: QWidget) -> list[str]:
    """Say what of a window has less room than its words."""
    return [f"“{one.text()[:60]}”: {why}" for one in worded(window) if (why := _short(one) or hidden(one, window))]


def _short(one: QLabel | QAbstractButton) -> str:
    """Say by how much a label or a button is too small for what it says; "" when it is not."""
    if isinstance(one, QLabel) and one.wordWrap():
        needs = one.heightForWidth(one.width())
        words = max((_width(one, word) for word in one.text().split()), default=0)
        if words > one.width():
            return f"a word of it is {words} px wide, there are {one.width()}"
        return f"{needs} px high, there are {one.height()}" if needs > one.height() + 1 else ""
    lines = one.text().replace("&", "").split("\n")
    wide = max(_width(one, line) for line in lines) + (22 if isinstance(one, QCheckBox) else 0)
    high = one.fontMetrics().height() * len(lines)
    if isinstance(one, QLabel) and one.textFormat() == Qt.TextFormat.RichText:
        wide, high = one.minimumSizeHint().width(), one.minimumSizeHint().height()
    if wide > one.width() + 1:
        return f"{wide} px wide, there are {one.width()}"
    return f"{high} px high, there are {one.height()}" if high > one.height() + 1 else ""


def _width(one: QWidget, words: str) -> int:
    """Give how wide words are; in bold on a button that is so when chosen, which its own font does not tell."""
    font = one.font()
    font.setBold(font.bold() or (one.property("role") == "part" and not one.property("low")))
    return math.floor(QFontMetrics(font).horizontalAdvance(words))


def hidden(one: QWidget, window: QWidget, part: QRect | None = None) -> str:
    """Say which widget around another cuts it, or a part of it; a scrolling column doesn't, up and down."""
    whole, below = part or one.rect(), one
    around = one.parentWidget()
    while around is not None and below is not window:
        area = around.parentWidget()
        scrolls = isinstance(area, QAbstractScrollArea) and area.viewport() is around
        place = QRect(one.mapTo(around, whole.topLeft()), whole.size())
        room = around.rect()
        sideways = scrolls and isinstance(area, QScrollArea) and _bar_may_show(area)
        if not sideways and (place.left() < room.left() - 1 or place.right() > room.right() + 1):
            return f"cut at a side by {type(area if scrolls else around).__name__}, {place} in {room}"
        if not scrolls and (place.top() < room.top() - 1 or place.bottom() > room.bottom() + 1):
            return f"cut above or below by {type(around).__name__}, {place} in {room}"
        if scrolls:
            return ""
        below, around = around, around.parentWidget()
    return ""


def _bar_may_show(area: QScrollArea) -> bool:
    return area.horizontalScrollBarPolicy() != Qt.ScrollBarPolicy.ScrollBarAlwaysOff


def lengthen(window: QWidget) -> Callable[[], None]:
    """Make every word in sight longer, as another language would; gives what puts it back."""
    before = [(one, one.text()) for one in worded(window)]
    undo = lengthen_boxes(window)
    for one, words in before:
        one.setText(longer(words, apart=_wraps(one)))

    def put_back() -> None:
        undo()
        for one, words in before:
            one.setText(words)

    return put_back


def _wraps(one: QWidget) -> bool:
    return isinstance(one, QLabel) and one.wordWrap()


def unreached(window: QWidget) -> list[str]:
    """Say which control in sight has no name, and which the tab key doesn't reach."""
    kinds = (QAbstractButton, QLineEdit, QComboBox)
    controls = [one for kind in kinds for one in window.findChildren(kind) if one.isVisible() and one.isEnabled()]
    said = []
    for one in controls:
        if one.objectName().startswith("qt_") or isinstance(one.parent(), (QComboBox, QLineEdit)):
            continue  # Qt's own
        if not one.accessibleName():
            said.append(f"{type(one).__name__} “{'' if isinstance(one, QComboBox) else one.text()}” has no name")
        if not _by_tab(one) and not _by_another(one):
            said.append(f"{one.accessibleName()}: the tab key doesn't reach it")
    return said


def _by_tab(one: QWidget) -> bool:
    return bool(one.focusPolicy() & Qt.FocusPolicy.TabFocus)


def _by_another(one: QWidget) -> bool:
    """Whether the keys reach a control through one beside it: arrows in a group, Space on a row."""
    group = one.group() if isinstance(one, QAbstractButton) else None
    if group is not None and group.exclusive():
        return any(_by_tab(other) for other in group.buttons() if other.isVisible())
    around = one.parentWidget()
    while around is not None:
        if isinstance(around, FindingBox):
            return _by_tab(around)
        around = around.parentWidget()
    return False
