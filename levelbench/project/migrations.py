"""From each old format to the next, one small step at a time, on the text itself so that its comments survive.

A step gets a `Page` (the text, edited key by key) before anything was checked, so it must take nothing for granted.
"""

from collections.abc import Callable

from levelbench.project.page import Page

CURRENT = 1


def _from_0(page: Page) -> None:
    ends = [page.value(f"sensor.distance_at_{current}_mA") for current in (4, 20)]
    if all(isinstance(end, str) for end in ends):
        page.rename("sensor.distance_at_4_mA", "signal_span")
        page.put("sensor.signal_span", ends)
        page.take_out("sensor.distance_at_20_mA")
    page.rename("loop_settings.proportional", "gain")


_STEPS: tuple[Callable[[Page], None], ...] = (_from_0,)


def migrate(text: str, version: int) -> str:
    """Bring the text of an older format up to the current one."""
    page = Page(text)
    for number in range(version, CURRENT):
        _STEPS[number](page)
        page.put("levelbench", number + 1)
    return page.text
