"""No two modules import each other, directly or round about.

Every import in a file counts: at its top, inside a function, and for the type checker only. Each says that the one
can't be understood without the other; where two need each other, what both need goes into a third below them.
"""

import ast
from collections.abc import Mapping
from pathlib import Path

from tree import PACKAGE, ROOT

Graph = Mapping[str, frozenset[str]]


def name_of(path: Path, root: Path) -> str:
    """The name by which a module is imported."""
    parts = path.relative_to(root).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imported(tree: ast.AST, known: frozenset[str]) -> set[str]:
    """The modules, among those that are known, that a source imports anywhere."""
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {one.name for one in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            inner = {f"{node.module}.{one.name}" for one in node.names}
            found |= inner & known if inner <= known else (inner & known) | {node.module}
    return found & known


def graph_of(package: Path, root: Path) -> Graph:
    """Which module of a package imports which others."""
    paths = {name_of(path, root): path for path in package.rglob("*.py")}
    known = frozenset(paths)
    trees = {name: ast.parse(path.read_text(encoding="utf-8")) for name, path in paths.items()}
    return {name: frozenset(imported(tree, known) - {name}) for name, tree in trees.items()}


def circle(graph: Graph) -> list[str]:
    """A circle of imports, from a module back to itself; empty when there is none."""
    done: set[str] = set()
    for start in graph:
        way: list[str] = []
        left = [[start]]
        while left:
            if not left[-1]:
                left.pop()
                if way:
                    done.add(way.pop())
                continue
            here = left[-1].pop()
            if here in way:
                return [*way[way.index(here) :], here]
            if here not in done:
                way.append(here)
                left.append(sorted(graph[here]))
    return []


def test_no_imports_go_in_circles() -> None:
    graph = graph_of(PACKAGE, ROOT)
    assert len(graph) > 200
    assert sum(map(len, graph.values())) > 1000
    assert circle(graph) == []


def made(folder: Path, **sources: str) -> Graph:
    """The graph of a package of these sources."""
    (folder / "house").mkdir()
    for name, source in {"__init__": "", **sources}.items():
        (folder / "house" / f"{name}.py").write_text(source, encoding="utf-8")
    return graph_of(folder / "house", folder)


def test_a_circle_at_the_top_is_found(tmp_path: Path) -> None:
    graph = made(tmp_path, a="from house.b import x", b="from house import c", c="import house.a")
    assert circle(graph) == ["house.a", "house.b", "house.c", "house.a"]


def test_a_circle_for_the_type_checker_is_found(tmp_path: Path) -> None:
    hidden = "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from house.a import A\n"
    graph = made(tmp_path, a="from house.b import B", b=hidden, c="import house.a")
    assert circle(graph) == ["house.a", "house.b", "house.a"]


def test_a_circle_inside_a_function_is_found(tmp_path: Path) -> None:
    graph = made(tmp_path, a="from house import b", b="def f() -> None:\n    from house.a import x\n")
    assert circle(graph) == ["house.a", "house.b", "house.a"]


def test_roads_that_meet_again_are_no_circle(tmp_path: Path) -> None:
    graph = made(
        tmp_path, a="from house import b, c", b="from house.d import x", c="from house.d import x", d="import os"
    )
    assert circle(graph) == []
    assert graph["house.a"] == {"house.b", "house.c"}
