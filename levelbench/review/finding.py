"""The verdict of a design rule: how bad, why, what to change and by how much."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import Enum

from levelbench.project import Value
from levelbench.quantity import Figure


class Severity(Enum):
    """How bad a finding is. Each has a word and a mark, so that colour never has to tell it alone."""

    STOP = ("stop", "■")
    ATTEND = ("attend", "▲")
    GOOD = ("good", "✓")

    @property
    def word(self) -> str:
        """The word that is printed."""
        return self.value[0]

    @property
    def mark(self) -> str:
        """The mark that is drawn beside the word."""
        return self.value[1]

    @property
    def rank(self) -> int:
        """0 for the worst; for sorting."""
        return list(Severity).index(self)


@dataclass(frozen=True)
class Finding:
    """What one rule says about one rig.

    `what_if` holds the edits (entry key to value, as `levelbench.project.edit_many` takes them) that would carry out
    `change`; it is empty when nothing needs to change, or when the change is work for hands and not for an entry.
    `applies` is False when the rule has nothing to judge on this rig; `text` then says why it was left out.
    """

    key: str  # stable, for --json and tests: "sensor.dead_zone"
    title: str  # one line
    severity: Severity
    text: str  # what was found, in the person's units
    figures: tuple[Figure, ...] = ()
    change: str = ""  # one sentence: what to change and by how much
    go_to: str = ""  # the entry to look at first: "sensor.face_above_floor"
    what_if: Mapping[str, Value] = field(default_factory=dict)
    applies: bool = True

    def figure(self, key: str) -> Figure:
        """Give one of its figures by key; raises KeyError when there is none."""
        for one in self.figures:
            if one.key == key:
                return one
        raise KeyError(key)


def left_out(key: str, title: str, reason: str, go_to: str = "") -> Finding:
    """Make the finding of a rule that has nothing to judge here, with the reason."""
    return Finding(key, title, Severity.GOOD, f"Not judged: {reason}", go_to=go_to, applies=False)


def worst(findings: Iterable[Finding]) -> Severity:
    """Give the worst severity among findings; GOOD when there are none."""
    return min((one.severity for one in findings), key=lambda one: one.rank, default=Severity.GOOD)
