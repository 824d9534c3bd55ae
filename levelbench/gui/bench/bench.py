"""The bench in the window: prepares the rig, then puts drawing, trend and bench bar in their places and joins them.

The modules that know the running rig are imported only when it is there, because they bring the compiler in.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from levelbench.gui.bench.warm import Warm
from levelbench.gui.document.document import Document
from levelbench.gui.look.closing import delete_plots
from levelbench.gui.stages.operator import Standing
from levelbench.gui.trend.limits import limits_of
from levelbench.gui.work.answers import Answers
from levelbench.gui.work.jobs import Job, Progress
from levelbench.gui.work.slices import Slices, Step
from levelbench.project import units

if TYPE_CHECKING:
    from collections.abc import Iterator

    from levelbench.gui.bench.live import Entry, LiveRun, LiveView
    from levelbench.gui.main_window import MainWindow
    from levelbench.gui.section.view import SectionView
    from levelbench.gui.station.window import StationDoor
    from levelbench.gui.trend.pane import Pane
    from levelbench.gui.trend.trend import Trend
    from levelbench.project import Project
    from levelbench.rig import Rig


class Bench(QObject):
    """The running rig and the widgets that show it. Until the rig is prepared there is nothing to act on."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document)
        self._document = document
        self._answers = answers
        self.warm = Warm(self)
        self.live: LiveRun | None = None
        self.section: SectionView
        self.trend: Trend
        self.station: StationDoor | None = None
        self._made: list[Pane] = []  # of the trend, before it is there
        self._afresh = False
        self._slices = Slices(self)
        self.warm.ready.connect(self._load)
        answers.rig_changed.connect(self._take)

    def join(self, window: MainWindow) -> None:
        """Take a place in a window; the rig is prepared from here on."""
        self._window = window
        self.warm.failed.connect(window.header.tell)
        window.closed.connect(self.close)
        window.menus.run_wanted.connect(self._toggle)
        window.menus.station_wanted.connect(self._open_station)
        window.seen.connect(self.warm.start)

    def act(self, what: str, value: float) -> None:
        """Act on the running rig; the controls are shut until there is one."""
        if self.live is not None:
            self.live.act(what, value)

    def close(self) -> None:
        """Stop whatever runs or is being made, and wait for it."""
        self._slices.do(())
        self.warm.stop()
        if self.station is not None:
            self.station.close()
        if self.live is not None:
            self.live.close()
            self.trend.rest()
        delete_plots(self._window)

    def _toggle(self) -> None:
        if self.live is not None:
            self.live.toggle()

    def _open_station(self) -> None:
        if self.station is not None:
            self.station.open()

    def _load(self) -> None:
        """Bring in the modules that know the rig on a working thread."""
        Job(self, _bring_in, self._loaded, self._could_not_load, key="modules")

    def _loaded(self, _nothing: None) -> None:
        """Let the answers be worked out; stages are not made at the same time, so that the window is not held."""
        self._window.when_all_made(self._answers.begin)

    def _could_not_load(self, error: Exception) -> None:
        self._window.bar.say_waiting("the bench can't be loaded")
        self._window.header.tell(f"■ The bench can't be loaded: {error} Check the installation, then start again.")

    def _take(self, rig: Rig) -> None:
        """Put the project's newest rig on the bench, in steps."""
        steps: list[Step] = [partial(self._put_on, rig), partial(self._draw, rig)]
        if self.live is None:
            steps[:0] = (self._make_drawing, *_make_panes(self._made), self._make_trend, self._make_run)
        self._slices.do(steps)

    def _make_drawing(self) -> None:
        from levelbench.gui.section.pane import SectionPane  # noqa: PLC0415  brings the compiler in

        pane = SectionPane(self._moved)
        self.section = pane.view
        self._window.centre.insertWidget(0, pane)
        self.section.selected.connect(self._window.look_at)
        for stage in (self._window.describe, self._window.tune, self._window.alarms):
            stage.looked_at.connect(self.section.choose)
        self.section.tried.connect(self._window.alarms.follow_drag)
        self._window.alarms.tried.connect(self.section.hand.propose)

    def _make_trend(self) -> None:
        from levelbench.gui.trend.panes import Panes  # noqa: PLC0415  brings the plot library in
        from levelbench.gui.trend.trend import Trend  # noqa: PLC0415  brings the compiler in

        self.trend = Trend(self._window.preferences, Panes(self._made))
        self.trend.copies.past = lambda: self.live.past() if self.live is not None else None
        self.trend.copies.told.connect(self._window.header.tell)
        self._window.menus.edit_menu.addSeparator()
        self._window.menus.edit_menu.addActions(self.trend.copies.actions)

    def _make_run(self) -> None:
        from levelbench.gui.bands.watch import Watch  # noqa: PLC0415  brings the compiler in
        from levelbench.gui.bench.live import LiveRun  # noqa: PLC0415
        from levelbench.gui.station.window import StationDoor  # noqa: PLC0415

        self.live = live = LiveRun(self)
        self.station = StationDoor(self._window, live, self, self._window.preferences)
        self._window.bar.take(live)
        watch = Watch(live, self._window.preferences)
        for stage in (self._window.alarms, self._window.rehearse):
            stage.take(watch)
        self._window.place_bench(self.trend)
        live.told.connect(self._window.header.tell)
        live.started_again.connect(self._started_again)
        live.advanced.connect(self._advanced)
        live.happened.connect(partial(_tell, self._window))
        self._document.replaced.connect(self._replaced)

    def _put_on(self, rig: Rig) -> None:
        """Take the rig into the run that is going on, or begin a new run."""
        assert self.live is not None
        if self._afresh:
            self._afresh = False
            self.live.begin(rig)
        else:
            self.live.take_project(rig)
            self._window.bar.take_scales(rig)
            self._window.rehearse.controls.take(rig.project)
            if self.station is not None:
                self.station.take(rig)

    def _draw(self, rig: Rig) -> None:
        assert self.live is not None
        self.section.show_rig(rig)
        self.trend.show_limits(limits_of(rig.project))
        if self.live.view is not None:
            self.section.show_view(self.live.view)
            self._follow(self.live.view)

    def _replaced(self, _project: Project) -> None:
        """Another project was opened: its run begins from the start."""
        self._afresh = True

    def _started_again(self, rig: Rig) -> None:
        from levelbench.gui.trend.scales import scales  # noqa: PLC0415  brings the compiler in

        self.trend.begin(scales(rig))
        self._window.rehearse.begin()
        self._window.tune.hand.bench.begin()

    def _advanced(self, view: LiveView) -> None:
        self.section.show_view(view)
        self.trend.append(view.rows, view.journal)
        self._window.tune.hand.bench.take(view)
        self._follow(view)

    def _follow(self, view: LiveView) -> None:
        """Let what is set by hand stand as it does on the running rig."""
        self._window.tune.hand.mode.follow(auto=view.has("automatic"), output=view["output"])
        self._window.rehearse.controls.follow(
            Standing(
                view.set_point_wanted,
                view.opening,
                view["output"],
                auto=view.has("automatic"),
                stop=view.has("stop pressed"),
                mains=view.has("mains on"),
            )
        )

    def _moved(self, key: str, words: str) -> str:
        """Take what was moved or typed on the drawing; gives why it was refused, which is told as well."""
        from levelbench.gui.section.take import take  # noqa: PLC0415  brings the compiler in

        enter = partial(self.act, "set point") if self.section.moment.begun else None  # as the operator does
        refusal = take(self._document, enter, key, words)
        if refusal:
            self._window.header.tell(f"▲ {refusal}")
        return refusal


def _tell(window: MainWindow, lines: tuple[Entry, ...]) -> None:
    """Put new lines of the journal into the messages of the run."""
    from levelbench.gui.bench.told import alarm_in, set_to, who, words_of  # noqa: PLC0415  the compiler
    from levelbench.gui.stages.rehearse import action_words  # noqa: PLC0415
    from levelbench.rig.panel import goes_without_saying  # noqa: PLC0415

    shown_in = units(window.document.project)
    for one in lines:
        if goes_without_saying(one.kind, one.value, one.who):
            continue
        if one.kind == "action":
            value = set_to(one, shown_in)
            words = action_words(one.what, one.value, "" if value == "pressed" else value)
        else:
            words = words_of(one, shown_in)
        window.rehearse.tell(one.time, who(one), words, alarm_in(one))


def _make_panes(made: list[Pane]) -> Iterator[Step]:
    """Give the steps that make the panes of the trend, its slow part, one in a turn."""
    from levelbench.gui.trend.pane import Pane  # noqa: PLC0415  brings the plot library in
    from levelbench.gui.trend.pens import PANES  # noqa: PLC0415

    for kind in PANES[len(made) :]:
        yield partial(lambda one: made.append(Pane(one)), kind)


def _bring_in(_progress: Progress) -> None:
    from levelbench.gui.bench import live  # noqa: F401, PLC0415  on the working thread
    from levelbench.gui.section import pane as section_pane  # noqa: F401, PLC0415  on the working thread
    from levelbench.gui.trend import trend  # noqa: F401, PLC0415  on the working thread
