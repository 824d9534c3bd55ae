"""The keyboard of the trend."""

from collections.abc import Callable
from typing import Protocol

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

from levelbench.gui.trend.panes import Panes
from levelbench.gui.trend.span import Span


class Keyed(Protocol):
    """What the keys act on: the trend as it is shown."""

    panes: Panes
    span: Span

    @property
    def now(self) -> float:
        """The present [s]."""

    @property
    def pointed_at(self) -> float | None:
        """Where the cursor stands [s]; None without one."""

    def look(self, how: Callable[[float], None]) -> None:
        """Change what is seen of time."""

    def follow(self) -> None:
        """Follow the present."""

    def point(self, time: float | None) -> None:
        """Put the cursor at a time [s], or take it away."""

    def step_to_flag(self, *, back: bool) -> None:
        """Put the cursor on the next flag, or the one before."""


def press(trend: Keyed, event: QKeyEvent) -> bool:
    """Act on a key of the trend, and tell whether it was one.

    Left and Right move the cursor, with Ctrl from flag to flag; + and − zoom; Page Up and Page Down move the view; Home
    goes to the start, End to the present, Esc takes the cursor away.
    """
    start, end = trend.panes.span()
    cursor = trend.pointed_at
    middle = (start + end) / 2 if cursor is None else cursor
    about = trend.now if trend.span.following else middle
    step, key = (end - start) / 100, Qt.Key(event.key())
    jump = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
    acts: dict[Qt.Key, Callable[[], object]] = {
        Qt.Key.Key_Plus: lambda: trend.look(lambda now: trend.span.zoom(0.5, about, now)),
        Qt.Key.Key_Minus: lambda: trend.look(lambda now: trend.span.zoom(2.0, about, now)),
        Qt.Key.Key_PageUp: lambda: trend.look(lambda now: trend.span.page(-0.5, now)),
        Qt.Key.Key_PageDown: lambda: trend.look(lambda now: trend.span.page(0.5, now)),
        Qt.Key.Key_Home: lambda: trend.look(lambda _now: trend.span.look(0.0, end - start)),
        Qt.Key.Key_End: trend.follow,
    }
    sides = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
    if key in sides:
        if jump:
            trend.step_to_flag(back=sides[key] < 0)
        else:
            to = min(max(middle + sides[key] * step, 0.0), trend.now)
            trend.point(to)
            trend.look(lambda now: trend.span.reach(to, now))
    elif key in acts:
        acts[key]()
    elif key == Qt.Key.Key_Escape and cursor is not None:
        trend.point(None)
    else:
        return False
    return True
