"""What stands in boxes, tables, lists and menus: which words have too little room, and the same words longer."""

import math
from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QModelIndex, QRect, QSize, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QHeaderView,
    QLineEdit,
    QListView,
    QMainWindow,
    QMenu,
    QStyle,
    QStyleOptionComboBox,
    QStyleOptionFrame,
    QTableView,
    QWidget,
)

LONGER = 1.3
_MARGIN = 4  # px that a line of text keeps free on either side of a box
_CELL = 3  # px at either side of the words in a cell of a table


def longer(words: str, *, apart: bool = False) -> str:
    """Give words as another language might have them, with one longer word or (`apart`) one more; figures stay."""
    letters = sum(letter.isalpha() for letter in words)
    more = math.ceil((LONGER - 1) * letters)
    if letters <= 2:
        return words
    return words + (" " + "longer "[: more - 1]) if apart and more > 1 else words + "e" * more


def shown(window: QWidget, *kinds: type) -> list[QWidget]:
    """Give the widgets of some kinds that are in sight."""
    return [one for kind in kinds for one in window.findChildren(kind) if one.isVisible()]


def short_boxes(window: QWidget) -> list[str]:
    """Say which boxes, tables, lists and menus of a window are too small for their words."""
    said: list[str] = []
    for one in shown(window, QLineEdit):
        assert isinstance(one, QLineEdit)
        said += _short_line(one)
    for one in shown(window, QComboBox):
        assert isinstance(one, QComboBox)
        said += _short_choice(one)
    for one in shown(window, QTableView, QListView):
        assert isinstance(one, QAbstractItemView)
        said += _short_cells(one)
    if isinstance(window, QMainWindow):
        said += _short_menus(window)
    return said


def _short_line(one: QLineEdit) -> list[str]:
    """A line that a person types may be longer than its box; what the program writes there and suggests may not."""
    if isinstance(one.parent(), QComboBox) or one.hasFocus():
        return []
    option = QStyleOptionFrame()
    one.initStyleOption(option)
    room = one.style().subElementRect(QStyle.SubElement.SE_LineEditContents, option, one).width() - _MARGIN
    words = one.text() or one.placeholderText()
    wide = one.fontMetrics().horizontalAdvance(words)
    return [f"box “{words}”: {wide} px wide, there are {room}"] if wide > room + 1 else []


def _short_choice(one: QComboBox) -> list[str]:
    option = QStyleOptionComboBox()
    one.initStyleOption(option)
    place = QStyle.SubControl.SC_ComboBoxEditField
    room = one.style().subControlRect(QStyle.ComplexControl.CC_ComboBox, option, place, one).width()
    words = one.currentText() or one.placeholderText()
    wide = one.fontMetrics().horizontalAdvance(words)
    said = [f"choice “{words}”: {wide} px wide, there are {room}"] if wide > room + 1 else []
    entries = [one.itemText(at) for at in range(one.count())]
    list_room = max(one.width(), one.view().minimumWidth())
    for entry in entries:
        wide = one.fontMetrics().horizontalAdvance(entry) + 2 * _MARGIN
        if wide > list_room:
            said.append(f"entry “{entry}”: {wide} px wide, there are {list_room}")
    return said


def _short_cells(one: QAbstractItemView) -> list[str]:
    model, said = one.model(), []
    if model is None:
        return []
    for at in range(model.rowCount()):
        for column in range(model.columnCount() if isinstance(one, QTableView) else 1):
            index = model.index(at, column)
            place = one.visualRect(index)
            words = str(index.data() or "")
            if not words or one.isIndexHidden(index) or not one.viewport().rect().intersects(place):
                continue
            needs = _needs(one, index)
            if needs.width() > place.width() + 1 or needs.height() > place.height() + 1:
                said.append(f"cell “{words}”: needs {needs.toTuple()}, there are {place.size().toTuple()}")
    for head in shown(one, QHeaderView):
        assert isinstance(head, QHeaderView)
        said += _short_head(head)
    return said


def _needs(one: QAbstractItemView, index: QModelIndex) -> QSize:
    if isinstance(one, QListView) and one.wordWrap():
        return QSize(0, 0)  # its rows are as high as their words need
    metrics, words = one.fontMetrics(), str(index.data())
    if isinstance(one, QTableView) and one.wordWrap():
        room = QRect(0, 0, one.visualRect(index).width() - 2 * _CELL, 10_000)
        wrapped = metrics.boundingRect(room, Qt.TextFlag.TextWordWrap, words)
        return wrapped.size() + QSize(2, 0)
    return QSize(metrics.horizontalAdvance(words) + 2, metrics.height())


def _short_head(head: QHeaderView) -> list[str]:
    model, said = head.model(), []
    across = head.orientation() == Qt.Orientation.Horizontal
    for at in range(head.count()):
        words = str(model.headerData(at, head.orientation()) or "")
        room = head.sectionSize(at) if across else head.width()
        lines = words.split("\n")
        wide = max(head.fontMetrics().horizontalAdvance(line) for line in lines) + _MARGIN
        if wide > room + 1:
            said.append(f"head “{words}”: {wide} px wide, there are {room}")
    return said


def _short_menus(window: QMainWindow) -> list[str]:
    """Every menu fits the window's width and height; the words of a menu are always shown whole."""
    bar, said = window.menuBar(), []
    for action in bar.actions():
        if not bar.rect().contains(bar.actionGeometry(action)):
            said.append(f"menu “{action.text()}” does not fit the bar")
    for menu in window.findChildren(QMenu):
        needs = menu.sizeHint()
        if needs.width() > window.width():
            said.append(f"menu “{menu.title()}”: {needs.width()} px wide, the window has {window.width()}")
    return said


def lengthen_boxes(window: QWidget) -> Callable[[], None]:
    """Make entries, heads and menus longer; gives what puts them back."""
    undo: list[Callable[[], object]] = []
    for one in shown(window, QComboBox):
        assert isinstance(one, QComboBox)
        undo += _lengthen_choice(one)
    for one in shown(window, QTableView):
        assert isinstance(one, QTableView)
        undo += _lengthen_heads(one)
    for one in shown(window, QLineEdit):
        assert isinstance(one, QLineEdit)
        undo.append(partial(one.setPlaceholderText, one.placeholderText()))
        one.setPlaceholderText(longer(one.placeholderText()))
    for menu in window.findChildren(QMenu) if isinstance(window, QMainWindow) else ():
        for action in (menu.menuAction(), *menu.actions()):
            undo.append(partial(action.setText, action.text()))
            action.setText(longer(action.text()))

    def put_back() -> None:
        for each in reversed(undo):
            each()

    return put_back


def _lengthen_choice(one: QComboBox) -> list[Callable[[], object]]:
    undo: list[Callable[[], object]] = [partial(one.setSizeAdjustPolicy, one.sizeAdjustPolicy())]
    one.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)  # as if they had been so from the start
    for at in range(one.count()):
        undo.append(partial(one.setItemText, at, one.itemText(at)))
        one.setItemText(at, longer(one.itemText(at)))
    return undo


def _lengthen_heads(one: QTableView) -> list[Callable[[], object]]:
    model, undo = one.model(), list[Callable[[], object]]()
    for way, count in ((Qt.Orientation.Horizontal, model.columnCount()), (Qt.Orientation.Vertical, model.rowCount())):
        for at in range(count):
            words = str(model.headerData(at, way) or "")
            undo.append(partial(model.setHeaderData, at, way, words))
            model.setHeaderData(at, way, longer(words))
    return undo
