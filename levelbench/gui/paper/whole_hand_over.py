"""The whole hand-over by one button: check, run and sheet, every file of it in a folder that the person chooses."""

from __future__ import annotations

import glob
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QFileDialog, QWidget

from levelbench.gui import dialogs
from levelbench.gui.document.document import Document
from levelbench.gui.document.save_name import folder_of
from levelbench.gui.fields.fields import hand_in_half_typed
from levelbench.gui.look.parts import button, column, restyle, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job, Progress
from levelbench.project.file_names import loop_files
from levelbench.quantity import number_format

if TYPE_CHECKING:
    from levelbench.handover.package import HandOver
    from levelbench.project.records import Project

TIP = "check, run and sheet in one go: PDF, HTML, findings, the predicted step as CSV, and the project, in one folder"


class WholeHandOver(QWidget):
    """The button, how far it is, and what was written where."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._document = document
        self._folder: Path | None = None
        self._ready = self._busy = False
        self.hand_over = button("Hand over everything …", self.ask, "main", TIP)
        self.open_folder = button("Open the folder", self._open, "", "show the files that were written")
        self.open_folder.hide()
        self.words = text("", "quiet", wrap=True)
        self.words.hide()
        self.job_line = JobLine()
        self.setLayout(column(self.words, self.job_line, row(self.hand_over, self.open_folder, None), gap=GRID))

    def allow(self, ready: bool) -> None:
        """Open or shut the button: without a rig there is nothing to hand over."""
        self._ready = ready
        self.hand_over.setEnabled(ready and not self._busy)

    def ask(self) -> None:
        """Ask for a folder and write everything into it."""
        hand_in_half_typed()
        start = self._folder or folder_of(self)
        name = QFileDialog.getExistingDirectory(self, "Folder for the hand-over", str(start))
        if name:
            self.begin(Path(name))

    def begin(self, folder: Path) -> None:
        """Write everything into a folder; asks first when an earlier hand-over of this loop would be replaced."""
        project = self._document.project
        earlier = sorted(folder.glob(f"{glob.escape(loop_files(project.loop))}-*"))
        if earlier and not dialogs.ask_about_replacing(self, folder, len(earlier)):
            return
        self._busy = True
        self.allow(self._ready)
        self.open_folder.hide()
        self._say("The hand-over is being made; you can go on working.")
        job = Job(
            self,
            lambda progress: _hand_over(project, folder, progress),
            self._have,
            self._failed,
            key="whole hand-over",
            title="handing over",
        )
        job.ended.connect(lambda: self._end(job))
        self.job_line.follow(job)

    def _have(self, done: HandOver) -> None:
        self._folder = done.folder
        worst = f"{done.severity.mark} {done.severity.word}"
        self._say(f"✓ {len(done.files)} files written to {done.folder}. The worst finding: {worst}.")
        self.open_folder.show()

    def _failed(self, error: Exception) -> None:
        self._say(f"■ Nothing was handed over: {error}", "stop")

    def _end(self, job: Job[HandOver]) -> None:
        self._busy = False
        self.allow(self._ready)
        if job.cancelled:
            self._say("Stopped. What stood in the folder before is untouched.")

    def _say(self, words: str, role: str = "quiet") -> None:
        restyle(self.words, role=role)
        self.words.setText(words)
        self.words.show()

    def _open(self) -> None:
        folder = self._folder
        if folder is not None and not (folder.is_dir() and QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder)))):
            self._say(f"▲ {folder} can't be shown by this system.", "attention")


def _hand_over(project: Project, folder: Path, progress: Progress) -> HandOver:
    """Do the whole hand-over; on a working thread."""
    from levelbench.handover.package import hand_over  # noqa: PLC0415  the rig comes in when it is wanted

    return hand_over(project, folder, progress, numbers=number_format())
