"""What the README shows works as it stands there."""

import ast
import configparser
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from tree import ROOT

from levelbench.cli.verbs import make_parser
from levelbench.records import read_action

README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    """Every block of this language in the README."""
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def test_the_job_comes_first_and_then_two_commands_of_one_line() -> None:
    first, second, *_ = blocks("sh")
    assert README.index("```") > README.index("hand over a small tank") > README.index("# LevelBench")
    for command in (first, second):
        assert command.count("\n") == 1
        assert command.startswith("python3 -m venv .venv && ")
    assert "hand-over sample_projects/seedling_house.toml --into hand_over" in first
    assert (ROOT / "sample_projects/seedling_house.toml").is_file()
    assert "hand_over/" in (ROOT / ".gitignore").read_text()
    assert "pytest" in second


def test_every_command_shown_is_one_that_the_program_knows() -> None:
    lines = [line for block in blocks("console") for line in block.splitlines() if line.startswith("levelbench ")]
    shown = [re.split(r" {3,}", line)[0] for line in lines]
    assert len(shown) >= 5
    for line in shown:
        make_parser("0").parse_args(shlex.split(line)[1:])


def test_every_action_shown_can_be_read() -> None:
    actions = re.findall(r'"(\d+ (?:s|min): [^"]+)"', README)
    assert len(actions) >= 5
    for text in actions:
        assert read_action(text).time > 0


def test_the_notebook_lines_work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(ROOT / "sample_projects", tmp_path / "sample_projects")
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {}
    shown = []
    for block in blocks("python"):
        tree = ast.parse(block)
        last = tree.body[-1]
        if isinstance(last, ast.Expr):
            tree.body.pop()
            exec(compile(tree, "README.md", "exec"), names)
            shown.append(eval(compile(ast.Expression(last.value), "README.md", "eval"), names))
        else:
            exec(compile(tree, "README.md", "exec"), names)
    assert (tmp_path / "run.csv").is_file()
    picture = shown[0]._repr_svg_()  # type: ignore[attr-defined]
    assert picture.startswith("<svg")
    assert "</svg>" in picture


def test_every_picture_and_page_it_links_to_is_there() -> None:
    links = re.findall(r"\]\(([^)#:]+)\)", README)
    assert links
    assert [link for link in links if not (ROOT / link).exists()] == []


ICON_NAMES = ("apps/levelbench", "mimetypes/levelbench-project")
TOOLS = ("sh", "install", "sed", "update-mime-database", "update-desktop-database")


@pytest.mark.skipif(not all(map(shutil.which, TOOLS)), reason="no tools of a Linux desktop are installed")
def test_the_lines_for_the_desktop_put_everything_in_its_place(tmp_path: Path) -> None:
    """Name, icons and file type, in a folder with a blank in its name; the command that is entered exists."""
    folder, share = tmp_path / "my bench", tmp_path / "share"
    folder.mkdir()
    (folder / ".venv").symlink_to(sys.prefix)
    (commands,) = blocks("shell")
    environment = {**os.environ, "XDG_DATA_HOME": str(share), "PYTHONPATH": str(ROOT)}
    done = subprocess.run(["sh", "-eu", "-c", commands], cwd=folder, env=environment, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    icons = [one.relative_to(share / "icons" / "hicolor").as_posix() for one in share.rglob("*.png")]
    sizes = {one.partition("/")[0] for one in icons}
    assert sorted(icons) == sorted(f"{size}/{name}.png" for size in sizes for name in ICON_NAMES)
    assert {"16x16", "48x48", "256x256"} <= sizes
    entry = configparser.ConfigParser(interpolation=None)
    entry.read(share / "applications" / "levelbench.desktop", encoding="utf-8")
    command, verb, what = shlex.split(entry["Desktop Entry"]["Exec"])
    assert (command, verb, what) == (f"{folder}/.venv/bin/levelbench", "open", "%f")
    known = (share / "applications" / "mimeinfo.cache").read_text(encoding="utf-8")
    assert "application/x-levelbench-project=levelbench.desktop" in known
    assert "*.levelbench.toml" in (share / "mime" / "globs").read_text(encoding="utf-8")
