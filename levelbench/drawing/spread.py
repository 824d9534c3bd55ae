"""Labels in a column that never overlap and never change their order."""

from collections.abc import Sequence


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Move rising positions as little as possible so that neighbours are at least `gap` apart, within low to high.

    `wanted` may come in any order; the answer keeps its order, and equal positions keep theirs. When there is no room
    for all of them, the gap shrinks to what fits. The answer has the least sum of squared moves (pools of touching
    labels settle at the mean of what their members wanted: the pool-adjacent-violators method for isotonic
    regression, Barlow et al., Statistical Inference under Order Restrictions, 1972).
    """
    if not wanted:
        return []
    gap = min(gap, (high - low) / max(len(wanted) - 1, 1))
    order = sorted(range(len(wanted)), key=lambda at: wanted[at])
    pools: list[tuple[float, int]] = []  # sum and number of the positions less their share of gaps
    for place, at in enumerate(order):
        total, count = wanted[at] - place * gap, 1
        while pools and pools[-1][0] / pools[-1][1] >= total / count:
            before = pools.pop()
            total, count = total + before[0], count + before[1]
        pools.append((total, count))
    room = high - (len(wanted) - 1) * gap
    placed = [0.0] * len(wanted)
    place = 0
    for total, count in pools:
        base = min(max(total / count, low), room)
        for _ in range(count):
            placed[order[place]] = base + place * gap
            place += 1
    return placed
