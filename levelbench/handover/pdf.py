"""A sheet as PDF for A4 or Letter: vector, our own fonts inside, readable in a grey copy, the same bytes every time."""

from collections.abc import Iterable
from functools import singledispatch
from html import escape
from io import BytesIO
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_CENTER, TA_RIGHT
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, CondPageBreak, Flowable, Frame, KeepTogether, PageTemplate, Spacer
from reportlab.platypus import Paragraph as Text
from reportlab.platypus import Table as Grille

from levelbench.drawing.measure import text_width
from levelbench.drawing.palette import PRINT
from levelbench.drawing.scene import Role
from levelbench.handover.blocks import (
    Block,
    Bullets,
    Drawing,
    Equation,
    Grid,
    Heading,
    Note,
    Paragraph,
    Sheet,
    Signatures,
    Table,
)
from levelbench.handover.paint import BOLD, PLAIN, SceneBlock, register_fonts
from levelbench.quantity import LevelBenchError

PAPERS = {"A4": A4, "Letter": LETTER}
SIDE, HEAD, FOOT = 12 * mm, 19 * mm, 16 * mm  # margins: left and right, above, below
SMALL, BODY = 8.2, 8.8  # [pt] nothing on a sheet is smaller than 8 pt
INK, QUIET, HAIR = (HexColor(PRINT[role]) for role in (Role.INK, Role.QUIET, Role.HAIRLINE))


def _style(name: str, size: float, **more: Any) -> ParagraphStyle:
    plain: dict[str, Any] = {
        "fontName": PLAIN,
        "fontSize": size,
        "leading": 1.28 * size,
        "textColor": INK,
        "splitLongWords": 1,
    }
    return ParagraphStyle(name, **(plain | more))


STYLES = {
    "heading": _style("heading", 11, fontName=BOLD, spaceBefore=9, spaceAfter=3),
    "minor": _style("minor", BODY, fontName=BOLD, spaceBefore=4, spaceAfter=1),
    "text": _style("text", BODY, spaceBefore=2, spaceAfter=4),
    "bullet": _style("bullet", BODY, leftIndent=10, bulletIndent=1, spaceAfter=1.5),
    "cell": _style("cell", SMALL),
    "number": _style("number", SMALL, alignment=TA_RIGHT),
    "head": _style("head", SMALL, fontName=BOLD),
    "head number": _style("head number", SMALL, fontName=BOLD, alignment=TA_RIGHT),
    "label": _style("label", SMALL, textColor=QUIET),
    "caption": _style("caption", SMALL, textColor=QUIET, spaceAfter=4),
    "equation": _style("equation", 10.5, alignment=TA_CENTER, spaceBefore=3, spaceAfter=5, leading=14),
    "title": _style("title", 16, fontName=BOLD),
    "subtitle": _style("subtitle", 11, textColor=QUIET, spaceAfter=6),
}


class PaperError(LevelBenchError):
    """A paper size that the sheet is not laid out for."""


def to_pdf(sheet: Sheet, paper: str) -> bytes:
    """Print a sheet on "A4" or "Letter". Equal sheets give equal bytes. Raises PaperError for another paper."""
    if paper not in PAPERS:
        raise PaperError(f"The sheet can't be printed on “{paper}”. Choose {' or '.join(PAPERS)}.")
    register_fonts()
    width, height = PAPERS[paper]
    room = width - 2 * SIDE
    target = BytesIO()
    document = BaseDocTemplate(
        target,
        pagesize=(width, height),
        invariant=1,
        title=f"{sheet.title}: {sheet.subtitle}",
        author="LevelBench",
        subject=sheet.foot,
    )
    frame = Frame(SIDE, FOOT, room, height - HEAD - FOOT, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)
    document.addPageTemplates(PageTemplate(frames=[frame]))
    story: list[Flowable] = [
        Text(escape(sheet.title), STYLES["title"]),
        Spacer(0, 2),
        Text(escape(f"{sheet.subtitle} · {sheet.status}"), STYLES["subtitle"]),
    ]
    for block in sheet.blocks:
        laid = _lay(block, room)
        if isinstance(block, Signatures):  # they never part from their heading
            laid = [KeepTogether([story.pop(), *laid])]
        story += laid
    document.build(story, canvasmaker=_pages(sheet, width, height))
    return target.getvalue()


def _pages(sheet: Sheet, width: float, height: float) -> type[Canvas]:
    """Give a canvas that knows how many pages there are when it writes head and foot of each."""

    class Numbered(Canvas):
        """Keeps the pages until the last is known."""

        def __init__(self, *arguments: Any, **words: Any) -> None:
            super().__init__(*arguments, **words)
            self.kept: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802  a name of reportlab
            """Keep a finished page."""
            self.kept.append(dict(self.__dict__))
            self._startPage()  # type: ignore[attr-defined]  # the way of reportlab's own page counters

        def save(self) -> None:
            """Write head and foot on every page, then the file."""
            for number, page in enumerate(self.kept, start=1):
                self.__dict__.update(page)
                _margins(self, sheet, (width, height), f"page {number} of {len(self.kept)}")
                super().showPage()
            super().save()

    return Numbered


def _margins(canvas: Canvas, sheet: Sheet, paper: tuple[float, float], page: str) -> None:
    """Write what every page repeats above and below its content."""
    width, height = paper
    canvas.setFont(PLAIN, SMALL)
    canvas.setFillColor(QUIET)
    canvas.setStrokeColor(HAIR)
    canvas.setLineWidth(0.5)
    canvas.setDash([])
    top, low = height - 12.5 * mm, 10 * mm
    room = width - 2 * SIDE
    running = _short(sheet.running, 0.45 * room)
    canvas.drawString(SIDE, top, _short(sheet.title, room - text_width(running, SMALL) - 12))
    canvas.drawRightString(width - SIDE, top, running)
    canvas.line(SIDE, top - 4, width - SIDE, top - 4)
    canvas.line(SIDE, low + 10, width - SIDE, low + 10)
    canvas.drawString(SIDE, low, f"{sheet.foot} · {sheet.status}")
    canvas.drawRightString(width - SIDE, low, page)


def _short(text: str, room: float) -> str:
    """Cut a text that is too long for its line, and say so with an ellipsis."""
    if text_width(text, SMALL) <= room:
        return text
    while text and text_width(f"{text}…", SMALL) > room:
        text = text[:-1]
    return f"{text.rstrip()}…"


def _cell(text: str, style: str) -> Text:
    return Text(escape(text).replace("\n", "<br/>"), STYLES[style])


@singledispatch
def _lay(block: Block, room: float) -> list[Flowable]:
    raise TypeError(f"no way to lay {type(block).__name__} out in {room}")


@_lay.register
def _(block: Heading, room: float) -> list[Flowable]:
    del room
    if block.minor:
        return [CondPageBreak(16 * mm), _cell(block.text, "minor")]
    return [CondPageBreak(34 * mm), _cell(block.text, "heading")]


@_lay.register
def _(block: Paragraph, room: float) -> list[Flowable]:
    del room
    return [_cell(block.text, "caption" if block.quiet else "text")]


@_lay.register
def _(block: Bullets, room: float) -> list[Flowable]:
    del room
    return [Text(escape(line), STYLES["bullet"], bulletText="·") for line in block.lines]


def _within(rows: Iterable[Iterable[str]]) -> int:
    """Say whether rows may be parted at the end of a page: 1 where a text is so long that its row may fill a page."""
    return int(any(len(text) > _LONG for row in rows for text in row))


@_lay.register
def _(block: Grid, room: float) -> list[Flowable]:
    cells = [[_cell(name, "label"), _cell(value, "cell")] for name, value in block.pairs]
    if len(cells) % 2:
        cells.append([_cell("", "label"), _cell("", "cell")])
    half = (len(cells) + 1) // 2
    gap = _cell("", "cell")
    rows = [[*cells[at], gap, *cells[at + half]] for at in range(half)]
    shares = (0.19, 0.29, 0.04, 0.19, 0.29)
    lines = [("LINEBELOW", (0, 0), (1, -1), 0.4, HAIR), ("LINEBELOW", (3, 0), (4, -1), 0.4, HAIR)]
    grid = Grille(
        rows, colWidths=[share * room for share in shares], style=[*_TIGHT, *lines], splitByRow=1, splitInRow=1
    )
    return [grid, Spacer(0, 4)]


_LONG = 400  # letters; in the narrowest column of any table they fill half a page
_TIGHT: list[Any] = [
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 5),
    ("TOPPADDING", (0, 0), (-1, -1), 1.6),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
]


@_lay.register
def _(block: Table, room: float) -> list[Flowable]:
    def row(cells: tuple[str, ...], plain: str, number: str) -> list[Text]:
        return [_cell(cell, number if at in block.right else plain) for at, cell in enumerate(cells)]

    rows = [row(block.head, "head", "head number"), *(row(cells, "cell", "number") for cells in block.rows)]
    style = [*_TIGHT, ("LINEBELOW", (0, 0), (-1, -1), 0.4, HAIR), ("LINEBELOW", (0, 0), (-1, 0), 0.9, INK)]
    style += [("RIGHTPADDING", (at, 0), (at, -1), 11) for at in block.right]
    if block.tall:
        style += [
            ("LINEAFTER", (0, 0), (-2, -1), 0.4, HAIR),
            ("LEFTPADDING", (1, 0), (-1, -1), 5),
            ("VALIGN", (0, 1), (-1, -1), "MIDDLE"),
        ]
    heights = [None, *(6.0 * mm for _ in block.rows)] if block.tall else None
    widths = [share * room for share in block.widths]
    table = Grille(
        rows, colWidths=widths, rowHeights=heights, style=style, repeatRows=1, splitInRow=_within(block.rows)
    )
    return [table, Spacer(0, 5)]


@_lay.register
def _(block: Drawing, room: float) -> list[Flowable]:
    del room
    return [KeepTogether([Spacer(0, 4), SceneBlock(block.scene), _cell(block.caption, "caption")])]


@_lay.register
def _(block: Equation, room: float) -> list[Flowable]:
    del room
    return [_cell(block.text, "equation")]


@_lay.register
def _(block: Note, room: float) -> list[Flowable]:
    words = f"<b>{escape(block.mark)} {escape(block.word)}.</b> {escape(block.text)}"
    box: list[Any] = [
        ("BOX", (0, 0), (-1, -1), 0.9, INK),
        ("TOPPADDING", (0, 0), (-1, -1), 4),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
    ]
    style = [*box, ("LEFTPADDING", (0, 0), (-1, -1), 6), ("RIGHTPADDING", (0, 0), (-1, -1), 6)]
    return [Spacer(0, 2), Grille([[Text(words, STYLES["text"])]], colWidths=[room], style=style), Spacer(0, 4)]


@_lay.register
def _(block: Signatures, room: float) -> list[Flowable]:
    def line(what: str, name: str) -> list[Text]:
        return [_cell(what, "label"), _cell(name, "cell"), _cell("date", "label"), _cell("signature", "label")]

    rows = [line(*one) for one in block.lines]
    widths = [share * room for share in (0.22, 0.3, 0.18, 0.3)]
    style = [*_TIGHT, ("LINEBELOW", (1, 0), (-1, -1), 0.6, INK), ("VALIGN", (0, 0), (-1, -1), "BOTTOM")]
    return [Grille(rows, colWidths=widths, rowHeights=11 * mm, style=style)]
