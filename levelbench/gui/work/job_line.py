"""The lines that show long work: what it is, how far it is, how long it will still take, and a way out."""

import time
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QProgressBar, QWidget
from shiboken6 import isValid

from levelbench.gui.look.parts import button, column, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.work.jobs import Job


def remaining(fraction: float, elapsed: float) -> str:
    """Say how long work that took `elapsed` [s] for a fraction will still take; nothing while that is a guess."""
    if fraction < 0.03 or elapsed < 0.5 or fraction >= 1.0:
        return ""
    left = elapsed * (1.0 / fraction - 1.0)
    if left < 1.5:
        return "about a second left"
    return f"about {left:.0f} s left" if left < 100 else f"about {left / 60:.0f} min left"


class JobLine(QWidget):
    """Hidden until a job that it follows runs longer than half a second; gone when that job ends."""

    stopped = Signal()  # the person pressed Cancel

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._job: Job[Any] | None = None
        self.words = text("", wrap=True)
        self.bar = QProgressBar(textVisible=False)
        self.bar.setAccessibleName("progress")
        self.left = text("", "quiet")
        self.stop = button("Cancel", self._cancel, tip="stop this work and keep what was there before")
        self.setLayout(column(self.words, self.bar, row(self.left, None, self.stop), gap=GRID // 2))
        self.hide()

    def follow(self, job: Job[Any]) -> None:
        """Show this job, from half a second on, in the place of the one shown before."""
        self._job = job
        self.words.setText(job.title or "working")
        self.left.setText("")
        self.bar.setRange(0, 0)
        self.stop.setEnabled(True)
        self.hide()
        job.running_longer_than_half_a_second.connect(self._while_there(self._show, job))
        job.progressed.connect(self._while_there(self._tell, job))
        job.ended.connect(self._while_there(self._end, job))

    def _while_there(self, hear: Callable[..., None], job: Job[Any]) -> Callable[..., None]:
        """Hear of a job as long as this line is there: the job may outlive it, when a window goes in the midst."""

        def heard(*what: object) -> None:
            if isValid(self):
                hear(job, *what)

        return heard

    def _show(self, job: Job[Any]) -> None:
        if job is self._job:
            self.show()

    def _tell(self, job: Job[Any], fraction: float, words: str) -> None:
        if job is not self._job:
            return
        if fraction >= 0:
            self.bar.setRange(0, 1000)
            self.bar.setValue(round(1000 * fraction))
            self.left.setText(remaining(fraction, time.monotonic() - job.started))
        else:
            self.bar.setRange(0, 0)
            self.left.setText("")
        self.words.setText(": ".join(part for part in (job.title, words) if part) or "working")

    def _cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()
            self.words.setText("stopping")
            self.stop.setEnabled(False)
            self.stopped.emit()

    def _end(self, job: Job[Any]) -> None:
        if job is self._job:
            self._job = None
            self.hide()
