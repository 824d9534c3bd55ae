"""How wide a text is, read from the program's own font, so that drawings can be laid out without any toolkit.

Source: OpenType specification 1.9, tables "head", "hhea", "hmtx" and "cmap" (format 4).
"""

import re
import struct
from functools import lru_cache

from levelbench.drawing.scene import Anchor, Text
from levelbench.places import resources

ASCENT = 0.80  # what the letters and digits of DejaVu Sans need above the baseline, in text sizes
DESCENT = 0.24  # and below it
_BREAK = re.compile(r"(?<![0-9])\s+")


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Give the width of a text set in DejaVu Sans, in the unit of `size`."""
    return size * _in_text_sizes(text, bold)


@lru_cache(maxsize=2000)  # a drawing measures most of its texts again at every painting
def _in_text_sizes(text: str, bold: bool) -> float:
    advances, missing = _advances("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf")
    return sum(advances.get(ord(letter), missing) for letter in text)


def text_left(text: Text) -> float:
    """Give the x at which a placed text begins."""
    width = text_width(text.text, text.size, text.bold)
    return text.at[0] - {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[text.anchor] * width


def text_box(text: Text) -> tuple[float, float, float, float]:
    """Give left, top, right and bottom of a placed text."""
    left = text_left(text)
    right = left + text_width(text.text, text.size, text.bold)
    return left, text.at[1] - ASCENT * text.size, right, text.at[1] + DESCENT * text.size


def wrap(text: str, size: float, room: float) -> list[str]:
    """Break a text at its spaces into lines no wider than `room`; a number keeps its unit.

    A longer word keeps a line of its own.
    """
    lines: list[str] = []
    for word in filter(None, _BREAK.split(text)):
        if lines and text_width(f"{lines[-1]} {word}", size) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


@lru_cache(maxsize=4)
def _advances(name: str) -> tuple[dict[int, float], float]:
    """Give the advance of every character of a font in text sizes, and that of a character which it lacks."""
    font = (resources() / "fonts" / name).read_bytes()
    count = struct.unpack_from(">H", font, 4)[0]
    tables = {}
    for at in range(12, 12 + 16 * count, 16):
        key, _, offset, _ = struct.unpack_from(">4sLLL", font, at)
        tables[key] = offset
    em = struct.unpack_from(">H", font, tables[b"head"] + 18)[0]
    metrics = struct.unpack_from(">H", font, tables[b"hhea"] + 34)[0]
    widths = [width / em for width in struct.unpack_from(">" + "Hh" * metrics, font, tables[b"hmtx"])[::2]]
    glyphs = _glyphs(font, tables[b"cmap"])
    return {code: widths[min(glyph, metrics - 1)] for code, glyph in glyphs.items()}, widths[0]


def _glyphs(font: bytes, cmap: int) -> dict[int, int]:
    """Give the glyph number of every character in the font's Unicode table of format 4."""
    for at in range(cmap + 4, cmap + 4 + 8 * struct.unpack_from(">H", font, cmap + 2)[0], 8):
        platform, encoding, offset = struct.unpack_from(">HHL", font, at)
        if (platform, encoding) == (3, 1):
            return _format_4(font, cmap + offset)
    raise ValueError("The font has no Windows Unicode table.")


def _format_4(font: bytes, at: int) -> dict[int, int]:
    double = struct.unpack_from(">H", font, at + 6)[0]
    count = double // 2
    ends, starts, deltas, offsets = (
        struct.unpack_from(f">{count}H", font, at + 14 + place * double + (2 if place else 0)) for place in range(4)
    )
    glyphs = {}
    for row, (start, end, delta, offset) in enumerate(zip(starts, ends, deltas, offsets, strict=True)):
        base = at + 16 + 3 * double + 2 * row
        for code in range(start, end + 1):
            if offset == 0:
                glyph = (code + delta) & 0xFFFF
            else:
                if code == 0xFFFF:
                    continue
                found = struct.unpack_from(">H", font, base + offset + 2 * (code - start))[0]
                glyph = (found + delta) & 0xFFFF if found else 0
            if glyph:
                glyphs[code] = glyph
    return glyphs
