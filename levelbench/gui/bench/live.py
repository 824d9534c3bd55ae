"""A run that a person watches: a rig's Session on a thread of its own, paced against the clock of the wall.

No scan is ever left out. A thread that was held up catches up in slices; where the machine can't keep the speed that
was asked for, the speed is lowered and that is said. The same compiled scan runs here as in a batch: replaying the
journal of a live run gives the same rows, bit for bit.
"""

from collections import deque
from collections.abc import Callable

from PySide6.QtCore import QObject, Qt, Signal, Slot

from levelbench.gui.bench.live_changes import changed_entries, reset_reason
from levelbench.gui.bench.live_pacer import LiveView, Pacer
from levelbench.gui.bench.speeds import SPEEDS
from levelbench.rig import Entry, Past, Rig, RigError

OPERATOR = "operator"  # a person who has not said a name
_KEPT = 1000  # lines of the journal for who comes late


class LiveRun(QObject):
    """Run, pause, single scans, speed; actions go in at the next scan. Everything arrives on the main thread."""

    advanced = Signal(object)  # LiveView, at most 30 a second
    happened = Signal(object)  # tuple[Entry, ...]: new lines of the journal
    started_again = Signal(object)  # Rig: the run begins at 0 with this one
    state_changed = Signal()  # running, paused, speed
    told = Signal(str)  # words for the person
    _rang = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.rig: Rig | None = None
        self.seed = 0
        self.who = OPERATOR  # whose name goes into the journal with what is done
        self.view: LiveView | None = None
        self.heard: deque[Entry] = deque(maxlen=_KEPT)  # the newest lines of this run's journal
        self._newest: Rig | None = None  # the project as it is now; differs from `rig` by what went in as actions
        self._pacer: Pacer | None = None
        self._speed = 1
        self._touched = False  # somebody did something since the run began
        self._rang.connect(self._collect, Qt.ConnectionType.QueuedConnection)
        self.destroyed.connect(_Closer(self))

    # What runs ---------------------------------------------------------------------------------------------------

    def begin(self, rig: Rig, seed: int = 0) -> None:
        """Start a run of a rig at time 0, paused; what ran before is given up."""
        self.close()
        self.rig = self._newest = rig
        self.seed = seed
        self.view, self._touched = None, False
        self.heard.clear()
        self._pacer = Pacer(rig, seed, self._rang.emit)
        self._pacer.set_speed(self._speed)
        self._pacer.start()
        self.started_again.emit(rig)
        self.state_changed.emit()
        self._pacer.scan_once()

    def take_project(self, rig: Rig) -> None:
        """Go on with an edited project: what can be set while running goes in as actions, else the run begins again.

        A run that nobody has touched yet has nothing to go on with: it stands at the edited project's start.
        """
        if self._newest is None or not self._touched:
            self.begin(rig, self.seed)
            return
        before, self._newest = self._newest, rig
        reason = reset_reason(before, rig)
        if reason:
            was_running = self.running
            self.begin(rig, self.seed)
            self.told.emit(f"The run began again from the start: {reason} changed.")
            if was_running:
                self.run()
            return
        changes = changed_entries(before, rig)
        for what, value in changes.items():
            self.act(what, value)
        if changes:
            self.told.emit(f"Changed while running, without a bump: {', '.join(changes)}.")

    def close(self) -> None:
        """Stop the thread and wait for it."""
        if self._pacer is not None:
            self._pacer.close()
            self._pacer = None

    # What a person does ------------------------------------------------------------------------------------------

    @property
    def running(self) -> bool:
        """Whether time passes."""
        return self._pacer is not None and self._pacer.running

    @property
    def speed(self) -> int:
        """How many times faster than the wall's clock it is asked to run."""
        return self._speed

    @property
    def newest(self) -> Rig | None:
        """The project as it is now; it differs from `rig` by what went in as actions."""
        return self._newest

    def run(self) -> None:
        """Let time pass."""
        self._touched = True
        self._tell(lambda pacer: pacer.run())

    def pause(self) -> None:
        """Hold the time."""
        self._tell(lambda pacer: pacer.pause())

    def toggle(self) -> None:
        """Run if paused, pause if running."""
        self.pause() if self.running else self.run()

    def scan_once(self) -> None:
        """Pause, and run one scan."""
        self._touched = True
        self._tell(lambda pacer: pacer.scan_once())

    def set_speed(self, speed: int) -> None:
        """Run at 1, 2, 5 … 200 times the speed of the wall's clock."""
        self._speed = speed
        self._tell(lambda pacer: pacer.set_speed(speed))

    def act(self, what: str, value: float = 1.0) -> None:
        """Set a panel entry (SI) or press a button; it takes effect at the next scan and lands in the journal."""
        if self._pacer is None:
            self.told.emit("Nothing is on the bench yet.")
            return
        self._touched = True
        try:
            self._pacer.act(what, value, self.who)
        except RigError as error:
            self.told.emit(str(error))

    def past(self) -> Past | None:
        """Give what everything that has run so far follows from, or None before the first run; its rows take a job."""
        return self._pacer.past() if self._pacer is not None else None

    def _tell(self, order: Callable[[Pacer], None]) -> None:
        if self._pacer is not None:
            order(self._pacer)
        self.state_changed.emit()

    @Slot()
    def _collect(self) -> None:
        """Take what the thread has laid ready."""
        if self._pacer is None:
            return
        view, words, speed = self._pacer.collect()
        if speed != self._speed:
            self._speed = speed
            self.state_changed.emit()
        if words:
            self.told.emit(words)
        if view is not None:
            self.view = view
            self.heard.extend(view.journal)
            self.advanced.emit(view)
            if view.journal:
                self.happened.emit(view.journal)


class _Closer:
    """Stops the thread of a run that was destroyed without being closed; holds its dictionary, not the run itself."""

    def __init__(self, run: LiveRun) -> None:
        self._of = run.__dict__

    def __call__(self) -> None:
        pacer = self._of.get("_pacer")
        if isinstance(pacer, Pacer):
            pacer.close()


__all__ = ["SPEEDS", "Entry", "LiveRun", "LiveView"]
