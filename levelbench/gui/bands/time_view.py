"""The wide place of the times: a bar for each alarm, and under it what published starting values would mean."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from levelbench.drawing.times import times_picture
from levelbench.gui.look.parts import column, holder, restyle, text
from levelbench.gui.ways.picture_view import PictureView, Rows
from levelbench.handover.told import value_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from levelbench.alarms.starting import Starting
    from levelbench.alarms.timing import Timed
    from levelbench.quantity import Units

WAITING = "The time that each alarm leaves comes here."
NO_ALARMS = "This project has no alarms. Take one into use on the ladder."
_STARTS = "Published starting values for a level, and what they would mean here"
_HEAD = ("limit", "moves in the delay", "left to act", "goes again at")
_LEAST, _ROW = 160, 34  # px of the picture: at least, and for each alarm


class TimeView(PictureView):
    """Says how many alarms a person can answer; the bars; the starting values, which scroll where the room is low."""

    def __init__(self) -> None:
        inside = column()
        super().__init__(WAITING, "the time that each alarm leaves", holder(inside))
        self.rows = Rows("starting values and their meaning")
        self.starts, self.values = text(_STARTS, "subheading", wrap=True), text("", wrap=True)
        self.meaning = text("", wrap=True, selectable=True)
        self.practice = text("", "small", wrap=True)
        for part in (self.starts, self.values, self.rows, self.meaning, self.practice):
            inside.addWidget(part)
        inside.addStretch(1)

    def show_times(self, timed: Sequence[Timed], begun: Starting, shown_in: Units) -> None:
        """Show the bars and the starting values."""
        if not timed:
            self.forget(NO_ALARMS)
            return
        self.picture.setMinimumHeight(max(_LEAST, _ROW * len(timed) + 64))
        self.show_picture(summary(timed), partial(times_picture, tuple(timed), shown_in))
        self._show_starts(begun, shown_in)
        self.under.setVisible(bool(begun.lines))

    def _show_starts(self, begun: Starting, shown_in: Units) -> None:
        band, delay = value_of(begun.dead_band, shown_in), value_of(begun.delay, shown_in)
        self.values.setText(f"Dead band {band} (5 % of the span), delay {delay}. {begun.delay.source}.")
        rows = [
            (one.name, value_of(one.moved, shown_in), value_of(one.left, shown_in), value_of(one.returns, shown_in))
            for one in begun.lines
        ]
        self.rows.show_rows(_HEAD, rows)
        told = [f"{'✓' if one.fits else '▲'} {one.name}: {one.words}" for one in begun.lines]
        self.meaning.setText("\n".join(told))
        restyle(self.meaning, role="body" if all(one.fits for one in begun.lines) else "attention")
        five, room = (value_of(one, shown_in) for one in begun.practice)
        self.practice.setText(
            f"Large storage tanks leave 5 min or 75 mm: here {five} of height, {room} below the spill. "
            f"{begun.practice[0].source}."
        )


def summary(timed: Sequence[Timed]) -> str:
    """Say in a sentence how many alarms leave a person the time to act."""
    from levelbench.alarms.timing import ENOUGH, LATE, SHORT  # noqa: PLC0415  the rig comes in when it is wanted

    asked = [one for one in timed if one.stands in (ENOUGH, SHORT, LATE)]
    good = sum(one.stands == ENOUGH for one in asked)
    late = [one.name for one in asked if one.stands == LATE]
    words = f"{good} of {len(asked)} alarms that a person has to answer leave the time to act."
    return f"{words} ■ Too late: {', '.join(late)}." if late else words
