"""What the program is: its version and those of what it stands on, its limits as a model, the licence of its fonts."""

import platform
from functools import cache
from importlib.metadata import PackageNotFoundError, version

from PySide6.QtCore import Qt, qVersion
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QDialog, QPlainTextEdit, QTextBrowser, QWidget

from levelbench.gui.help.anywhere import explain
from levelbench.gui.help.pages import headings, sections_of, written
from levelbench.gui.look import typeset
from levelbench.gui.look.parts import button, column, row, text
from levelbench.gui.look.theme import GRID
from levelbench.places import resources

_LIBRARIES = ("PySide6-Essentials", "numba", "numpy", "scipy", "pint", "pyqtgraph", "reportlab", "pypdfium2")


@cache
def versions() -> tuple[tuple[str, str], ...]:
    """Give the name and the version of the program, of Python, Qt, the libraries, and the system."""
    found = [("LevelBench", _version("levelbench")), ("Python", platform.python_version()), ("Qt", str(qVersion()))]
    found += [(name, _version(name)) for name in _LIBRARIES]
    return (*found, ("system", f"{platform.system()} {platform.release()}, {platform.machine()}"))


def _named() -> list[str]:
    return [f"{name} {number}" for name, number in versions()]


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed as a package"


def limits() -> str:
    """Give what the model leaves out, and what must not be taken from it, as the help has it."""
    page = written("model")
    wanted = headings(page.markdown)[2:]
    kept = {heading: page.markdown.partition(f"## {heading}\n")[2].partition("\n## ")[0] for heading in wanted}
    assert len(sections_of(page)) == len(wanted) + 2
    return "\n".join(f"**{heading}**\n{words}" for heading, words in kept.items())


class AboutDialog(QDialog):
    """Versions, limits, licence; the versions can be copied into a letter."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("About LevelBench")
        self.setMinimumSize(640, 600)
        self.versions = text(" · ".join(_named()), wrap=True, selectable=True)
        self.limits = QTextBrowser()
        self.limits.setAccessibleName("limits of the model")
        typeset.show(self.limits, limits())
        self.licence = QPlainTextEdit((resources() / "fonts" / "LICENSE.txt").read_text(encoding="utf-8"))
        self.licence.setReadOnly(True)
        self.licence.setTabChangesFocus(True)
        self.licence.setAccessibleName("licence of the fonts")
        close = button("Close", self.accept, "main", "close")
        close.setDefault(True)
        layout = column(
            text("LevelBench", "heading"),
            text(
                "A bench on paper for a small tank that holds its volume by itself. "
                "It is a model; it controls nothing.",
                wrap=True,
            ),
            text("Versions", "subheading"),
            self.versions,
            text("The model's limits", "subheading"),
            self.limits,
            text("Fonts: DejaVu Sans, under this licence", "subheading"),
            self.licence,
            row(button("Copy versions", self._copy, "", "copy the versions as text"), None, close),
            gap=GRID,
        )
        layout.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 2 * GRID)
        layout.setStretch(5, 3)
        layout.setStretch(7, 2)
        self.setLayout(layout)
        explain(self, "model")

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText("\n".join(_named()))
