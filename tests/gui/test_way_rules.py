"""Rules on the card: sorted by any column, the row in hand tried and plotted, its settings taken in one step."""

from functools import cache

import pytest
from hands import show_way, types
from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.help.pages import written
from levelbench.gui.tuning import way_rules
from levelbench.gui.tuning.rules_table import RULE, key_of
from levelbench.gui.tuning.way_rules import Rules
from levelbench.gui.work.answers import Answers
from levelbench.gui.work.jobs import Progress
from levelbench.project import load, read_project, sample
from levelbench.rig import Rig, assemble
from levelbench.rig.settings import Settings
from levelbench.tuning.loop import settings_in
from levelbench.tuning.rules import RULES, SLIP, Choices, Comparison, Ruled, compare

LONG = 100_000  # ms; the first test of a run compiles the scan
Keys = Qt.Key
_FIGURES = RULE + 4  # the first column after the three settings


@cache
def compared(text: str, choices: Choices) -> Comparison:
    return compare(assemble(read_project(text)), choices=choices)


def compare_once(rig: Rig, process: object = None, *, choices: Choices, progress: object) -> Comparison:
    """Equal projects and choices have equal answers, so the tests share them."""
    assert process is None  # no record says another
    return compared(rig.project.text, choices)


@pytest.fixture
def way(qtbot: QtBot, document: Document, monkeypatch: pytest.MonkeyPatch) -> Rules:
    monkeypatch.setattr(way_rules, "compare", compare_once)
    document.replace(load(sample("seedling_house")), None)
    answers = Answers(document, wait=True)  # only the rules are worked out
    made = Rules(document, answers)
    answers.rig_changed.emit(assemble(document.project))
    show_way(qtbot, made)
    qtbot.waitUntil(lambda: bool(made.view.table.rules.lines), timeout=LONG)
    return made


def keys(way: Rules) -> list[str]:
    return [key_of(one) for one in way.view.table.rules.lines]


def press_head(qtbot: QtBot, way: Rules, column: int) -> None:
    head = way.view.table.horizontalHeader()
    at = head.sectionViewportPosition(column) + head.sectionSize(column) // 2
    qtbot.mouseClick(head.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(at, 10))


def loop(document: Document) -> Settings:
    return settings_in(assemble(document.project))


def test_every_rule_has_a_row_and_the_best_is_in_hand(way: Rules) -> None:
    assert {one.key for one in RULES} <= set(keys(way))
    table = way.view.table
    best = next(one for one in table.rules.lines if table.rules.mark(one) == "✓")
    assert isinstance(best, Ruled)
    assert table.currentIndex().row() == table.rules.lines.index(best)
    assert way.title.text() == best.title
    assert best.title in way.view.says.text()
    assert "looks like a slip and is right" in way.view.gains.words.text()


def test_no_word_of_the_table_is_cut(way: Rules) -> None:
    table = way.view.table
    assert not table.horizontalScrollBar().isVisible()
    metrics = table.fontMetrics()
    for at in range(table.rules.columnCount()):
        widest = max(metrics.horizontalAdvance(table.rules.words(one, at)) for one in table.rules.lines)
        assert widest + 4 <= table.columnWidth(at), table.rules.head(at)


def test_a_head_sorts_by_its_numbers_and_what_has_none_stays_last(qtbot: QtBot, way: Rules) -> None:
    first = keys(way)
    for _ in range(2):  # Qt sorts down or up first as it likes
        press_head(qtbot, way, _FIGURES)
        lines = way.view.table.rules.lines
        gains = [one.margins.gain.si for one in lines if isinstance(one, Ruled)]
        assert gains in (sorted(gains), sorted(gains, reverse=True))
        assert keys(way)[-2:] == ["cohen_coon_pi", "cohen_coon_pid"]
    press_head(qtbot, way, _FIGURES)
    assert keys(way) == first


def test_sorting_keeps_the_row_in_hand(qtbot: QtBot, way: Rules) -> None:
    way.view.table.choose("lambda_pi")
    press_head(qtbot, way, _FIGURES + 2)
    assert keys(way)[way.view.table.currentIndex().row()] == "lambda_pi"
    assert way.title.text() == "Lambda PI"


def test_the_row_in_hand_is_plotted_over_what_is(qtbot: QtBot, way: Rules) -> None:
    way.view.table.choose("now")
    assert not way.view.step.trying
    qtbot.keyClick(way.view.table, Keys.Key_Down)
    assert way.title.text() == "SIMC PI"
    assert way.view.step.trying
    assert way.view.load.trying
    assert way.figures.comparing


def test_settings_are_taken_in_one_step_in_the_files_own_form_and_unit(qtbot: QtBot, way: Rules) -> None:
    document = way.document
    before = document.project
    way.view.table.choose("amigo_pid")
    line = next(one for one in way.view.table.rules.lines if key_of(one) == "amigo_pid")
    assert isinstance(line, Ruled)
    assert document.project is before  # a try takes nothing
    qtbot.mouseClick(way.take, Qt.MouseButton.LeftButton)
    typed = document.project.loop_settings
    assert typed.gain is not None
    assert typed.gain.text.endswith("%/gal")
    assert loop(document) == line.settings
    assert document.undo_stack.undoText() == "take the settings of AMIGO PID"
    document.undo_stack.undo()
    assert document.project.loop_settings == before.loop_settings


def test_after_taking_the_rules_are_worked_out_for_the_rig_as_it_is_then(qtbot: QtBot, way: Rules) -> None:
    way.view.table.choose("simc_pi")
    way.answers.begin()
    qtbot.mouseClick(way.take, Qt.MouseButton.LeftButton)

    def now() -> str:
        return str(way.view.table.rules.words(way.view.table.rules.lines[0], RULE + 1))

    assert not way.take.isEnabled()  # what is shown is of the project as it was
    way.view.table.choose("lambda_pi")
    assert not way.take.isEnabled()  # and another row is, too
    way.view.table.choose("simc_pi")
    qtbot.waitUntil(lambda: now() == "1410", timeout=LONG)
    assert way.title.text() == "SIMC PI"
    assert way.take.isEnabled()


def test_what_was_stopped_says_so_and_begins_again_when_the_way_is_chosen(
    qtbot: QtBot, way: Rules, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slow(_rig: Rig, _process: object, *, choices: Choices, progress: Progress) -> None:
        while progress.report(0.1, str(choices.room)):
            pass

    monkeypatch.setattr(way_rules, "compare", slow)
    types(qtbot, way.closed.boxes[0], "40 s", enter=True)
    assert not way.take.isEnabled()  # the row in hand is of another closed-loop time
    qtbot.mouseClick(way.job_line.stop, Qt.MouseButton.LeftButton)
    assert way.view.says.text().startswith("You stopped this.")
    monkeypatch.setattr(way_rules, "compare", compare_once)
    way.chosen()
    qtbot.waitUntil(way.take.isEnabled, timeout=LONG)
    assert not way.view.says.text().startswith("You stopped this.")


@pytest.mark.parametrize("key", ["now", SLIP, "cohen_coon_pi"])
def test_what_is_no_rule_for_this_rig_can_t_be_taken(way: Rules, key: str) -> None:
    way.view.table.choose(key)
    assert not way.take.isEnabled()
    if key == "cohen_coon_pi":
        assert way.title.text().endswith("can't be used here")
        assert "integrates" in way.settings.text()


def test_a_choice_is_followed_and_what_is_none_is_refused_in_its_place(qtbot: QtBot, way: Rules) -> None:
    def integral() -> str:
        table = way.view.table.rules
        return table.words(table.lines[keys(way).index("lambda_pi")], RULE + 2)

    assert way.room.under.text().endswith("here 0.2000 US gal")  # 80 % of the deviation limit
    before = integral()
    types(qtbot, way.arrest.boxes[0], "20 s", enter=True)
    qtbot.waitUntil(lambda: integral() != before, timeout=LONG)
    assert float(integral()) > 40
    types(qtbot, way.arrest.boxes[0], "20 gal", enter=True)
    assert way.arrest.under.text().startswith("✗")
    types(qtbot, way.arrest.boxes[0], "0 s", enter=True)
    assert "more than 0" in way.arrest.under.text()


def test_the_linear_loop_has_other_figures(qtbot: QtBot, way: Rules) -> None:
    table = way.view.table.rules
    at = keys(way).index("step_pi")
    on_rig = table.words(table.lines[at], _FIGURES + 3)
    qtbot.mouseClick(way.view.in_theory, Qt.MouseButton.LeftButton)
    in_theory = table.words(table.lines[keys(way).index("step_pi")], _FIGURES + 3)
    assert float(in_theory) > 10 * float(on_rig)  # theory has no pump at its limit
    assert way.title.text()  # the row in hand stays


def test_the_help_has_its_page() -> None:
    assert "Why the right gain looks so large" in written("tune-rules").markdown
