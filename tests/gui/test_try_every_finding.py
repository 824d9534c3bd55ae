"""Every change that a rule offers: tried before → after tells what a fresh review of the adopted project tells."""

import random
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress

import pytest
from PySide6.QtWidgets import QApplication, QGridLayout, QLabel, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.fields.field import Field
from levelbench.gui.fields.lamp_grid import LampGrid
from levelbench.gui.findings.before_after import BeforeAfter
from levelbench.gui.findings.finding_box import FindingBox
from levelbench.gui.findings.what_if import Trier, WhatIf
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.main_window import MainWindow
from levelbench.gui.work.answers import Checked, check
from levelbench.gui.work.jobs import Progress
from levelbench.project import Project, Value, edit_many, load, sample, units
from levelbench.quantity import LevelBenchError, Units
from levelbench.review import Finding

LONG = 100_000  # ms; the first test of a run compiles the scan
OFTEN = 4  # tries of one rule
OFFER = 36  # rules that offer edits on some of these rigs
QUIET = Progress(lambda _fraction, _words: None)
MARKS = {"stop": "■ to fix", "attend": "▲ to weigh", "good": "✓ good"}
SLIPS: dict[str, tuple[Value, ...]] = {
    "overflow_switch.fitted": (False,),
    "overflow_switch.trips_at": ("8.3 in", "9 in", "15 in"),
    "sensor.near_dead_zone": ("8 in", "2 in"),
    "sensor.averaging": (1, 300),
    "sensor.converter_range": (["4 mA", "20 mA"],),
    "pump.largest_flow": ("0.4 gal/min", "6 gal/min"),
    "reservoir.charge": ("4 gal", "11.9 gal"),
    "loop_settings.integral": ("3 s",),
    "loop_settings.gain": ("5 %/gal", "9000 %/gal"),
    "loop_settings.derivative": ("4 s",),
    "loop_settings.set_point_weight": ("1",),
    "loop_settings.set_point_high": ("4.9 gal",),
    "loop_settings.entry_step": ("0.0005 gal", "0.5 gal"),
    "loop_settings.scan": ("5 s",),
    "bands.high": (None,),
    "bands.high.limit": ("3.9 gal", "5.5 gal", "4.99 gal"),
    "bands.high.dead_band": ("0 gal",),
    "bands.low.on_delay": ("10 min",),
    "bands.deviation.limit": ("0.01 gal", "3 gal"),
    "duty.largest_draw": ("3 gal/min",),
    "duty.air_swing": ("30 K",),
    "duty.time_to_act": ("2 h", "160 s"),
    "alarm_handling.protection": ("operator may act",),
    "bands.high.operator_action": (None,),
    "bands.high.priority": ("low",),
    "bands.low.time_available": ("10 min",),
    "sensor.air_temperature": ("70 °C",),
    "sensor.face_above_floor": ("13 in",),
    "sensor.signal_span": (["13 in", "7 in"], ["22 in", "2 in"]),
    "sensor.noise": ("0.5 in",),
    "sensor.resolution": ("5 mm",),
    "pump.slowest_flow": ("0.5 gal/min",),
    "pump.fill_end_above_floor": ("1 in",),
    "pump.check_valve": (True,),
    "reservoir.capacity": ("8 gal",),
    "reservoir.floor_below_tank_floor": ("-30 in",),
    "drain.inlet_above_floor": ("3.5 in",),
    "drain.outlet_above_floor": ("6 in",),
    "drain.valve_cv": ("0.1",),
    "drain.crest_above_floor": ("26 ft", "40 ft"),
    "loop_settings.action": ("direct",),
    "bands.low.limit": ("0.8 gal",),
    "stack_light": ([{"state": "normal", "green": "steady"}],),
}

TWO_POINTS: dict[str, Value] = {"sensor.scaled_by": "two points", "sensor.volume_at_ends": ["0.2 gal", "5 gal"]}
DROWNED: dict[str, Value] = {
    "pump.vented": False, "pump.check_valve": False, "pump.fill_end_above_floor": "1 in",
}  # fmt: skip


def spoiled(seed: int) -> Project:
    """A sample with some slips of a person, the same for the same seed, that can still be built."""
    dice = random.Random(seed)
    while True:
        keys = dice.sample(sorted(SLIPS), dice.randint(2, 5))
        if "bands.high" in keys:  # what is left out has no limit and no dead band
            keys = [key for key in keys if not key.startswith("bands.high.")]
        changes = {key: dice.choice(SLIPS[key]) for key in keys}
        try:
            project = edit_many(load(sample("seedling_house")), changes)
            check(project, QUIET)
        except LevelBenchError:
            continue
        return project


def every_rig() -> Iterator[tuple[str, Project]]:
    yield from ((name, load(sample(name))) for name in ("seedling_house", "parts_washer"))
    for key, values in SLIPS.items():
        for value in values:
            with suppress(LevelBenchError):
                yield f"{key} {value}", edit_many(load(sample("seedling_house")), {key: value})
    for name, changes in (("two points", TWO_POINTS), ("drowned fill end", DROWNED)):
        yield name, edit_many(load(sample("seedling_house")), changes)
    yield from ((f"seed {seed}", spoiled(seed)) for seed in range(10))


@pytest.fixture(scope="module")
def rigs() -> list[tuple[str, Project, Checked]]:
    made = []
    for name, project in every_rig():
        with suppress(LevelBenchError):  # one that can't be built has no findings
            made.append((name, project, check(project, QUIET)))
    return made


def tables(widget: QWidget) -> list[dict[str, tuple[str, str]]]:
    """Read the tables of figures: name → (before, after)."""
    found = []
    for one in widget.findChildren(QWidget):
        grid = one.layout()
        if isinstance(grid, QGridLayout):
            words = [[_words(grid, at, place) for place in (0, 1, 3)] for at in range(grid.rowCount())]
            found.append({name: (was, then) for name, was, then in words if name})
    return found


def _words(grid: QGridLayout, at: int, place: int) -> str:
    item = grid.itemAtPosition(at, place)
    label = item.widget() if item is not None else None
    return label.text() if isinstance(label, QLabel) else ""


def said(finding: Finding, shown_in: Units) -> dict[str, str]:
    return {one.name: shown_in.tell(one) for one in finding.figures}


def test_before_and_after_are_those_of_a_fresh_review_of_the_adopted_project(
    qtbot: QtBot, rigs: list[tuple[str, Project, Checked]]
) -> None:
    """Each change is tried through the window's own trier, then adopted, and the adopted project reviewed anew."""
    tried: Counter[str] = Counter()
    for name, project, before in rigs:
        shown_in = units(project)
        for finding in before.findings:
            if not finding.what_if or tried[finding.key] == OFTEN:
                continue
            document = Document(project)
            outcome = outcome_of(qtbot, document, finding)
            card = BeforeAfter(finding.title)
            qtbot.addWidget(card)
            card.show_outcome((before, None), outcome, finding.key, shown_in)
            assert document.project is project
            document.adopt(dict(finding.what_if), finding.title)
            fresh = {one.key: one for one in check(document.project, QUIET).findings}
            assert_told(card, finding, fresh[finding.key], shown_in)
            words = "\n".join(one.text() for one in card.findChildren(QLabel))
            for other in before.findings:
                after = fresh[other.key]
                if other.key != finding.key and other.severity is not after.severity:
                    told = f"{MARKS[other.severity.word]} → {MARKS[after.severity.word]}: {after.title}"
                    assert told in words, (name, finding.key, other.key)
            document.undo_stack.undo()
            assert document.project == project
            tried[finding.key] += 1
            document.deleteLater()
            card.deleteLater()
    assert len(tried) >= OFFER, sorted(tried)


def outcome_of(qtbot: QtBot, document: Document, finding: Finding) -> WhatIf:
    trier = Trier(document, document, predicts=False)
    with qtbot.waitSignal(trier.done, timeout=LONG) as heard:
        trier.begin(finding.what_if)
    assert heard.args is not None
    outcome = heard.args[0]
    assert isinstance(outcome, WhatIf)
    return outcome


def assert_told(card: BeforeAfter, finding: Finding, fresh: Finding, shown_in: Units) -> None:
    was, then = said(finding, shown_in), said(fresh, shown_in)
    (table,) = tables(card)
    assert table == {one: (was.get(one, "–"), then.get(one, "–")) for one in {**was, **then}}
    words = "\n".join(one.text() for one in card.findChildren(QLabel))
    if finding.severity is fresh.severity:
        assert f"{fresh.severity.mark} stays " in words
    else:
        assert f"{MARKS[finding.severity.word]} → {MARKS[fresh.severity.word]}: {fresh.title}" in words
    assert fresh.text in words


def test_every_why_tells_formula_inputs_and_source(qtbot: QtBot, rigs: list[tuple[str, Project, Checked]]) -> None:
    for name, project, checked in rigs[:3]:
        for finding in checked.findings:
            box = FindingBox(finding, units(project))
            qtbot.addWidget(box)
            box.toggle()
            rows = box.findChildren(FigureRow)
            assert len(rows) == len(finding.figures)
            for row in rows:
                row.why.click()
                words = [one.text() for one in row.findChildren(QLabel)]
                figure = row.figure
                assert figure.formula in words, (name, figure.key)
                assert f"Source: {figure.source}" in words
                assert all(part in words for pair in figure.inputs for part in pair), (name, figure.key)
            box.deleteLater()


def test_go_there_puts_the_cursor_into_the_entry(window: MainWindow, rigs: list[tuple[str, Project, Checked]]) -> None:
    places = 0
    for name, project, checked in rigs:
        window.document.replace(project, None)
        for finding in checked.findings:
            if finding.severity.word == "good" or not finding.go_to:
                continue
            window.rail.choose(1)
            window.go_to(finding.go_to)
            widget = QApplication.focusWidget()
            if finding.key == "bands.missing":  # an alarm that is left out has no fields: the table takes its limit
                row = window.alarms.ladder.table.rows[finding.go_to.split(".")[1]]
                assert widget is row.cells["volume"], (name, finding.go_to)
                assert widget.isVisible()
                continue
            while widget is not None and not isinstance(widget, Field | LampGrid):
                widget = widget.parentWidget()
            assert widget is not None, (name, finding.key, finding.go_to)
            assert widget.isVisible()
            if isinstance(widget, Field):
                assert widget.key == finding.go_to or widget.key.startswith(f"{finding.go_to}."), (name, finding.key)
            places += 1
    assert places > 40
