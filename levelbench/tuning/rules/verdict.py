"""Which rule is the best on a rig and which the worst, and why; and what the person should know of large gains.

What is asked of a rule that holds the volume: overshoot, Ms and starts as the search asks them; the new set point held
within one entry step; an output that wanders by no more than 2 % (common practice, no source) and, where the pump's
data sheet has no number of starts, no more than 6 an hour (common practice, no source).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from levelbench.project import units
from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure, rounded
from levelbench.rig.assemble import Rig
from levelbench.tuning.forms import BAND
from levelbench.tuning.rules.compare import NOW, SLIP, Ruled
from levelbench.tuning.rules.rule import Aim
from levelbench.tuning.search import default_limits

D = Dimension

CALM_OUTPUT = 0.02  # standard deviation while holding [1] (common practice, no source)
SELDOM = 6 / 3600  # starts while holding [1/s] where the data sheet says nothing (common practice, no source)
LEAST_GAIN = 2.0  # gain margin that the review calls robust
_WRONG_WAY = (
    "No settings hold this loop: its controller acts the wrong way round, more output the fuller the tank. Set its "
    "action to reverse first (loop_settings.action)."
)
_SLIPS = 0.05  # band below which a person takes a setting for a slip


@dataclass(frozen=True)
class Trouble:
    """How a line stands to one thing that is asked: above a share of 1 it does not keep it. `words` say how it is."""

    share: float
    words: str
    simulated: bool


@dataclass(frozen=True)
class Verdict:
    """Keys of the best and the worst rule ("" when there is none), why, and what is told of large gains."""

    best: str
    worst: str
    best_words: str
    worst_words: str
    gain_words: str
    figures: tuple[Figure, ...]


def troubles(rig: Rig, line: Ruled) -> tuple[Trouble, ...]:
    """Give how a line stands to all that is asked, the worst first; what the rig's own run shows before the theory."""
    tell, limits, found = units(rig.project).tell, default_limits(rig), line.prediction
    most = SELDOM if limits.starts is None else limits.starts
    never = math.inf if math.isinf(found.settling.si) else 0.0
    all_of_them = [
        Trouble(never, "it never settles", simulated=True),
        Trouble(found.overshoot.si / limits.overshoot, f"it goes {tell(found.overshoot)} too far", simulated=True),
        Trouble(found.hold.si / (2 * limits.overshoot), f"it holds within {tell(found.hold)} only", simulated=True),
        Trouble(found.starts.si / most, f"it starts the pump at a rate of {tell(found.starts)}", simulated=True),
        Trouble(line.restless.si / CALM_OUTPUT, f"its output wanders by {tell(line.restless)}", simulated=True),
    ]
    robust = line.margins
    if robust.sensitivity is None:
        all_of_them.append(Trouble(math.inf, "in theory it swings ever wider", simulated=False))
    else:
        over, ms = robust.sensitivity.si / limits.sensitivity, rounded(robust.sensitivity.si, 3)
        least = rounded(robust.gain.si, 3)
        all_of_them.append(Trouble(over, f"in theory Ms is {ms}", simulated=False))
        all_of_them.append(Trouble(LEAST_GAIN / robust.gain.si, f"the gain margin is {least}", simulated=False))
    return tuple(sorted(all_of_them, key=lambda one: (not (one.simulated and one.share > 1), -one.share)))


def verdict_of(rig: Rig, lines: Sequence[Ruled]) -> Verdict:
    """Judge the lines of a comparison."""
    if rig.params.control.direction < 0:
        return Verdict("", "", _WRONG_WAY, "", "", ())
    holding = [one for one in lines if one.aim is Aim.HOLD and one.takeable]
    known = {one.key: troubles(rig, one) for one in holding}
    best, worst = _best(holding, known), _worst(holding, known)
    words, figures = _on_gains(rig, lines)
    return Verdict(
        best.key if best else "",
        worst.key if worst else "",
        _best_words(rig, best),
        _worst_words(worst, known) if worst else "",
        words,
        figures,
    )


def _best(holding: Sequence[Ruled], known: dict[str, tuple[Trouble, ...]]) -> Ruled | None:
    """Give the line that keeps all that is asked and lets the load move the volume least."""
    keeps = [one for one in holding if max(trouble.share for trouble in known[one.key]) <= 1]

    def moved(one: Ruled) -> tuple[float, float]:
        found = one.prediction
        return (found.load_deviation.si if found.load_deviation else 0.0, found.settling.si)

    return min(keeps, key=moved, default=None)


def _worst(holding: Sequence[Ruled], known: dict[str, tuple[Trouble, ...]]) -> Ruled | None:
    """Give the line that misses what is asked most, on the rig if any does there, else in theory."""

    def missed(one: Ruled) -> tuple[bool, float, float]:
        first = known[one.key][0]
        theory = max(trouble.share for trouble in known[one.key] if not trouble.simulated)
        return first.simulated and first.share > 1, first.share, theory

    return max(holding, key=missed, default=None)


def _best_words(rig: Rig, best: Ruled | None) -> str:
    if best is None:
        return "No rule keeps all that is asked on this rig; a search may find settings that do."
    found, tell = best.prediction, units(rig.project).tell
    moved = f" and lets the load move the volume least, by {tell(found.load_deviation)}" if found.load_deviation else ""
    return f"Best here: {best.title}. It keeps all that is asked{moved}; its output wanders by {tell(best.restless)}."


def _worst_words(worst: Ruled, known: dict[str, tuple[Trouble, ...]]) -> str:
    missed = [one for one in known[worst.key] if one.share > 1]
    if not missed:
        mildest = known[worst.key][0]
        return f"All of them keep what is asked. Nearest to missing it: {worst.title}; {mildest.words}."
    simulated = [one.words for one in missed if one.simulated]
    theory = [one.words for one in missed if not one.simulated]
    on_rig = f"In simulation {_listed(simulated)}" if simulated else "In simulation it keeps what is asked"
    in_theory = f"; {_listed(theory)}" if theory else ""
    return f"Worst here: {worst.title}. {on_rig}{in_theory}. {_cause(worst)}"


def _cause(line: Ruled) -> str:
    """Say where a line's troubles come from."""
    if line.settings.derivative_time > 0 and line.restless.si > CALM_OUTPUT:
        return "Its derivative hands the sensor's noise on to the pump."
    if line.margins.slow_cycling.si < 4.0:
        product = rounded(line.margins.slow_cycling.si, 2)
        return (
            f"With k'·K·Ti = {product} instead of 4 the two integrators, the tank's and the controller's, have little "
            "damping left."
        )
    if line.margins.gain.si < LEAST_GAIN:
        return "Its gain is near the one at which the loop cycles by its delay alone."
    return "It asks more of this loop than its delay allows."


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _on_gains(rig: Rig, lines: Sequence[Ruled]) -> tuple[str, tuple[Figure, ...]]:
    """Show on this rig that a right gain looks large, and what becomes of a loop whose gain alone was cut."""
    slip = next((one for one in lines if one.key == SLIP), None)
    whole = next((one for one in lines if one.kind == "PI" and one.key != NOW and one.takeable), None)
    if slip is None or whole is None:
        return "", ()
    tell, low_high = units(rig.project).tell, rig.span
    span = low_high[1] - low_high[0]
    figures = _gain_figures(rig, whole, span)
    share, band, fill = figures
    looks = "looks like a slip and is right" if band.si < _SLIPS else "is right"
    full = f"at full output the pump needs {tell(fill)} for the whole span"
    before, after = whole.prediction.overshoot, slip.prediction.overshoot
    was, now = (rounded(one.margins.slow_cycling.si, 2) for one in (whole, slip))
    grows = "grows" if after.si > before.si else "goes"
    words = (
        f"A gain of {tell(share)} %/%, a proportional band of {tell(band)}, {looks} here: {full}. Cut the gain alone "
        f"to a tenth, and k'·K·Ti falls from {was} to {now}: the overshoot {grows} from {tell(before)} to "
        f"{tell(after)} (simulated on this rig). Whoever lowers the gain lengthens the integral time as much."
    )
    return words, figures


def _gain_figures(rig: Rig, line: Ruled, span: float) -> tuple[Figure, Figure, Figure]:
    shown, gain = units(rig.project), line.settings.gain
    inputs = (("K", shown.show(gain, D.GAIN)), ("span", shown.show(span, D.VOLUME)))
    slope = next(value for name, value in line.margins.slow_cycling.inputs if name == "k'")
    seconds = span * gain * line.settings.integral_time / line.margins.slow_cycling.si
    return (
        Figure("rules.gain_of_span", "gain per span", gain * span, D.NUMBER, "K × span", inputs, COMMON_PRACTICE),
        Figure("rules.band", "proportional band", 1 / (gain * span), D.PERCENT, "100 %/(K × span)", inputs, BAND),
        Figure(
            "rules.fill", "time for the whole span at full output", seconds, D.TIME, "span/k'",
            (("span", shown.show(span, D.VOLUME)), ("k'", slope)), "closed form",
        ),
    )  # fmt: skip
