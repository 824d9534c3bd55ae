"""Getting the compiled scan ready without holding the window.

Compiling takes some ten seconds and holds the interpreter for up to 600 ms at a time, even on a thread. So a child
process compiles into the disk cache, and this process then loads the cache on a thread of ours: at most 28 ms at a
time. Nearly all of what was longer came from full sweeps of the garbage collector over the compiler's half a million
objects (200 to 280 ms each), and 45 to 115 ms while the other stages are imported; so the collector rests from the
start on, and what was loaded is taken out of its later sweeps.
"""

import gc
import os
import sys
from pathlib import Path

from PySide6.QtCore import QObject, QProcess, QProcessEnvironment, Signal

from levelbench import places
from levelbench.gui.work.jobs import Job, Progress

CHILD_MODULE = "levelbench.rig.warm"


class Warm(QObject):
    """Says `ready` once when a rig can be run without a wait; until then everything that needs no rig works."""

    ready = Signal()
    failed = Signal(str)  # words for the person; nothing can be run
    loaded_here = False  # by an earlier window of this process

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.is_ready = False
        self._child: QProcess | None = None
        self._load_job: Job[None] | None = None

    def start(self) -> None:
        """Begin: compile in a child process what is not in the cache, then load it; a further window has it at once."""
        gc.disable()
        if Warm.loaded_here:
            self._load()
            return
        child = QProcess(self)
        child.setProgram(sys.executable)
        child.setArguments(["-P", "-m", CHILD_MODULE])  # -P: no module of the folder that we were started in
        child.setProcessEnvironment(_environment())
        child.finished.connect(self._load)
        child.errorOccurred.connect(self._child_failed)
        self._child = child
        child.start()

    def stop(self) -> None:
        """End the child and wait for it; for closing the program."""
        gc.enable()
        if self._load_job is not None:
            self._load_job.cancel()
        if self._child is not None and self._child.state() != QProcess.ProcessState.NotRunning:
            self._child.finished.disconnect(self._load)
            self._child.kill()
            self._child.waitForFinished(5000)

    def _child_failed(self, error: QProcess.ProcessError) -> None:
        """Where no child can be started, compile here after all; the window then stutters for some seconds."""
        if error == QProcess.ProcessError.FailedToStart:
            self._load()

    def _load(self) -> None:
        self._load_job = Job(self, _load_here, self._loaded, self._could_not, key="warm", title="preparing the bench")

    def _loaded(self, _nothing: None) -> None:
        spare_the_sweeps()
        gc.enable()
        Warm.loaded_here = True
        self.is_ready = True
        self.ready.emit()

    def _could_not(self, error: Exception) -> None:
        gc.enable()
        self.failed.emit(f"The bench can't be prepared: {error} Check the installation, then start the program again.")


def spare_the_sweeps() -> None:
    """Take everything that lives now out of the garbage collector's later sweeps, so that these stay short."""
    gc.freeze()


def _load_here(_progress: Progress) -> None:
    from levelbench.rig import warm  # noqa: PLC0415  brings the compiler in, on the working thread

    warm.main()


def _environment() -> QProcessEnvironment:
    """Let the child find this very package."""
    environment = QProcessEnvironment.systemEnvironment()
    package = str(Path(places.__file__).resolve().parent.parent)
    paths = [package, environment.value("PYTHONPATH")]
    environment.insert("PYTHONPATH", os.pathsep.join(path for path in paths if path))
    return environment
