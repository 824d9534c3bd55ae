"""The chosen alarm in full: what it tells, when it comes and goes, its entries, its reasons, its neighbours."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from levelbench.alarms.names import LETTERS
from levelbench.drawing.alarm_kinds import alarm_picture, sketch_of
from levelbench.gui.bands.band_values import gaps, spread_figures
from levelbench.gui.bands.rows import BY_KEY
from levelbench.gui.bands.says import formula, purpose, sentence
from levelbench.gui.fields.entry_keys import record_and_name
from levelbench.gui.fields.forms import Form
from levelbench.gui.findings.finding_note import finding_note
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.look.parts import clear, holder, line, row, text
from levelbench.gui.look.scene_view import SceneView
from levelbench.gui.look.theme import GRID
from levelbench.gui.work.slices import Slices
from levelbench.project import units
from levelbench.project.fields import entries

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.gui.fields.field import Field
    from levelbench.gui.work.answers import Checked
    from levelbench.review.finding import Finding

_OWN = ("limit", "averaged_over", "output_above", "dead_band", "on_delay", "off_delay", "priority", "latching",
        "suppressed_while")  # fmt: skip
_REASONS = ("cause", "consequence", "operator_action", "time_available", "basis")
_LEFT_OUT = "It is left out. Tick its box in the table to take it into use; a place for it is proposed."
_PICTURE = 92  # px


def keys_of(alarm: str, names: tuple[str, ...]) -> list[str]:
    """Give the keys of those entries that an alarm has."""
    has = entries(record_and_name(f"bands.{alarm}.priority")[0])
    return [f"bands.{alarm}.{name}" for name in names if name in has]


class AlarmCard(QWidget):
    """Everything about one alarm, one under another; the forms of an alarm are made when it is first shown."""

    help_wanted = Signal(str)  # key
    tried = Signal(object)  # dict of edits
    given_up = Signal()
    adopted = Signal(object)  # a finding whose proposal is taken

    def __init__(self, document: Document) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._document = document
        self._making = Slices(self)
        self.alarm = ""
        self.forms: dict[str, tuple[Form, Form]] = {}
        self.name, self.tag = text("", "subheading"), text("", "quiet")
        self.purpose, self.sentence = text("", wrap=True), text("", "strong", wrap=True)
        self.formula = text("", "small", wrap=True)
        self.picture = SceneView(partial(alarm_picture, "high"), _PICTURE, "how the alarm comes and goes")
        self.above, self.below = text("", "small", wrap=True), text("", "small", wrap=True)
        self._why = text("Why it is there", "subheading")
        self._own_place, self._reason_place = QVBoxLayout(), QVBoxLayout()
        self._noise, self._said = QVBoxLayout(), QVBoxLayout()
        for place in (self._own_place, self._reason_place, self._noise, self._said):
            place.setSpacing(GRID // 2)
            place.setContentsMargins(0, 0, 0, 0)
        self._build()

    def _build(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(GRID)
        layout.addLayout(row(self.name, None, self.tag))
        for part in (self.purpose, self.sentence, self.picture, self.formula, self.above, self.below):
            layout.addWidget(part)
        layout.addWidget(holder(self._own_place))
        layout.addWidget(self._why)
        layout.addWidget(holder(self._reason_place))
        layout.addWidget(holder(self._noise))
        layout.addWidget(line())
        layout.addWidget(holder(self._said))

    @property
    def fields(self) -> dict[str, Field]:
        """Every field that was made, by its key."""
        return {key: field for pair in self.forms.values() for form in pair for key, field in form.fields.items()}

    @property
    def busy(self) -> bool:
        """Whether fields of the alarm that is shown are still to come."""
        return self._making.busy

    def show_alarm(self, alarm: str) -> None:
        """Show the forms of an alarm, made now, a field at a time."""
        self.alarm = alarm
        if alarm not in self.forms:
            pair = (self._form(keys_of(alarm, _OWN)), self._form(keys_of(alarm, _REASONS)))
            self.forms[alarm] = pair
            for form, place in zip(pair, (self._own_place, self._reason_place), strict=True):
                place.addWidget(form)
        named = zip(self.forms[alarm], (_OWN, _REASONS), strict=True)
        self._making.do([partial(form.make, key) for form, names in named for key in keys_of(alarm, names)])
        self.picture.show_drawn(partial(alarm_picture, alarm))
        self.picture.setAccessibleDescription(f"How {sketch_of(alarm).title} comes and goes.")

    def _form(self, keys: list[str]) -> Form:
        form = Form(self._document, keys, whole=False)
        form.help_wanted.connect(self.help_wanted)
        form.tried.connect(self.tried)
        form.given_up.connect(self.given_up)
        return form

    def focus_on(self, key: str, *, focus: bool = True) -> bool:
        """Put the cursor into a field of the alarm that is shown; False when it has none for the entry."""
        self._making.do(())
        for form in self.forms[self.alarm]:
            form.make()
        return any(form.focus_on(key, focus=focus) for form in self.forms[self.alarm])

    def refresh(self, checked: Checked | None) -> None:
        """Show what the project says of the alarm, and what was worked out."""
        project = self._document.project
        used = getattr(project.bands, self.alarm) is not None
        front, suffix = LETTERS[self.alarm]
        self.name.setText(BY_KEY[self.alarm].name.capitalize())
        self.tag.setText(f"{project.first_letter}{front}-{project.loop}{suffix}")
        self.purpose.setText(purpose(self.alarm))
        self.sentence.setText(sentence(project, self.alarm) if used else _LEFT_OUT)
        self.formula.setText(formula(self.alarm))
        self._why.setVisible(used)
        for alarm, pair in self.forms.items():
            for form in pair:
                form.setVisible(used and alarm == self.alarm)
        clear(self._noise)
        clear(self._said)
        if checked is not None:
            self.follow(checked)
            self._say(checked)

    def follow(self, checked: Checked) -> None:
        """Say how far the neighbours are, of the project or of a try."""
        from levelbench.rig.bench import Bench  # noqa: PLC0415  the rig comes in when it is wanted

        found = gaps(Bench(checked.rig), self.alarm)
        for label, words in zip((self.above, self.below), found, strict=True):
            label.setText(words)
            label.setVisible(bool(words))

    def _say(self, checked: Checked) -> None:
        """Show the noise beside the dead band, and what the review says of the alarm."""
        from levelbench.rig.bench import Bench  # noqa: PLC0415  the rig comes in when it is wanted

        shown_in = units(self._document.project)
        for figure in spread_figures(Bench(checked.rig), self.alarm):
            self._noise.addWidget(FigureRow(figure, shown_in))
        for finding in (one for one in checked.findings if _concerns(one, self.alarm)):
            self._said.addWidget(finding_note(finding, partial(self.adopted.emit, finding)))
            for figure in (one for one in finding.figures if _is_of(one.key, self.alarm)):
                self._said.addWidget(FigureRow(figure, shown_in))


def _concerns(finding: Finding, alarm: str) -> bool:
    """Tell whether a finding is about an alarm: it points at it, or it would change it."""
    keys = (finding.go_to, *finding.what_if)
    entry = BY_KEY[alarm].entry
    return any(key.startswith(f"bands.{alarm}.") or key in (entry, f"bands.{alarm}") for key in keys)


def _is_of(key: str, alarm: str) -> bool:
    """Tell whether a finding's figure is about an alarm or about all of them."""
    others = [one for one, row_ in BY_KEY.items() if row_.is_alarm and one != alarm]
    return not any(key.endswith(f".{one}") or f".{one}." in key for one in others)
