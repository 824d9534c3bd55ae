"""Round numbers for a scale, even or logarithmic."""

from collections.abc import Sequence
from math import ceil, floor, log10

from levelbench.quantity import written


def nice_ticks(low: float, high: float, most: int = 6) -> list[tuple[float, str]]:
    """Give values from low to high in at most `most` steps of 1, 2 or 5 times a power of ten, with their texts."""
    if not high > low:
        return [(low, written(low, "g"))]
    rough = (high - low) / max(most, 1)
    power = 10.0 ** floor(log10(rough))
    step = next(power * factor for factor in (1, 2, 5, 10) if power * factor >= rough * (1 - 1e-9))
    places = max(0, -floor(log10(step) + 1e-9))
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return [(number * step, written(number * step, f".{places}f")) for number in range(first, last + 1)]


def log_ticks(low: float, high: float, steps: Sequence[float] = (1.0, 2.0, 5.0)) -> list[float]:
    """Give the values from low to high, both above 0, that are steps times a power of ten."""
    powers = range(floor(log10(low)), ceil(log10(high)) + 1)
    values = sorted(step * 10.0**power for power in powers for step in steps)
    return [one for one in values if low * (1 - 1e-9) <= one <= high * (1 + 1e-9)]
