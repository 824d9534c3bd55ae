"""Where the trend looks: the last so many seconds while it follows the present, else a stretch that stays put.

Moving by hand never fights the present. Zooming while the present stays in view goes on following it at the new length;
moving towards the past stops following at once; moving back until the present is in view takes it up again.
"""

SPANS = {"2 min": 120.0, "10 min": 600.0, "1 h": 3600.0, "8 h": 28800.0, "24 h": 86400.0, "7 days": 604800.0}
AHEAD = 0.03  # share of the span that is kept free after the present
WHOLE_AT_LEAST = 60.0  # s that the whole run takes on the paper at least
SHORTEST, LONGEST = 2.0, 8 * 86400.0  # [s]


class Span:
    """The stretch of time that is shown."""

    def __init__(self) -> None:
        self.following = True
        self.whole = False  # follows with everything since the start in view
        self.length = SPANS["2 min"]
        self._start = 0.0

    def shown(self, now: float) -> tuple[float, float]:
        """Give the times from and to which is drawn [s], when the present is at `now`."""
        if not self.following:
            return self._start, self._start + self.length
        length = max(now, WHOLE_AT_LEAST) if self.whole else self.length
        end = max(now, length)
        return end - length, end + AHEAD * length

    def follow(self, length: float | None = None, *, whole: bool = False) -> None:
        """Go to the present and stay there, with the last `length` [s], or the whole run, in view."""
        self.following, self.whole = True, whole
        if length is not None:
            self.length = min(max(length, SHORTEST), LONGEST)

    def look(self, start: float, length: float) -> None:
        """Look at a stretch and stay there."""
        self.following = self.whole = False
        self.length = min(max(length, SHORTEST), LONGEST)
        self._start = max(start, 0.0)

    def move(self, start: float, end: float, now: float) -> None:
        """Take a stretch that a person moved or zoomed to by hand."""
        was, was_end = self.shown(now)
        length, in_view = end - start, start <= now <= end
        moved_only = abs(length - (was_end - was)) < 1e-6 * length
        if in_view and (start >= was if moved_only else self.following):
            self.follow(length / (1 + AHEAD), whole=self.whole and moved_only)
        elif not (moved_only and max(start, 0.0) == was):
            self.look(min(start, now), length)

    def zoom(self, factor: float, about: float, now: float) -> None:
        """Show `factor` times as much, with the time `about` staying at its place."""
        start, end = self.shown(now)
        self.move(about + (start - about) * factor, about + (end - about) * factor, now)

    def page(self, share: float, now: float) -> None:
        """Move by a share of what is shown, to the right when it is above zero."""
        start, end = self.shown(now)
        step = share * (end - start)
        self.move(max(start + step, 0.0), max(end + step, end - start), now)

    def reach(self, time: float, now: float) -> None:
        """Look where a time is in view; move only if it isn't."""
        start, end = self.shown(now)
        if not start <= time <= end:
            self.look(time - (end - start) / 2, end - start)
