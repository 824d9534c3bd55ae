"""Why the right gain of a small tank looks far too large, in figures of the rig at hand.

A proportional band of 1 or 2 % alarms whoever knows flow or temperature loops. A tank adds up: within the delay its
volume can't move far, so an error is still small when the loop answers, and only a large gain answers it at all.

Sources:
[1] K. J. Åström, T. Hägglund, "PID Controllers: Theory, Design and Tuning" (1995), chapter 4: ultimate gain.
"""

from dataclasses import dataclass

from levelbench.project import units
from levelbench.quantity import Dimension, Figure, rounded
from levelbench.rig.assemble import Rig
from levelbench.tuning.effects import CALM
from levelbench.tuning.loop import MARGINS, loop_model, margins, settings_in

D = Dimension

NARROW = 0.05  # a band below this looks wrong to many (common practice, no source)
_USUAL = 0.5  # a band as other loops have it
_SPARE = 2.0  # gain margin that is called enough


@dataclass(frozen=True)
class NarrowBand:
    """The words, and the figures that they rest on: the band, how far the volume moves in the delay, the least band."""

    words: str
    figures: tuple[Figure, ...]


def narrow_band(rig: Rig) -> NarrowBand | None:
    """Explain a narrow proportional band; None when it isn't narrow.

    Raises RigError when the pump gives no flow at the set point.
    """
    low, high = rig.span
    span, gain = high - low, settings_in(rig).gain
    if gain * span * NARROW <= 1.0:
        return None
    show, model, found = units(rig.project).show, loop_model(rig), margins(rig)
    whole, delay = show(span, D.VOLUME), show(model.total_delay.si, D.TIME, model.total_delay.si / 100)
    band = Figure("narrow.band", "proportional band", 1 / (gain * span), D.PERCENT, "1/(K·span)",
                  (("K", show(gain, D.GAIN)), ("span", whole)), "definition of the proportional band")  # fmt: skip
    moves = Figure(
        "narrow.moves", "moved within the delay", model.slope.si * model.total_delay.si / span, D.PERCENT,
        "k'·delay/span: the output changed from 0 to 100 %", (
            ("k'", show(model.slope.si, D.FLOW)), ("delay", delay), ("span", whole),
        ), "closed form: an integrator",
    )  # fmt: skip
    least = Figure(
        "narrow.least", "narrowest band with a gain margin of 2", _SPARE / (found.ultimate_gain.si * span), D.PERCENT,
        "2/(ultimate gain·span), proportional action alone", (
            ("ultimate gain", show(found.ultimate_gain.si, D.GAIN)), ("span", whole),
        ), MARGINS,
    )  # fmt: skip
    tell = units(rig.project).tell
    enough = found.stable and found.gain.si >= _SPARE
    right = "and here it is too narrow"
    if enough:
        right = "and is right here" if found.slow_cycling.si >= CALM * (1 - 1e-3) else "and is still too wide here"
    words = (
        f"A proportional band of {tell(band)} looks like a slip of the hand, {right}. The tank adds up: in its "
        f"whole delay of {delay} the full stroke of the pump moves the volume by only {tell(moves)} of the span, so an "
        f"error is small when the loop first sees it. Proportional action alone is good to a band of {tell(least)}."
    )
    usual = found.slow_cycling.si * band.si / _USUAL
    if enough and usual < 1.0:
        words += (
            " With the same integral and a band of 50 %, as other loops have it, k'·K·Ti would be "
            f"{rounded(usual, 1)} instead of 4 or more: it would swing slowly and long."
        )
    return NarrowBand(words, (band, moves, least))
