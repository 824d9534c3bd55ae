"""The pages of the help as Markdown: those that are written in resources/texts, and those made from what they tell of.

Every heading of a page has an anchor, in the order of the headings, so that a place in the help is "page#anchor".
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from levelbench.alarms.lifecycle import in_words
from levelbench.gui.help.figure_help import meaning, meanings
from levelbench.places import resources
from levelbench.project.stack_light import DEFAULT_ROWS
from levelbench.quantity import Figure, NumberFormat, in_prose, number_format

WRITTEN = (
    "start", "describe", "check", "tune", "tune-experiment", "tune-record", "tune-rules", "tune-search",
    "tune-filling", "tune-proof", "alarms", "alarms-noise", "alarms-time", "alarms-shifts", "alarms-lights",
    "alarms-standing", "alarms-record",
    "rehearse", "hand-over", "section", "trend", "bench",
    "station", "files", "preferences", "model", "formulas", "glossary",
)  # fmt: skip
_HEADING = re.compile(r"^(#{1,3}) (.+)$", re.MULTILINE)


@dataclass(frozen=True)
class Page:
    """One page: its name in links, its title, its Markdown, and an anchor for each heading."""

    name: str
    title: str
    markdown: str
    anchors: tuple[str, ...]


@dataclass(frozen=True)
class Found:
    """One place that a search found: where, under which heading, and the words around it."""

    place: str
    title: str
    heading: str
    words: str


def headings(markdown: str) -> list[str]:
    """Give the headings of a Markdown text, in their order."""
    return [found[2].strip() for found in _HEADING.finditer(markdown)]


def slug(heading: str) -> str:
    """Give the anchor of a heading: "Seconds to the spill" is "seconds-to-the-spill"."""
    return re.sub(r"[^a-z0-9]+", "-", heading.casefold()).strip("-")


def page_of(name: str, markdown: str, anchors: Sequence[str] | None = None) -> Page:
    """Make a page; its anchors are made of its headings when none are given."""
    heads = headings(markdown)
    return Page(name, heads[0], markdown, tuple(anchors if anchors is not None else map(slug, heads)))


def written(name: str) -> Page:
    """Give a page that is written in resources/texts/help; its numbers as they are shown now."""
    return _written(name, number_format())


@cache
def _written(name: str, _shown_as: NumberFormat) -> Page:
    text = (resources() / "texts" / "help" / f"{name}.md").read_text(encoding="utf-8")
    for mark, table in _TABLES.items():
        text = text.replace(mark, table()) if mark in text else text
    return page_of(name, in_prose(text))


def figures_page(figures: Sequence[Figure]) -> Page:
    """Make the page of the figures: those that are worked out now, or all that can be while there are none."""
    lines = ["# Figures", "", "What each computed figure means. **why?** beside it opens the same in its place."]
    anchors = [""]
    if figures:
        for one in {one.key: one for one in figures}.values():
            known = meaning(one.key)
            anchors.append(one.key)
            lines += ["", f"### {one.name}", ""]
            lines += [known.says, "", f"In the trade: *{known.term}*.", ""] if known is not None else []
            lines += [f"    {one.formula}", "", f"Source: {one.source}."]
    else:
        for key, known in meanings().items():
            anchors.append(key)
            lines += ["", f"### {known.term}", "", known.says]
    return page_of("figures", "\n".join(lines), anchors)


def search(pages: Sequence[Page], words: str) -> list[Found]:
    """Find the sections with every word: first those with all in the heading, then with the words in this order."""
    wanted = words.casefold().split()
    if not wanted:
        return []
    phrase = " ".join(wanted)
    found: list[tuple[int, Found]] = []
    for page in pages:
        for anchor, heading, body in sections_of(page):
            whole = f"{heading} {body}".casefold()
            if all(word in whole for word in wanted):
                rank = 0 if all(word in heading.casefold() for word in wanted) else 1 if phrase in whole else 2
                place = f"{page.name}#{anchor}"
                found.append(
                    (rank, Found(place, page.title, heading, _around(body, phrase if rank == 1 else wanted[0])))
                )
    return [one for _rank, one in sorted(found, key=lambda pair: pair[0])]


def sections_of(page: Page) -> list[tuple[str, str, str]]:
    """Give anchor, heading and plain text of each section of a page."""
    marks = list(_HEADING.finditer(page.markdown))
    ends = [mark.start() for mark in marks[1:]] + [len(page.markdown)]
    return [
        (anchor, mark[2].strip(), _plain(page.markdown[mark.end() : end]))
        for anchor, mark, end in zip(page.anchors, marks, ends, strict=True)
    ]


def _plain(markdown: str) -> str:
    """Take the signs of Markdown out of a text."""
    without_links = re.sub(r"\[([^\]]+)\]\([^)]+\)", r"\1", markdown)
    return " ".join(re.sub(r"[*`|#]|-{3,}|^ *- ", " ", without_links, flags=re.MULTILINE).split())


def _around(body: str, word: str) -> str:
    """Give some words around the first place of a word, or the beginning."""
    at = max(body.casefold().find(word), 0)
    begin = body.rfind(" ", 0, max(at - 20, 0)) + 1 if at > 20 else 0
    end = body.find(" ", at + 50)
    return f"{'… ' if begin else ''}{body[begin:end] if end > 0 else body[begin:]}{' …' if end > 0 else ''}"


def _stack_light() -> str:
    """Give the truth table that holds where a project says nothing of its own, as a Markdown table."""
    lines = ["| state | red | yellow | green | blue | horn |", "|---|---|---|---|---|---|"]
    for row in DEFAULT_ROWS:
        modes = [mode if mode != "off" else "–" for mode in (row.red, row.yellow, row.green, row.blue)]
        lines.append(f"| {row.state} | {' | '.join(modes)} | {'sounds' if row.horn else '–'} |")
    return "\n".join(lines)


def _life() -> str:
    """Give the life of an alarm, from state to state, as a Markdown table."""
    lines = ["| from | when | to |", "|---|---|---|"]
    return "\n".join([*lines, *(f"| {state} | {event} | {to} |" for state, event, to in in_words())])


_TABLES = {"@STACK_LIGHT@": _stack_light, "@LIFE@": _life}  # tables of the program itself, where a page has the mark
