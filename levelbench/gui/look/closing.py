"""The end of a window: its plots go first, while everything that they stand on is still there."""

from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QApplication, QGraphicsView, QWidget


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
