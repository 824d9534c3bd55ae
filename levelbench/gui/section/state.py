"""The moment that the section shows, followed through a live run, with the way of the marks in its tubes."""

from dataclasses import replace

from levelbench.drawing.state import SectionState
from levelbench.gui.bench.live_pacer import LiveView

PACE = 8.0  # text sizes that the marks travel in a second of the run at the largest flow seen
LONGEST = 0.1  # s of the run that one view moves the marks, so that a fast run does not make them flicker


class Moment:
    """What is shown now; nothing before a rig is there."""

    def __init__(self) -> None:
        self.state: SectionState | None = None
        self.begun = False  # the run is past its first scan
        self._scan = self._time = 0.0
        self._largest = 1e-12  # [m3/s]

    def start(self, state: SectionState, scan: float) -> None:
        """Stand as before a run of a rig with this scan [s]."""
        self.state, self._scan = state, scan
        self.begun, self._time, self._largest = False, 0.0, 1e-12

    def follow(self, view: LiveView) -> None:
        """Take up one moment of a live run."""
        before = self.state
        passed = min(max(view["time"] - self._time, 0.0), LONGEST)
        self._time = view["time"]
        self.begun = self._time > 1.5 * self._scan
        fill, drain = view["pump_flow"], view["drain_flow"]
        self._largest = max(self._largest, fill, drain)
        state = SectionState(
            level=view["level"],
            reservoir=view["reservoir"],
            pv=view["pv"],
            set_point=view["set_point"],
            output=view["output"],
            pump_flow=fill,
            drain_flow=drain,
            opening=view.opening,
            spread=view.spread if view.spread == view.spread else None,
            siphon_primed=view.has("siphon primed"),
            spilling=view.has("spilling"),
            switch_tripped=view.has("switch open"),
        )
        pace = PACE * passed / self._largest
        ways = (before.fill_way, before.drain_way) if before else (0.0, 0.0)
        self.state = replace(state, fill_way=ways[0] + pace * fill, drain_way=ways[1] + pace * drain)
