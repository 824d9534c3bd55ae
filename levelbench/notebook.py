"""The few words that a notebook needs; `import levelbench as lb` offers each of them as its own.

project = lb.load("tank.toml")
recording = lb.run(project, "30 min", seed=1, do=["60 s: set point 3.10 gal"])
recording["pv"]                              a numpy array [m3], over recording["time"] [s]
lb.plot(recording, "set_point", "pv")        draws itself in the notebook
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from levelbench.drawing.palette import LIGHT
from levelbench.drawing.scene import Scene
from levelbench.drawing.svg import to_svg
from levelbench.drawing.trend import trend
from levelbench.project import Project, load, units
from levelbench.quantity import Dimension, read
from levelbench.records import Table, read_actions, read_csv, table_of
from levelbench.records import write_csv as _write_csv
from levelbench.review import Finding, review
from levelbench.rig import Recording, assemble
from levelbench.rig import run as _run

__all__ = ["Plot", "check", "load", "plot", "read_csv", "run", "table", "write_csv"]


def run(project: Project, duration: str, *, seed: int = 0, do: str | Sequence[str] = ()) -> Recording:
    """Run a project's rig for a duration, "30 min", with the actions of people, ["60 s: set point 3.1 gal"].

    Raises LevelBenchError for a duration or an action that can't be read, and for a rig that can't exist.
    """
    rig, lasts = assemble(project), read(duration, Dimension.TIME).si
    actions = read_actions([do] if isinstance(do, str) else do, rig, lasts)
    return _run(rig, lasts, actions=actions, seed=seed)


@dataclass(frozen=True)
class Plot:
    """A drawing that shows itself in a notebook; `plot.scene` has its shapes in mm."""

    scene: Scene

    def _repr_svg_(self) -> str:
        return to_svg(self.scene, LIGHT)


def plot(recording: Recording, *columns: str) -> Plot:
    """Plot columns of a recording over time: "set_point", "pv", "volume", "output", "pump_flow" and so on.

    Without a name: PV, set point and output. Raises RigError for a column that can't be plotted.
    """
    return Plot(trend(recording, columns) if columns else trend(recording))


def check(project: Project) -> tuple[Finding, ...]:
    """Judge a project by the design rules: the findings, worst first."""
    return review(assemble(project))


def table(recording: Recording) -> Table:
    """Give a recording in the units of its project: `table["pv"]` is a numpy array in `table.unit("pv")`."""
    return table_of(recording, units(recording.rig.project))


def write_csv(recording: Recording, path: Path | str) -> None:
    """Write a recording as CSV in the units of its project, the journal beside it; `read_csv` reads it back."""
    _write_csv(recording, path, units(recording.rig.project))
