"""What the review finds, in a box where it belongs, with what would mend it; the words and looks of a verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING

from levelbench.gui.fields.entry_keys import in_words, name_of
from levelbench.gui.look.parts import Note, button

if TYPE_CHECKING:
    from collections.abc import Callable

    from levelbench.review.finding import Finding

ROLES = {"stop": "stop", "attend": "attention", "good": "body"}
WORDS = {"stop": "to fix", "attend": "to weigh", "good": "good"}


def finding_note(finding: Finding, take: Callable[[], object]) -> Note:
    """Make the box of a finding; with a proposal there is a button that takes it."""
    what = " · ".join(f"{name_of(key)} {in_words(value)}" for key, value in finding.what_if.items())
    buttons = [button("Take it", take, "", f"take it, one undo step: {what}")] if finding.what_if else []
    words = f"{finding.severity.mark} {finding.title}. {finding.text} {finding.change}".strip()
    return Note(words, ROLES[finding.severity.word], *buttons)
