"""A table of which one row is in hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QAbstractItemView, QFrame, QTableView

if TYPE_CHECKING:
    from PySide6.QtCore import QAbstractTableModel, QModelIndex
    from PySide6.QtGui import QResizeEvent


class RowTable(QTableView):
    """Shows a model and fits its columns to the room; `key` is that of the row in hand, "" while there is none."""

    def __init__(self, model: QAbstractTableModel, name: str) -> None:
        super().__init__()
        self.key = ""
        self.setModel(model)
        self.setProperty("role", "rules")
        self.setAccessibleName(name)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.verticalHeader().hide()
        self.horizontalHeader().setHighlightSections(False)
        self.selectionModel().currentRowChanged.connect(self._row_changed)

    def fit(self) -> None:
        """Give the columns what room there is."""
        raise NotImplementedError

    def take(self, row: int) -> None:
        """Take a row in hand."""
        raise NotImplementedError

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  Qt's name
        """Go with the room."""
        super().resizeEvent(event)
        self.fit()

    def _row_changed(self, index: QModelIndex, _before: QModelIndex) -> None:
        if index.isValid():
            self.take(index.row())
