"""The main window as the help and the tour know it: its parts, not how they are put together."""

from typing import TYPE_CHECKING

from levelbench.gui.stages.staged import StagedWindow

if TYPE_CHECKING:
    from PySide6.QtWidgets import QSplitter, QWidget

    from levelbench.gui.bench.bench_bar import BenchBar
    from levelbench.gui.document.file_commands import FileCommands
    from levelbench.gui.rail import Rail


class HelpedWindow(StagedWindow):
    """A window with stages, and the parts around them that the help speaks of and the tour acts on."""

    files: "FileCommands"
    rail: "Rail"
    bar: "BenchBar"
    centre: "QSplitter"
    inside: "QWidget"
