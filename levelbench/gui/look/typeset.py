"""A page of Markdown set as the rest of the window is: its type sizes, its spacing, its hairlines."""

from PySide6.QtGui import QBrush, QFont, QTextBlock, QTextBlockFormat, QTextCursor, QTextFrameFormat, QTextTable
from PySide6.QtWidgets import QTextBrowser

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.look.theme import GRID

_SIZES = {1: theme.FIGURE, 2: theme.TITLE, 3: theme.BODY}  # px of the headings, by their level
_ABOVE = {1: 0, 2: 2 * GRID, 3: GRID}  # px over the headings
_LINES = 125.0  # % of the type's own height, from line to line


def show(browser: QTextBrowser, markdown: str) -> None:
    """Show a page in a browser."""
    browser.setMarkdown(markdown)
    document = browser.document()
    document.setDocumentMargin(2 * GRID)
    cursor = QTextCursor(document)
    cursor.beginEditBlock()  # laid out once, at its end, and not after each cell
    for frame in document.rootFrame().childFrames():
        if isinstance(frame, QTextTable):
            _set_table(frame)
    for block in blocks(browser):
        cursor.setPosition(block.position())
        _set_block(cursor, block)
    cursor.endEditBlock()
    document.clearUndoRedoStacks()


def blocks(browser: QTextBrowser) -> list[QTextBlock]:
    """Give every block of the shown page."""
    found, block = [], browser.document().begin()
    while block.isValid():
        found.append(block)
        block = block.next()
    return found


def _set_block(cursor: QTextCursor, block: QTextBlock) -> None:
    level = block.blockFormat().headingLevel()
    spaced = QTextBlockFormat()
    if level:
        spaced.setTopMargin(_ABOVE.get(level, GRID))
        spaced.setBottomMargin(GRID // 2)
    elif cursor.currentTable() is None:
        spaced.setLineHeight(_LINES, QTextBlockFormat.LineHeightTypes.ProportionalHeight.value)
        spaced.setBottomMargin(GRID // 4 if block.textList() else GRID - 2)
    cursor.mergeBlockFormat(spaced)
    if level:
        cursor.select(QTextCursor.SelectionType.BlockUnderCursor)
        shown = cursor.charFormat()
        shown.clearProperty(shown.Property.FontSizeAdjustment.value)
        shown.setProperty(shown.Property.FontPixelSize.value, _SIZES.get(level, theme.BODY))
        shown.setFontWeight(QFont.Weight.Normal if level == 1 else QFont.Weight.Bold)
        cursor.setCharFormat(shown)


def _set_table(table: QTextTable) -> None:
    look = table.format()
    look.setBorder(0)
    look.setCellPadding(GRID - 3)
    look.setCellSpacing(0)
    look.setTopMargin(GRID // 2)
    look.setBottomMargin(GRID)
    table.setFormat(look)
    hairline = QBrush(theme.colour(Role.HAIRLINE))
    for at in range(table.rows()):
        for across in range(table.columns()):
            cell = table.cellAt(at, across)
            shown = cell.format().toTableCellFormat()
            shown.setBorder(0)
            shown.setBottomBorder(1)
            shown.setBottomBorderStyle(QTextFrameFormat.BorderStyle.BorderStyle_Solid)
            shown.setBottomBorderBrush(hairline)
            cell.setFormat(shown)
