"""The PDF on both papers: every text in it, nothing small, nothing outside, no picture, our fonts, the same bytes."""

from dataclasses import replace
from functools import cache

import pypdfium2
import pytest
from handover_samples import SAMPLES, Made, made, words
from pypdfium2 import raw

from levelbench.handover.blocks import Heading, Paragraph, Sheet, Signatures, Table
from levelbench.handover.pdf import PAPERS, PaperError, to_pdf
from levelbench.handover.told import value_of
from levelbench.handover.typed import as_typed
from levelbench.project import units
from levelbench.quantity import Quantity

SIZES = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0)}  # ISO 216: 210 × 297 mm; ANSI: 8.5 × 11 in


@cache
def printed(name: str, paper: str) -> bytes:
    """A sample's sheet on a paper."""
    return to_pdf(made(name).sheet, paper)


def opened(name: str, paper: str) -> pypdfium2.PdfDocument:
    """A sample's sheet on a paper, read back by another library."""
    return pypdfium2.PdfDocument(printed(name, paper))


def text_of(document: pypdfium2.PdfDocument) -> str:
    """All that can be read in a document."""
    return "\n".join(page.get_textpage().get_text_range() for page in document)


def packed(text: str) -> str:
    """A text without its spaces and line ends, which wrapping may move."""
    return "".join(text.split())


pages = pytest.mark.parametrize(("name", "paper"), [(name, paper) for name in SAMPLES for paper in PAPERS])


@pages
def test_typed_settings_and_figures_can_be_read(name: str, paper: str) -> None:
    sample, said = made(name), packed(text_of(opened(name, paper)))
    for value in vars(sample.project.loop_settings).values():
        if isinstance(value, Quantity):
            assert packed(as_typed(value, shown_in=units(sample.project))) in said
    for figure in sample.prediction.figures:
        assert packed(value_of(figure, units(sample.project))) in said
    for text in ("hard-wired", sample.sheet.fingerprint, "As found and as left", "∫(SP"):
        assert packed(text) in said


@pages
def test_every_page_has_the_size_of_its_paper_and_its_number(name: str, paper: str) -> None:
    document = opened(name, paper)
    for number, page in enumerate(document, start=1):
        assert page.get_size() == pytest.approx(SIZES[paper], abs=0.5)
        said = page.get_textpage().get_text_range()
        assert f"page {number} of {len(document)}" in said
        assert made(name).project.title in said
        assert made(name).sheet.fingerprint in said


@pages
def test_no_letter_is_smaller_than_eight_points(name: str, paper: str) -> None:
    matrix, seen = raw.FS_MATRIX(), 0
    for page in opened(name, paper):
        text = page.get_textpage()
        for at in range(text.count_chars()):
            if raw.FPDFText_IsGenerated(text, at) == 1:
                continue
            raw.FPDFText_GetMatrix(text, at, matrix)
            size = raw.FPDFText_GetFontSize(text, at) * (matrix.c**2 + matrix.d**2) ** 0.5
            assert size >= 8.0
            seen += 1
    assert seen > 3000


@pages
def test_no_letter_leaves_its_page(name: str, paper: str) -> None:
    for page in opened(name, paper):
        text, (width, height) = page.get_textpage(), page.get_size()
        for at in range(text.count_chars()):
            if raw.FPDFText_IsGenerated(text, at) == 0:
                left, low, right, top = text.get_charbox(at)
                assert left >= 20
                assert right <= width - 20
                assert low >= 15
                assert top <= height - 15


@pages
def test_it_is_drawn_with_lines_and_our_fonts_and_has_no_picture(name: str, paper: str) -> None:
    kinds = {found.type for page in opened(name, paper) for found in page.get_objects()}
    assert raw.FPDF_PAGEOBJ_IMAGE not in kinds
    assert {raw.FPDF_PAGEOBJ_PATH, raw.FPDF_PAGEOBJ_TEXT} <= kinds
    content = printed(name, paper)
    assert content.count(b"/FontFile2") >= 2
    assert b"DejaVuSans" in content


def test_equal_sheets_give_equal_bytes(one: Made) -> None:
    assert to_pdf(one.sheet, "A4") == to_pdf(one.sheet, "A4")


def test_another_paper_is_refused_with_what_there_is() -> None:
    with pytest.raises(PaperError, match=r"“A3”.*A4 or Letter"):
        to_pdf(made("parts_washer").sheet, "A3")


def test_a_long_table_repeats_its_head_on_every_page() -> None:
    rows = tuple((f"row {at}", "value") for at in range(200))
    sheet = Sheet("T", "s", "preliminary", "r", "f", "x", (Table(("the head", "value of it"), rows, (0.5, 0.5)),))
    document = pypdfium2.PdfDocument(to_pdf(sheet, "A4"))
    assert len(document) > 2
    assert text_of(document).count("the head") == len(document)
    assert all(f"row {at}" in text_of(document) for at in range(200))


def test_long_titles_and_words_stay_on_the_page() -> None:
    title = "A day tank with a title that nobody would type and somebody will " * 4
    word = "Nutrientsolutioncirculationreservoir" * 6
    table = Table(("one", "two"), ((word, word),), (0.3, 0.7))
    base = made("seedling_house").sheet
    sheet = replace(
        base, title=title, running=f"{word} rev. 0", blocks=(Heading(word), Paragraph(word), table, *base.blocks)
    )
    for paper, (width, _) in SIZES.items():
        for page in pypdfium2.PdfDocument(to_pdf(sheet, paper)):
            text = page.get_textpage()
            boxes = [text.get_charbox(at) for at in range(text.count_chars()) if not raw.FPDFText_IsGenerated(text, at)]
            assert max(box[2] for box in boxes) <= width - 20


def test_signatures_never_part_from_their_heading() -> None:
    for filler in range(0, 60, 3):
        blocks = (
            *(Paragraph(f"line {at}") for at in range(filler)),
            Heading("Signatures"),
            Signatures((("prepared", "A"),) * 6),
        )
        document = pypdfium2.PdfDocument(to_pdf(Sheet("T", "s", "p", "r", "f", "x", blocks), "Letter"))
        (page,) = [page for page in document if "Signatures" in page.get_textpage().get_text_range()]
        assert page.get_textpage().get_text_range().count("prepared") == 6


def test_signs_that_would_be_markup_are_printed() -> None:
    sheet = replace(made("seedling_house").sheet, title="A <b>&amp; B", blocks=(Paragraph("x < y & z > <i>w"),))
    said = text_of(pypdfium2.PdfDocument(to_pdf(sheet, "A4")))
    assert "A <b>&amp; B" in said
    assert "x < y & z > <i>w" in said
    assert "x < y" in words(sheet)
