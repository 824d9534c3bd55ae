"""Where the sources are, parsed once for every guard."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "levelbench"

type_of_function = (ast.FunctionDef, ast.AsyncFunctionDef)


@cache
def sources(*folders: str) -> tuple[Path, ...]:
    """Every Python file in these folders of the repository."""
    return tuple(sorted(path for folder in folders for path in (ROOT / folder).rglob("*.py")))


def short(path: Path) -> str:
    """The path as a person would write it."""
    return str(path.relative_to(ROOT))


def functions(tree: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Every function and method, nested ones too."""
    return (node for node in ast.walk(tree) if isinstance(node, type_of_function))


def classes(tree: ast.AST) -> Iterator[ast.ClassDef]:
    """Every class, nested ones too."""
    return (node for node in ast.walk(tree) if isinstance(node, ast.ClassDef))


def code_lines(node: ast.AST, source: str) -> int:
    """Lines of a function that carry code: no docstring, no blank line, no line that is only a comment."""
    first, last = node.lineno, node.end_lineno  # type: ignore[attr-defined]
    skipped: set[int] = set()
    statement = node.body[0]  # type: ignore[attr-defined]
    if (
        isinstance(statement, ast.Expr)
        and isinstance(statement.value, ast.Constant)
        and isinstance(statement.value.value, str)
    ):
        skipped = set(range(statement.lineno, (statement.end_lineno or statement.lineno) + 1))
    lines = source.splitlines()
    return sum(
        1
        for number in range(first, last + 1)
        if number not in skipped and lines[number - 1].strip() and not lines[number - 1].lstrip().startswith("#")
    )
