"""The bench in the window: prepares the rig, then puts drawing, trend and bench bar in their places and joins them.

The modules that know the running rig are imported only when it is there, because they bring the compiler in.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from levelbench.gui.answers import Answers
from levelbench.gui.document import Document
from levelbench.gui.stages.operator import Standing
from levelbench.gui.warm import Warm
from levelbench.project import ProjectProblems, units

if TYPE_CHECKING:
    from levelbench.gui.live import Entry, LiveRun, LiveView
    from levelbench.gui.main_window import MainWindow
    from levelbench.gui.section_view import SectionView
    from levelbench.gui.trend import Trend
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
        self._afresh = False
        self.warm.ready.connect(answers.begin)
        answers.rig_changed.connect(self._take)

    def join(self, window: MainWindow) -> None:
        """Take a place in a window; the rig is prepared from here on."""
        self._window = window
        self.warm.failed.connect(window.header.tell)
        window.closed.connect(self.close)
        window.menus.run_wanted.connect(self._toggle)
        self.warm.start()

    def act(self, what: str, value: float) -> None:
        """Act on the running rig; the controls are shut until there is one."""
        if self.live is not None:
            self.live.act(what, value)

    def close(self) -> None:
        """Stop whatever runs, and wait for it."""
        self.warm.stop()
        if self.live is not None:
            self.live.close()

    def _toggle(self) -> None:
        if self.live is not None:
            self.live.toggle()

    def _build(self) -> None:
        from levelbench.gui.bench_bar import BenchBar  # noqa: PLC0415  brings the compiler in
        from levelbench.gui.live import LiveRun  # noqa: PLC0415
        from levelbench.gui.section_view import SectionView  # noqa: PLC0415
        from levelbench.gui.trend import Trend  # noqa: PLC0415

        self.live = live = LiveRun(self)
        self.section, self.trend = SectionView(), Trend()
        window = self._window
        window.place_bench(self.section, self.trend, BenchBar(live))
        live.told.connect(window.header.tell)
        live.started_again.connect(self._started_again)
        live.advanced.connect(self._advanced)
        live.happened.connect(self._happened)
        self.section.moved.connect(self._moved)
        self.section.selected.connect(window.look_at)
        for stage in (window.describe, window.tune, window.alarms):
            stage.looked_at.connect(self.section.choose)
        self._document.replaced.connect(self._replaced)

    def _take(self, rig: Rig) -> None:
        """Put the project's newest rig on the bench: into the run that is going on, or as a new one."""
        if self.live is None:
            self._build()
        assert self.live is not None
        if self._afresh:
            self._afresh = False
            self.live.begin(rig)
        else:
            self.live.take_project(rig)
        self.section.show_rig(rig)
        if self.live.view is not None:
            self.section.show_view(self.live.view)

    def _replaced(self, _project: Project) -> None:
        """Another project was opened: its run begins from the start."""
        self._afresh = True

    def _started_again(self, rig: Rig) -> None:
        from levelbench.gui.scales import scales  # noqa: PLC0415  brings the compiler in

        self.trend.begin(scales(rig))
        self._window.rehearse.begin()

    def _advanced(self, view: LiveView) -> None:
        self.section.show_view(view)
        self.trend.append(view.rows, view.journal)
        self._window.rehearse.controls.follow(
            Standing(
                view.set_point_wanted,
                view.opening,
                auto=view.has("automatic"),
                stop=view.has("stop pressed"),
                mains=view.has("mains on"),
            )
        )

    def _happened(self, entries: tuple[Entry, ...]) -> None:
        from levelbench.rig import ENTRIES  # noqa: PLC0415  brings the compiler in

        shown_in = units(self._document.project)
        for entry in entries:
            set_to = ""
            if entry.kind == "action" and (dimension := ENTRIES[entry.what].dimension) is not None:
                set_to = shown_in.show(entry.value, dimension, abs(entry.value) / 1000)
            self._window.rehearse.tell(entry.time, entry.kind, entry.what, entry.value, set_to)

    def _moved(self, key: str, words: str) -> None:
        """Take a limit or the set point that was moved on the drawing as if it had been typed: one undo step."""
        try:
            self._document.edit(key, words)
        except ProjectProblems as error:
            self._window.header.tell(f"▲ {error.problems[0].message}")
