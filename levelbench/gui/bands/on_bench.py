"""A way to the alarms that also shows the run on the bench, once there is one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from levelbench.gui.ways.way import Way

if TYPE_CHECKING:
    from levelbench.gui.bands.watch import Watch


class OnBench(Way):
    """A way that is handed the alarms of the running rig."""

    def take(self, watch: Watch) -> None:
        """Follow these alarms from now on."""
        raise NotImplementedError
