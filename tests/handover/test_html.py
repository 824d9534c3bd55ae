"""The HTML page: well-formed, self-contained, saying all that the sheet says."""

from dataclasses import replace
from html.parser import HTMLParser

from handover_samples import Made, made, words

from levelbench.handover.blocks import Heading, Paragraph
from levelbench.handover.html import to_html

VOID = {"meta", "br", "line", "polyline", "polygon", "circle", "path", "rect"}


class Reader(HTMLParser):
    """Checks that what is opened is closed, and collects texts and addresses."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.texts: list[str] = []
        self.addresses: list[str] = []
        self.kinds: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.kinds.add(tag)
        self.addresses += [value or "" for key, value in attrs if key in ("src", "href", "xlink:href", "action")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def read(page: str) -> Reader:
    """Read a page to its end."""
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader


def packed(text: str) -> str:
    """A text without its spaces and line ends."""
    return "".join(text.split())


def test_the_page_says_all_that_the_sheet_says(one: Made) -> None:
    said = packed("".join(read(to_html(one.sheet)).texts))
    for line in words(one.sheet).split("\n"):
        assert packed(line) in said, line


def test_the_page_needs_nothing_beside_it(one: Made) -> None:
    page = to_html(one.sheet)
    found = read(page)
    assert found.addresses == []
    assert not {"script", "link", "img", "iframe"} & found.kinds
    assert "url(" not in page
    assert "@import" not in page
    assert page.count("http") == page.count("http://www.w3.org/2000/svg")


def test_the_page_can_be_read_on_a_telephone_and_printed(one: Made) -> None:
    page = to_html(one.sheet)
    assert '<meta name="viewport" content="width=device-width, initial-scale=1">' in page
    assert "@media print" in page
    assert "thead { display: table-header-group; }" in page


def test_signs_that_would_be_markup_are_shown() -> None:
    sheet = replace(
        made("seedling_house").sheet,
        title="<script>x</script>",
        blocks=(Heading("a & b", True), Paragraph("<i>", True)),
    )
    found = read(to_html(sheet))
    assert "script" not in found.kinds
    assert "<script>x</script>" in found.texts
    assert "a & b" in found.texts
    assert "<i>" in found.texts


def test_equal_sheets_give_equal_pages(one: Made) -> None:
    assert to_html(one.sheet) == to_html(one.sheet)
