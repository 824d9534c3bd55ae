"""The help page of the ten questions, made from the questions themselves."""

from levelbench.gui.help.pages import Page, page_of
from levelbench.project.fields import Entry
from levelbench.project.interview import QUESTIONS, assumed
from levelbench.quantity import in_marks, units_of

_INTRO = """\
# New from ten questions

*File ▸ New from ten questions* makes a whole project from what a tape measure, a bucket and the name plates tell.
Every question may be left open: what is assumed then is said beside its box, and stands as a comment in the project's
file. Closed half-way, the questions are taken up where they were left. **Enter** goes on; the list at the left goes to
any question.
"""


def questions_page() -> Page:
    """Give the page: each question with its boxes, what they take, and what is assumed when they are left open."""
    lines, anchors = [_INTRO], [""]
    for number, question in enumerate(QUESTIONS, start=1):
        lines.extend(["", f"## {number} · {question.title}", "", question.why])
        anchors.append(f"question-{number}")
        for key, ask in question.asks.items():
            lines.extend(["", f"### {ask.label}", "", " ".join(filter(None, (ask.help, *_facts(key, ask))))])
            anchors.append(key)
    return page_of("questions", "\n".join(lines), anchors)


def _facts(key: str, ask: Entry) -> list[str]:
    """Tell what a box takes, when it is asked, and what is assumed."""
    takes = f"One of: {', '.join(ask.choices)}." if ask.choices else ""
    units = [unit for dimension in ask.dimensions for unit in units_of(dimension)[:4] if unit]
    typed = f"In any unit, such as {', '.join(units)}." if units else ""
    depends = f"Only for: {', '.join(ask.only_for[1])}." if ask.only_for else ""
    left_open = assumed(key, {})
    return [takes, typed, depends, f"Assumed when left open: {in_marks(left_open) if ask.dimensions else left_open}."]
