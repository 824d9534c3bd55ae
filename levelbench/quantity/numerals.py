"""The number at the start of a typed text: decimal comma, fractions of an inch, true minus, half-typed numbers."""

import math
import re
import unicodedata
from dataclasses import dataclass

from levelbench.quantity.errors import QuantityError
from levelbench.quantity.notation import number_format

LONGEST = 80

_VULGAR = {chr(code) for code in (*range(0x2150, 0x215F), 0xBC, 0xBD, 0xBE, 0x2189)}
_AS_TYPED = str.maketrans(
    {
        "″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "º": "°", "˚": "°",
        "−": "-", "–": "-", "‒": "-", "—": "-", "‐": "-", "‑": "-",
        "·": " ", "⋅": " ", "×": " ", "∆": "Δ",
    }
)  # fmt: skip
_WHOLE = r"[0-9]+"
_FRACTION = re.compile(rf"(?:({_WHOLE})[ -])? ?({_WHOLE}) ?/ ?({_WHOLE})(?![0-9.,])")
_GROUPED = re.compile(r"[0-9]{1,3}(?: [0-9]{3})+(?![0-9])(?:[.,][0-9]+)?")
_DECIMAL = re.compile(r"(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?")
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}$")
_OPEN_TO_DOUBT = re.compile(r"^\s*[+−-]?\s*[1-9][0-9]{0,2},[0-9]{3}(?![0-9.,'])")
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf|infinity|∞)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Numeral:
    """The number at the start of a text, and the text that is left."""

    value: float
    digits: str
    rest: str


def plain(text: str) -> str:
    """Bring the signs that keyboards and word processors put in to the plain ones that are read here."""
    spread = "".join(f" {one}" if one in _VULGAR else one for one in text.translate(_AS_TYPED))
    return " ".join(unicodedata.normalize("NFKC", spread).replace("⁄", "/").replace("−", "-").split())


def numeral(text: str, example: str) -> Numeral:
    """Read the number that a text in plain signs begins with.

    Raises QuantityError with a reason and, as its hint, what to type instead (`example` shows the form).
    """
    hint = f"Type a number and its unit, for example {example}."
    if not text:
        raise QuantityError(text, "Nothing is typed yet.", hint)
    if len(text) > LONGEST:
        raise QuantityError(text[:20] + "…", "That is too long for a number and its unit.", hint)
    if _NOT_FINITE.match(text):
        raise QuantityError(text, "Only a finite number can be used.", hint)
    sign = -1.0 if text[0] == "-" else 1.0
    body = text[1:].lstrip() if text[0] in "+-" else text
    return _unsigned(body, sign, hint)


def without_doubt(text: str) -> str:
    """Give a text as it is meant by a person whose decimal mark is the comma: "1,234 l" is then "1.234 l".

    Only what `numeral` would refuse as open to two readings is changed, and only while the comma is the mark in force.
    """
    if number_format().mark != ",":
        return text
    return _OPEN_TO_DOUBT.sub(lambda found: found[0].replace(",", "."), text, count=1)


def _unsigned(body: str, sign: float, hint: str) -> Numeral:
    if found := _FRACTION.match(body):
        whole, top, bottom = found.groups()
        if float(bottom) == 0:
            raise QuantityError(found[0], "A fraction can't have 0 below the line.", hint)
        return _finite(sign * (float(whole or 0) + float(top) / float(bottom)), found, body)
    if found := _GROUPED.match(body):
        return _finite(sign * float(found[0].replace(" ", "").replace(",", ".")), found, body)
    found = _DECIMAL.match(body)
    if not found:
        raise QuantityError(body, "There is no number yet." if not body else f"“{body}” has no number in front.", hint)
    digits = found[0]
    if body[found.end() : found.end() + 1] in (",", ".", "'") and body[found.end() + 1 : found.end() + 2].isdigit():
        raise QuantityError(body, f"“{body}” has more than one decimal sign.", "Type thousands without a sign: 1200.5.")
    if _THOUSANDS.match(digits):
        both = digits.replace(",", "")
        raise QuantityError(
            body,
            f"“{digits}” could be {both} or {digits.replace(',', '.')}.",
            f"Type {both} or {digits.replace(',', '.')}.",
        )
    return _finite(sign * float(digits.replace(",", ".")), found, body)


def _finite(value: float, found: re.Match[str], body: str) -> Numeral:
    if not math.isfinite(value):
        raise QuantityError(found[0], "The number is too large.", "Type a smaller number or a larger unit.")
    return Numeral(value, found[0], body[found.end() :].strip())
