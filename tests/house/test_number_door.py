"""No room writes a number for a person by itself: all go through `levelbench.quantity`'s one door."""

import ast
import re
from pathlib import Path

import pytest
from tree import PACKAGE

ROOMS = ("gui", "drawing", "handover", "review", "alarms", "tuning", "records", "project")
SPEC = re.compile(r"^[,.0-9{}]*[feg]$")  # of a real number; places that are worked out stand in braces
DOORS = ("written", "in_marks", "float", "read")
ALLOWED = {
    "drawing/svg.py": "coordinates, read by programs",
    "review/fresh_numbers.py": "typed into a new project's file, which keeps the point",
    "review/fresh_text.py": "typed into a new project's file, which keeps the point",
    "review/retune.py": "its one function hands all to the door",
    "gui/fields/unit_menu.py": "tried as they are read, then handed to the door",
    "gui/section/handles.py": "stripped of zeros, then handed to the door",
    "gui/tuning/setting_texts.py": "stripped of zeros, then handed to the door or typed into the file",
}


def own_numbers(source: str) -> list[int]:
    """Give the lines in which a real number is formatted outside a call of a door."""
    tree = ast.parse(source)
    through = {
        id(inner)
        for call in ast.walk(tree)
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in DOORS
        for inner in ast.walk(call)
    }
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.FormattedValue) and node.format_spec is not None and id(node) not in through:
            spec = ast.unparse(node.format_spec)[2:-1]
            if SPEC.match(re.sub(r"\{[^}]*\}", "{}", spec)) and spec != ".0f":
                found.append(node.lineno)
    return found


FILES = sorted(path for room in ROOMS for path in (PACKAGE / room).rglob("*.py"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_numbers_are_written_by_the_door(path: Path) -> None:
    if str(path.relative_to(PACKAGE)) not in ALLOWED:
        assert own_numbers(path.read_text(encoding="utf-8")) == []


def test_the_guard_sees_a_number_that_is_written_past_the_door() -> None:
    assert own_numbers('words = f"{value:.2f} m"\n') == [1]
    assert own_numbers('words = f"{value:.{places}f} m"\n') == [1]
    assert own_numbers("words = f\"{written(value, '.2f')} m, {name:>8}, {seconds:02d}\"\n") == []
