"""Alarms that come into use and are left out, and come back as they were."""

from __future__ import annotations

from typing import TYPE_CHECKING

from levelbench.gui.bands.band_values import proposal
from levelbench.gui.fields.entry_keys import typed

if TYPE_CHECKING:
    from levelbench.gui.work.answers import Checked
    from levelbench.project import Value
    from levelbench.project.records import Project


class InUse:
    """Knows what an alarm was before it was left out."""

    def __init__(self) -> None:
        self._left_out: dict[str, dict[str, Value]] = {}

    def leave_out(self, project: Project, alarm: str) -> dict[str, Value]:
        """Give the edit that leaves an alarm out."""
        was = typed(project, f"bands.{alarm}")
        self._left_out[alarm] = {f"bands.{alarm}.{key}": value for key, value in (was or {}).items()}
        return {f"bands.{alarm}": None}

    def take_up(self, checked: Checked | None, alarm: str) -> dict[str, Value]:
        """Give the edits that bring an alarm back as it was, or where it is proposed; none without a rig."""
        edits = self._left_out.get(alarm)
        if edits or checked is None:
            return edits or {}
        from levelbench.rig.bench import Bench  # noqa: PLC0415  the rig comes in when it is wanted

        return proposal(Bench(checked.rig), checked.ladder, alarm)

    def forget(self) -> None:
        """Another project was opened."""
        self._left_out = {}
