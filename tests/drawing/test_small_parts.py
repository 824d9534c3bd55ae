"""Text widths, labels in a column, round ticks, colours, SVG: each against something outside the program."""

import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise
from math import log10

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from scipy.optimize import isotonic_regression

from levelbench.drawing.measure import text_box, text_width, wrap
from levelbench.drawing.palette import DARK, LIGHT, PRINT, Palette, grey, luminance
from levelbench.drawing.scene import Anchor, Circle, Hatch, Line, Polygon, Polyline, Role, Scene, Stroke, Text
from levelbench.drawing.spread import spread
from levelbench.drawing.svg import to_svg
from levelbench.drawing.ticks import nice_ticks
from levelbench.places import resources

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("bold", [False, True])
def test_text_is_as_wide_as_another_reader_of_the_font_says(bold: bool) -> None:
    """Oracle: reportlab's own reading of the same font file."""
    name = "DejaVuSans-Bold" if bold else "DejaVuSans"
    pdfmetrics.registerFont(TTFont(name, str(resources() / "fonts" / f"{name}.ttf")))
    for text in ("LSHH-310", "±0.012 US gal → −3 °C ½ ▲■✓ σ·×", "Ångström, naïve, Größe", ""):
        assert text_width(text, 9.5, bold) == pytest.approx(pdfmetrics.stringWidth(text, name, 9.5), rel=1e-3)


def test_a_text_box_follows_its_anchor() -> None:
    width = text_width("spill", 3.0)
    boxes = [text_box(Text((10.0, 5.0), "spill", 3.0, anchor=anchor)) for anchor in Anchor]
    assert [box[0] for box in boxes] == pytest.approx([10.0, 10.0 - width / 2, 10.0 - width])
    assert all(box[1] < 5.0 < box[3] for box in boxes)


@given(st.text(alphabet="abc defgh", max_size=80), st.floats(5, 60))
def test_wrapping_loses_no_word_and_keeps_the_room(text: str, room: float) -> None:
    lines = wrap(text, 3.0, room)
    assert " ".join(lines).split() == text.split()
    assert all(text_width(line, 3.0) <= room or " " not in line for line in lines)


places = st.lists(st.floats(-50, 250), max_size=25)


@given(places, st.floats(0.1, 12))
def test_labels_never_overlap_nor_leave_nor_change_order(wanted: list[float], gap: float) -> None:
    found = spread(wanted, gap, 0.0, 200.0)
    room = min(gap, 200.0 / max(len(wanted) - 1, 1))
    order = sorted(range(len(wanted)), key=lambda at: wanted[at])
    ranked = [found[at] for at in order]
    assert all(high - low >= room - 1e-9 for low, high in pairwise(ranked))
    assert all(-1e-9 <= place <= 200.0 + 1e-9 for place in found)


@given(st.lists(st.floats(20, 180), min_size=1, max_size=15, unique=True))
def test_labels_move_as_little_as_an_independent_solver_moves_them(wanted: list[float]) -> None:
    """Oracle: scipy's isotonic regression of the positions less their share of gaps, far from the ends."""
    wanted = sorted(wanted)
    shares = 3.0 * np.arange(len(wanted))
    best = isotonic_regression(np.array(wanted) - shares).x + shares
    assert spread(wanted, 3.0, -1000.0, 1000.0) == pytest.approx(best.tolist(), abs=1e-6)


def test_labels_with_room_stay_where_they_are() -> None:
    assert spread([10.0, 30.0, 50.0], 5.0, 0.0, 100.0) == [10.0, 30.0, 50.0]
    assert spread([], 5.0, 0.0, 100.0) == []


@given(st.floats(-1e5, 1e5), st.floats(1e-3, 1e5), st.integers(1, 12))
def test_ticks_are_round_inside_and_few(low: float, width: float, most: int) -> None:
    ticks = nice_ticks(low, low + width, most)
    values = [value for value, _ in ticks]
    assert len(ticks) <= most + 1
    assert all(low - 1e-6 * width <= value <= low + width * (1 + 1e-6) for value in values)
    if len(values) > 1:
        step = values[1] - values[0]
        assert min(abs(step / 10 ** round(log10(step / lead)) - lead) for lead in (1, 2, 5)) < 1e-4 * step + 1e-3


def test_ticks_of_a_known_scale() -> None:
    assert [label for _, label in nice_ticks(0.0, 15.0, 4)] == ["0", "5", "10", "15"]
    assert [label for _, label in nice_ticks(-0.2, 0.2, 4)] == ["−0.2", "−0.1", "0.0", "0.1", "0.2"]
    assert nice_ticks(3.0, 3.0) == [(3.0, "3")]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (W3C, Web Content Accessibility Guidelines 2.2)."""
    bright, dim = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dim + 0.05)


def test_luminance_is_that_of_the_published_formula() -> None:
    """WCAG 2.2: black on white is 21:1; #767676 on white is 4.54:1, the lightest grey that passes (from memory)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("palette", [LIGHT, DARK, PRINT, grey(PRINT)], ids=lambda one: one.name)
def test_everything_that_is_read_stands_out_enough(palette: Palette) -> None:
    """WCAG 2.2, 1.4.3: at least 4.5:1 for text."""
    for role in (Role.INK, Role.QUIET, Role.WATER_LINE, Role.ATTENTION, Role.STOP, Role.SELECTION):
        for ground in (Role.PAPER, Role.CARD):
            assert contrast(palette[role], palette[ground]) >= 4.5, (role, ground)
    assert contrast(palette[Role.INK], palette[Role.LIQUID]) >= 4.5
    assert contrast(palette[Role.ATTENTION], palette[Role.ATTENTION_TINT]) >= 4.5
    assert contrast(palette[Role.STOP], palette[Role.STOP_TINT]) >= 4.5


def test_a_grey_copy_has_no_colour_and_the_same_light() -> None:
    for role in Role:
        copied = grey(LIGHT)[role]
        assert copied[1:3] == copied[3:5] == copied[5:7]
        assert luminance(copied) == pytest.approx(luminance(LIGHT[role]), abs=0.006)


ITEMS = (
    Line((0, 0), (10, 10), Role.STOP, 0.5, Stroke.DASHED, "bands.high.limit"),
    Polyline(((0, 0), (1, 1), (2, 0))),
    Polygon(((0, 0), (1, 1), (2, 0)), Role.LIQUID, Role.INK),
    Circle((5, 5), 2, Role.CARD),
    Hatch((((0, 0), (1, 1)), ((1, 0), (2, 1)))),
    Text((3, 3), 'a < b & "c"', 3.0, backed=True, bold=True, tag='x"y'),
)


def test_svg_is_well_formed_and_says_what_the_scene_says() -> None:
    root = ET.fromstring(to_svg(Scene(20, 10, ITEMS, "<tank> & co"), LIGHT))
    kinds = [one.tag.removeprefix(SVG) for one in root]
    assert kinds == ["title", "line", "polyline", "polygon", "circle", "path", "rect", "text"]
    assert root.attrib["viewBox"] == "0 0 20 10"
    assert root[0].text == "<tank> & co"
    assert root[-1].text == 'a < b & "c"'
    assert root[-1].attrib["data-tag"] == 'x"y'
    assert root[1].attrib["stroke-dasharray"] == "2.5,1.5"
    assert root[1].attrib["stroke"] == LIGHT[Role.STOP]


def test_a_scene_over_another_is_painted_after_it() -> None:
    below, above = Scene(9, 9, ITEMS[:2], "below"), Scene(9, 9, ITEMS[2:])
    both = above.over(below)
    assert both.items == ITEMS
    assert both.title == "below"
    assert replace(both, title="").texts() == ('a < b & "c"',)
