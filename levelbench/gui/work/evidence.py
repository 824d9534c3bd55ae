"""What measured records say of the open project's rig, for the other ways of tuning, until it is given back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.tuning.process import Process


@dataclass(frozen=True)
class FoundProcess:
    """A process that a record of this rig came down to, its PV a volume [m3].

    `slopes` is the interval of its rate per output [m3/s], `dead_times` that of its dead time [s], None where the
    record gave none; `words` say what it is.
    """

    process: Process
    slopes: tuple[float, float] | None
    dead_times: tuple[float, float] | None
    words: str


class Evidence(QObject):
    """Keeps the process that is used in place of the described one; None: the described one. Another file ends it."""

    changed = Signal()

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self.found: FoundProcess | None = None
        document.replaced.connect(lambda _project: self.use(None))

    def use(self, found: FoundProcess | None) -> None:
        """Use a process from here on; None gives it back."""
        if found != self.found:
            self.found = found
            self.changed.emit()
