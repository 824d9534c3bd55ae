"""The steps of the tour: what each asks for, how it is known to be done, and how it is done for somebody.

A step does something real on the open window. `done` only looks; `help` is called again and again until `done`, but
once only where it asks somebody something.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from levelbench.project import load, sample

if TYPE_CHECKING:
    from levelbench.gui.bench.live import LiveRun, LiveView
    from levelbench.gui.help.helped import HelpedWindow

SAMPLE = "seedling_house"
CHECK, REHEARSE, HAND_OVER = 1, 4, 5
_SPEED = 10  # times the wall's clock, when the tour runs the rig for somebody
_LATCHES = ("stop latched", "switch latched", "sensor latched")


@cache
def _title() -> str:
    return load(sample(SAMPLE)).title


@dataclass(frozen=True)
class Step:
    """One step: its words, how to tell that it is done, and how to do it for somebody."""

    words: str
    done: Callable[[], bool]
    help: Callable[[], None]
    once: bool = False


class Scene:
    """What the steps look at and act on: the window, its live run once there is one, and how a step began."""

    def __init__(self, window: HelpedWindow, live: Callable[[], LiveRun | None]) -> None:
        self._window = window
        self._live = live
        self._opened = 0
        self._opened_before = 0
        self._edits_before = 0
        self._set_point_before: float | None = None
        window.document.replaced.connect(self._note_opened)

    def begin_step(self) -> None:
        """Remember how things stand, so that only what follows counts."""
        self._opened_before = self._opened
        self._edits_before = self._window.document.undo_stack.index()
        view = self._view
        self._set_point_before = view.set_point_wanted if view is not None else None

    def _note_opened(self, _project: object) -> None:
        self._opened += 1

    @property
    def _view(self) -> LiveView | None:
        live = self._live()
        return live.view if live is not None else None

    # Open, run, set point ------------------------------------------------------------------------------------------

    def opened(self) -> bool:
        """Whether the sample was opened since the step began: the words of what follows are about it."""
        return self._opened > self._opened_before and self._window.document.project.title == _title()

    def open_sample(self) -> None:
        """Open the sample, unless somebody is asked about unsaved work and stays."""
        self._window.files.new_from(sample(SAMPLE))

    def running(self) -> bool:
        """Whether the rig runs."""
        live = self._live()
        return live is not None and live.running

    def run(self) -> None:
        """Run the rig, as soon as it is prepared."""
        live = self._live()
        if live is not None and live.rig is not None:
            live.set_speed(_SPEED)
            live.run()

    def lifted(self) -> bool:
        """Whether the set point is higher than when the step began."""
        view = self._view
        if view is not None and self._set_point_before is None:
            self._set_point_before = view.set_point_wanted
        before = self._set_point_before
        return view is not None and before is not None and view.set_point_wanted > before + 1e-9

    def lift(self) -> None:
        """Lift the set point by ten entry steps, or as far as the operator may go."""
        view, settings = self._view, self._window.document.project.loop_settings
        self._window.rail.choose(REHEARSE)
        if view is not None:
            before = view.set_point_wanted if self._set_point_before is None else self._set_point_before
            wanted = min(before + 10 * settings.entry_step.si, settings.set_point_high.si)
            self._act("set point", wanted)

    # Break, mend ---------------------------------------------------------------------------------------------------

    def broken(self) -> bool:
        """Whether something stopped the rig."""
        view = self._view
        return view is not None and any(view.has(latch) for latch in _LATCHES)

    def break_it(self) -> None:
        """Let the sensor lose its echo."""
        self._fault(on=True)

    def mended(self) -> bool:
        """Whether the rig is started again, with nothing latched."""
        view = self._view
        return view is not None and view.has("started") and not self.broken()

    def mend(self) -> None:
        """Take the fault away, reset what is gone, start: one after another, as each becomes possible."""
        view = self._view
        self._fault(on=False)
        if view is None or view.has("sensor failed"):
            return
        if view.has("stop pressed"):
            self._act("stop", 0.0)
        elif self.broken():
            self._act("reset", 1.0)
        elif not view.has("started"):
            self._act("power on", 1.0)

    def _fault(self, *, on: bool) -> None:
        self._window.rail.choose(REHEARSE)
        box = self._window.rehearse.faults["echo lost"]
        if box.isEnabled() and box.isChecked() != on:
            box.click()

    def _act(self, what: str, value: float) -> None:
        live = self._live()
        if live is not None:
            live.act(what, value)

    # Look, try, print ----------------------------------------------------------------------------------------------

    def at(self, stage: int) -> bool:
        """Whether a stage is shown."""
        return self._window.rail.at == stage

    def edited(self) -> bool:
        """Whether the project was edited since the step began."""
        return self._window.document.undo_stack.index() > self._edits_before

    def adopt(self) -> None:
        """Adopt the change of the first finding that proposes one, as soon as the findings are there."""
        checked = self._window.answers.checked
        found = next((one for one in checked.findings if one.what_if), None) if checked is not None else None
        if found is not None:
            self._window.document.adopt(dict(found.what_if), found.title)
        elif checked is not None:
            self._window.document.edit("loop_settings.set_point_weight", "0.5")


_WORDS = (
    "Open a sample: File ▸ New from sample ▸ Seedling house. A day tank for nutrient solution, measured with tape, "
    "bucket and watch.",
    "Run it: press Run at the bottom left, or F5. Beside it you choose how many times faster than the clock; 10 × is "
    "good here. The first start prepares the rig and takes some seconds.",
    "Lift the set point: in Rehearse, type 3.5 gal and press Enter. Watch the pump (OP), then the volume (PV).",
    "Break something: in Rehearse, further down, tick “echo lost”. The sensor holds its value for 2 s, then says that "
    "it fails, and the pump stops by itself.",
    "Get it going again: untick the fault, then Reset, then Power on. In that order; nothing starts by itself.",
    "Look at what the rules say: Check, the second stage at the left. “why?” beside a figure tells where it is from.",
    "Try a change: open “Set point weight with the drain shut”, press Try it, look at before and after, then Adopt. "
    "Ctrl+Z takes it back.",
    "Open the sheet: Hand over, the last stage. These are the pages that go to whoever sets the controller.",
)


def steps(scene: Scene, show: Callable[[int], None]) -> tuple[Step, ...]:
    """Give the steps, in their order; `show` shows a stage."""
    doing = (
        (scene.opened, scene.open_sample),
        (scene.running, scene.run),
        (scene.lifted, scene.lift),
        (scene.broken, scene.break_it),
        (scene.mended, scene.mend),
        (lambda: scene.at(CHECK), lambda: show(CHECK)),
        (scene.edited, scene.adopt),
        (lambda: scene.at(HAND_OVER), lambda: show(HAND_OVER)),
    )
    first = scene.open_sample  # may ask about unsaved work
    return tuple(Step(words, *one, once=one[1] == first) for words, one in zip(_WORDS, doing, strict=True))
