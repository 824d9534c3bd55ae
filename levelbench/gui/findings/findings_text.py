"""Findings as plain text and as CSV, for a message or a table."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from levelbench.gui.fields.entry_keys import name_of
from levelbench.quantity import numbers_shown_as
from levelbench.quantity.notation import POINT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from levelbench.quantity import Units
    from levelbench.review.finding import Finding

_HEAD = ("severity", "finding", "text", "change", "entry", "figure", "value", "formula", "source")


def as_text(findings: Sequence[Finding], units: Units) -> str:
    """Write findings one under another: what, why, its figures, what to change."""
    blocks = []
    for one in findings:
        lines = [f"{one.severity.mark} {one.severity.word.upper()}: {one.title}", f"  {one.text}"]
        lines += [f"  {each.name}: {units.tell(each)}" for each in one.figures]
        lines += [f"  → {one.change}"] if one.change else []
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks) + "\n"


def as_csv(findings: Sequence[Finding], units: Units) -> str:
    """Write findings as a table, one row a figure; a finding without figures has one row.

    Values have a decimal point, however the window shows them: a table is read by programs as well.
    """
    with numbers_shown_as(POINT):
        return _table(findings, units)


def _table(findings: Sequence[Finding], units: Units) -> str:
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(_HEAD)
    for one in findings:
        head = (one.severity.word, one.title, one.text, one.change, place_name(one.go_to))
        for each in one.figures:
            shown = units.tell(each)
            table.writerow((*head, each.name, shown, each.formula, each.source))
        if not one.figures:
            table.writerow((*head, "", "", "", ""))
    return out.getvalue()


def place_name(key: str) -> str:
    """Give the name of the entry, or of the section, that a finding points at; "" when it points at none."""
    return name_of(key) if "." in key else key.replace("_", " ")
