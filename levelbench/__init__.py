"""LevelBench: a bench on paper for a small tank that holds its volume by itself.

In a notebook:

    import levelbench as lb

    project = lb.load("tank.toml")
    recording = lb.run(project, "30 min", seed=1)
    lb.plot(recording, "set_point", "pv")

The names come from `levelbench.notebook`, which is loaded when the first of them is used.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from levelbench.notebook import Plot, check, load, plot, read_csv, run, table, write_csv

__all__ = ["Plot", "check", "load", "plot", "read_csv", "run", "table", "write_csv"]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module 'levelbench' has no attribute {name!r}; it offers {', '.join(__all__)}")
    from levelbench import notebook  # noqa: PLC0415 (a program that wants one room does not load them all)

    return getattr(notebook, name)


def __dir__() -> list[str]:
    return [*globals(), *__all__]
