"""What only some systems have stands where it is guarded, and no text is read or written in a system's own letters."""

import ast
import re
import subprocess
from collections import Counter
from collections.abc import Iterator
from pathlib import Path, PureWindowsPath

import pytest
from tree import ROOT, classes, functions, short, sources

ONE_SYSTEM = {
    "fcntl", "msvcrt", "signal", "select", "resource", "pwd", "grp", "termios", "tty", "pty", "winreg", "locale",
    "multiprocessing",
}  # fmt: skip
ASKS = {
    "os.name", "sys.platform", "os.kill", "os.fork", "os.getuid", "os.geteuid", "os.fchmod", "os.chmod", "os.chown",
    "os.umask", "os.mkfifo", "os.symlink", "os.link", "os.fsync", "os.sync", "os.statvfs", "os.replace", "os.rename",
    "os.setpriority",
    "platform.system", "subprocess.Popen", "subprocess.run", "subprocess.check_output",
}  # fmt: skip
GUARDED = {
    "levelbench/project/systems.py": {
        "fcntl",
        "msvcrt",
        "os.name",
        "sys.platform",
        "os.fsync",
        "os.replace",
        "os.setpriority",
    },
    "levelbench/gui/help/about.py": {"platform.system"},  # which it only says
    "levelbench/cli/screen.py": {"sys.platform", "subprocess.run"},  # only Linux may be without a screen
}
PLACES = re.compile(r"^(?:/dev/|/tmp|/proc/|/etc/|/usr/|/var/|/home/|~/|[A-Za-z]:\\)")
DAYS = re.compile(r"%[aAbBcxXp](?![A-Za-z])")  # names of days and months, in the system's language
IN_TEXT = {"read_text": 0, "write_text": 1}  # and how many arguments come before the encoding


def docstrings(tree: ast.AST) -> set[int]:
    """The numbers of the nodes that are docstrings."""
    owners = [tree, *functions(tree), *classes(tree)]
    found = (owner.body[0] for owner in owners if getattr(owner, "body", None))
    return {id(one.value) for one in found if isinstance(one, ast.Expr)}


def of_one_system(source: str) -> set[str]:
    """Modules, calls and places of one kind of system that a source uses, and texts in a system's own letters."""
    tree = ast.parse(source)
    words, found = docstrings(tree), set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names} & ONE_SYSTEM
        elif isinstance(node, ast.ImportFrom):
            found |= {node.module or ""} & ONE_SYSTEM
        elif isinstance(node, ast.Attribute) and ast.unparse(node) in ASKS:
            found.add(ast.unparse(node))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in words:
            found |= {one[0] for pattern in (PLACES, DAYS) if (one := pattern.search(node.value))}
        elif isinstance(node, ast.Call):
            found |= set(without_encoding(node))
    return found


def without_encoding(call: ast.Call) -> Iterator[str]:
    """Say of a call that it reads or writes text without saying in which letters."""
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    if any(one.arg == "encoding" for one in call.keywords):
        return
    if name in IN_TEXT and len(call.args) <= IN_TEXT[name]:
        yield f"{name} without encoding"
    first = call.args[0] if call.args else None
    if isinstance(call.func, ast.Name) and name == "open":
        yield "open without encoding"
    if name == "open" and isinstance(first, ast.Constant) and re.fullmatch("[rwax]t?[+]?", str(first.value)):
        yield "open without encoding"


@pytest.mark.parametrize("path", sources("levelbench"), ids=short)
def test_what_only_some_systems_have_is_guarded(path: Path) -> None:
    allowed = GUARDED.get(path.relative_to(ROOT).as_posix(), set())
    assert of_one_system(path.read_text(encoding="utf-8")) <= allowed


@pytest.mark.parametrize(
    ("source", "says"),
    [
        ("import fcntl", "fcntl"),
        ("from signal import SIGTERM", "signal"),
        ("import os\nif os.name == 'posix': pass", "os.name"),
        ("import os\nos.kill(1, 9)", "os.kill"),
        ("where = '/dev/null'", "/dev/"),
        ("where = 'C:\\\\tanks'", "C:\\"),
        ("f'{when:%d %B %Y}'", "%B"),
        ("path.read_text()", "read_text without encoding"),
        ("path.write_text('x')", "write_text without encoding"),
        ("path.open('w')", "open without encoding"),
        ("open(name)", "open without encoding"),
    ],
)
def test_what_is_not_guarded_is_found(source: str, says: str) -> None:
    assert of_one_system(source) == {says}


def test_what_every_system_has_is_left_alone() -> None:
    source = '"""Into /dev/null."""\nimport os\np.open("rb")\np.read_text(encoding="utf-8")\nos.getpid()\nf"{1:.0%}"\n'
    assert of_one_system(source) == set()


def names() -> list[str]:
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True)
    return [name for name in listed.stdout.decode().split("\0") if name]


def test_the_tree_can_lie_on_every_system() -> None:
    """No name that Windows refuses, no two that differ by large and small letters, none so long that a venv is full."""
    wrong = [
        name for name in names() if PureWindowsPath(name).is_reserved() or re.search(r'[<>:"\\|?*]|[. ](?:/|$)', name)
    ]
    assert wrong == []
    assert [name for name, count in Counter(map(str.casefold, names())).items() if count > 1] == []
    assert max(len(name) for name in names()) < 120
