"""The end of a window: its plots go first, while everything that they stand on is still there."""

from collections.abc import Iterable
from functools import partial

from PySide6.QtCore import QCoreApplication, QEvent, QObject
from PySide6.QtWidgets import QApplication, QDialog, QGraphicsView, QStackedWidget, QWidget
from shiboken6 import delete, isValid

from levelbench.gui.work.slices import Slices


def take_apart(window: QWidget, silent: Iterable[QObject]) -> None:
    """Delete a closed window bit by bit, so that no other window is held: plots, pages, what is left.

    `silent`: who speaks to its parts, and must not any more. A question that stands open is left without an answer
    first: who waits for it would go on in a window that is gone.
    """
    for dialog in window.findChildren(QDialog):
        if dialog.isVisible():
            dialog.reject()
    stacks = window.findChildren(QStackedWidget)
    for one in (window, *silent, *stacks):
        one.blockSignals(True)
    pages = [page for stack in reversed(stacks) for page in _pages(stack)]  # the innermost first
    bits = (*window.findChildren(QGraphicsView), *pages)
    Slices(window).also((*(partial(_delete, bit) for bit in bits), window.deleteLater))


def _pages(stack: QStackedWidget) -> list[QWidget | None]:
    """Give the pages, the one in sight last: where that goes, a stack would bring up another, half of which is gone.

    A size that its Python half can't tell any more ends the process then (PySide6 6.11.3).
    """
    return [stack.widget(at) for at in sorted(range(stack.count()), key=lambda at: at == stack.currentIndex())]


def _delete(bit: QWidget | None) -> None:
    if bit is not None and isValid(bit):
        delete(bit)


def delete_plots(window: QWidget) -> None:
    """Delete the plots of a window at the event loop's next turn, before the window itself goes.

    A window that goes with its plots lets go of their Python halves first; the plot library's items then end the
    process with a segmentation fault (met with PySide6 6.11.3 and pyqtgraph 0.14.0).
    """
    for plot in window.findChildren(QGraphicsView):
        plot.deleteLater()


def delete_windows(app: QApplication) -> None:
    """Delete every window now, in order, and not by chance when the interpreter takes its objects apart."""
    for window in app.topLevelWidgets():
        delete_plots(window)
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    for window in app.topLevelWidgets():
        window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
