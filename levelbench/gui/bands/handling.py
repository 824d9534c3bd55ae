"""How the house lives with alarms: acknowledging, silencing, shelving, and what protects where people have no time."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal

from levelbench.gui.fields.entry_keys import sections
from levelbench.gui.fields.forms import Form
from levelbench.gui.look.folded import Folded
from levelbench.project.fields import entries

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document

SECTION = "alarm_handling"


class Handling(Folded):
    """The entries of the section, folded away until they are wanted."""

    help_wanted = Signal(str)  # key

    def __init__(self, document: Document) -> None:
        self._document = document
        super().__init__("how alarms are handled", lambda: self.form)

    @cached_property
    def form(self) -> Form:
        """The form; made when it is unfolded."""
        made = Form(self._document, [f"{SECTION}.{name}" for name in entries(sections()[SECTION])])
        made.help_wanted.connect(self.help_wanted)
        return made

    def go_to(self, key: str, *, focus: bool = True) -> bool:
        """Unfold it, with the cursor in the field of an entry; False when it has none."""
        self.open()
        return self.form.focus_on(key, focus=focus)
