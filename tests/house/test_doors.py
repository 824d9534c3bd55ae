"""The import contract holds, and each of its doors turns red when somebody walks through it."""

import ast
import os
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest
from tree import ROOT, sources

KERNEL = ROOT / "levelbench" / "rig" / "kernel.py"


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    """Run the contract check in this folder, on the package that lies in it."""
    command = [str(Path(sysconfig.get_path("scripts")) / "lint-imports"), "--no-cache"]
    environment = {**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def copied(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the package and of its contract, to be spoilt."""
    folder = tmp_path_factory.mktemp("doors")
    shutil.copytree(ROOT / "levelbench", folder / "levelbench", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", folder)
    return folder


def test_the_contract_holds() -> None:
    done = lint(ROOT)
    assert done.returncode == 0, done.stdout
    assert "0 broken" in done.stdout


@pytest.mark.parametrize(
    ("room", "line", "broken"),
    [
        ("quantity", "import levelbench.project", "A room imports only from rooms below it"),
        ("records", "import levelbench.tuning", "A room imports only from rooms below it"),
        ("cli", "import levelbench.gui", "The command line opens the window through one door"),
        ("cli", "import PySide6", "Only the window imports Qt"),
        ("rig", "import pint", "Only quantity imports the unit library"),
        ("gui", "import tomlkit", "Only project reads and writes the project file"),
        ("gui", "import reportlab", "Only handover writes paper"),
        ("cli", "import pypdfium2", "Only handover and the window read paper"),
        ("tuning", "import levelbench.alarms", "A room imports only from rooms below it"),
        ("alarms", "import levelbench.review", "A room imports only from rooms below it"),
        ("tuning", "import numba", "Only rig compiles"),
        ("alarms", "import numba", "Only rig compiles"),
        ("tuning", "import pyarrow", "Only records reads tables of text"),
    ],
)
def test_a_bad_import_turns_the_contract_red(copied: Path, room: str, line: str, broken: str) -> None:
    bad = copied / "levelbench" / room / "spoilt.py"
    bad.write_text(f'"""Spoilt on purpose."""\n\n{line}\n', encoding="utf-8")
    try:
        done = lint(copied)
    finally:
        bad.unlink()
    assert done.returncode != 0
    red = [line for line in done.stdout.splitlines() if " BROKEN" in line]
    assert any(line.startswith(broken) for line in red), done.stdout


def test_a_room_that_the_contract_does_not_know_turns_it_red(copied: Path) -> None:
    room = copied / "levelbench" / "attic"
    room.mkdir()
    (room / "__init__.py").write_text('"""An unlisted room."""\n', encoding="utf-8")
    try:
        done = lint(copied)
    finally:
        shutil.rmtree(room)
    assert done.returncode != 0
    assert "attic" in done.stdout


def imported(source: str) -> set[str]:
    """The packages that a source imports, anywhere in it."""
    nodes = list(ast.walk(ast.parse(source)))
    plain = {alias.name.split(".")[0] for node in nodes if isinstance(node, ast.Import) for alias in node.names}
    return plain | {(node.module or "").split(".")[0] for node in nodes if isinstance(node, ast.ImportFrom)}


def test_the_compiled_scan_imports_only_numpy_and_numba() -> None:
    standard = {
        "math",
        "typing",
        "collections",
    }  # names for tuples and the compiler's own view of the standard mathematics
    assert imported(KERNEL.read_text(encoding="utf-8")) - standard <= {"numpy", "numba"}
    assert imported("def f():\n    from levelbench.project import load\n") == {"levelbench"}


def compiled_with_the_lock(source: str) -> list[str]:
    """Calls and bare marks of the compiler that do not say nogil=True."""
    tree = ast.parse(source)
    calls = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith(("njit", "jit"))
    ]
    bare = [ast.unparse(one) for one in calls if "nogil=True" not in {ast.unparse(word) for word in one.keywords}]
    marks = [
        ast.unparse(mark)
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
        for mark in node.decorator_list
    ]
    return bare + [mark for mark in marks if mark.split(".")[-1] in ("njit", "jit", "vectorize", "guvectorize")]


def test_every_compiled_function_releases_the_lock() -> None:
    """A compiled function that keeps the interpreter's lock freezes the window for its whole run."""
    for path in sources("levelbench/rig"):
        assert compiled_with_the_lock(path.read_text(encoding="utf-8")) == []
    assert "jit(" in KERNEL.read_text(encoding="utf-8")
    assert compiled_with_the_lock("@njit\ndef f(): ...\n@numba.njit(cache=True)\ndef g(): ...\n") == [
        "numba.njit(cache=True)",
        "njit",
    ]


def test_the_light_rooms_do_not_load_the_heavy_ones() -> None:
    """`levelbench --help` and a project's reading need no window, no compiler and no paper."""
    heavy = ("PySide6", "pyqtgraph", "numba", "reportlab", "scipy")
    loaded = f"print([name for name in {heavy!r} if name in sys.modules])"
    code = f"import sys, levelbench, levelbench.project, levelbench.cli.main; {loaded}"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
