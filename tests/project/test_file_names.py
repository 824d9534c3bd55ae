"""Names made from what was typed: sound on every system, by Microsoft's published rules, the strictest of the three.

Source of what is refused: "Naming Files, Paths, and Namespaces", Microsoft Learn, section "Naming Conventions".
"""

from pathlib import PurePosixPath, PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelbench.project.file_names import file_name, loop_files, project_file, with_project_ending

REFUSED = set('<>:"/\\|?*') | {chr(code) for code in range(32)}


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("Seedling house nutrient day tank", "Seedling house nutrient day tank"),
        ("Day tank 3/4 “north”", "Day tank 3-4 “north”"),
        ("C:\\tanks\\one", "C-tanks-one"),
        ("  Dye house...  ", "Dye house"),
        ("../../etc", "etc"),
        ("a\tb\nc", "a b c"),
        ("con", "con_"),
        ("Aux.tank 2", "Aux.tank 2_"),
        ("COM¹", "COM¹_"),
        ("LPT9", "LPT9_"),
        ("console", "console"),
        (".hidden", "hidden"),
        ("???", "project"),
        ("", "project"),
        ("Nährlösung", "Nährlösung"),
        ("Na\u0308hr", "Nähr"),  # as macOS hands it over
    ],
)
def test_a_title_becomes_a_name(words: str, name: str) -> None:
    assert file_name(words) == name


@given(st.text(max_size=400))
def test_every_text_becomes_a_name_that_every_system_takes(words: str) -> None:
    for name in (file_name(words), project_file(words)):
        assert name
        assert not set(name) & REFUSED
        assert name.strip(" .") == name
        assert len(name.encode("utf-8")) <= 100
        assert PureWindowsPath(name).name == PurePosixPath(name).name == name
        assert not PureWindowsPath(name).is_reserved()


def test_the_same_title_gives_the_same_name_after_it_was_made_a_name() -> None:
    for words in ("con", "Day tank 3/4", "x" * 300, "ä" * 300):
        assert file_name(file_name(words)) == file_name(words)


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("tank.toml", "tank.toml"),
        ("tank.TOML", "tank.TOML"),
        ("tank.levelbench.toml", "tank.levelbench.toml"),
        ("tank", "tank.levelbench.toml"),
        ("tank.levelbench", "tank.levelbench.toml"),
        ("tank no. 3", "tank no. 3.levelbench.toml"),
        ("tank.", "tank.levelbench.toml"),
    ],
)
def test_a_typed_name_gets_the_ending_that_it_lacks(typed: str, name: str) -> None:
    assert with_project_ending(typed) == name


def test_the_files_of_a_loop_begin_with_its_number_whatever_that_is() -> None:
    assert loop_files("310") == "loop-310"
    assert loop_files("310/A") == "loop-310-A"
    assert loop_files("::") == "loop-unnamed"
