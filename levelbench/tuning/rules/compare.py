"""What each published rule does on a rig: its settings as they are typed, margins, the linear loop, and the rig's run.

The settings are rounded to the digits that a person types before anything is judged, so that what is shown is what the
controller gets. Beside the rules stand the settings that are in force, and one slip that is often made: the gain of the
first rule divided by ten, because it looked too large, with the integral time left as it was.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from levelbench.project import Value, edit_many, units
from levelbench.quantity import Dimension, Figure
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.errors import Cancelled, RigError
from levelbench.rig.settings import Settings, settings_of
from levelbench.tuning.loop import Margins, margins, operating_point, settings_in
from levelbench.tuning.prediction import HOLDING, SEED, Asked, Prediction, asked_of, predict
from levelbench.tuning.process import Process, of_rig
from levelbench.tuning.rules.linear import Answers, Loop, answers
from levelbench.tuning.rules.rule import Aim, Choices, Rule, RuleRefused
from levelbench.tuning.typed import all_typed

D = Dimension
Progress = Callable[[float], bool]

NOW, SLIP = "now", "slip"
_LINEAR = "the linear loop over time; trapezoidal rule, dead time kept"
_ROOM_SHARE = 0.8  # of the way to the nearest limit: an averaging rule that is asked for all of it touches the limit


@dataclass(frozen=True)
class Linear:
    """What the linear loop says: no limits, no noise, no dead zone of the pump."""

    overshoot: Figure
    settling: Figure
    load_deviation: Figure
    travel: Figure

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All of them."""
        return (self.overshoot, self.settling, self.load_deviation, self.travel)


@dataclass(frozen=True)
class Ruled:
    """One line of the comparison: settings and what they do.

    key, name, kind, formula, source: of the rule; `now` are the settings in force, `slip` the first rule's with a tenth
    of its gain. edits: what is typed into the project to have them. linear is None when the loop is unstable.
    """

    key: str
    name: str
    kind: str
    aim: Aim
    formula: str
    source: str
    settings: Settings
    edits: Mapping[str, Value]
    margins: Margins
    linear: Linear | None
    prediction: Prediction
    restless: Figure  # how far the output wanders while it holds

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All that is known of it: in theory, and from the rig's own run."""
        linear = self.linear.figures if self.linear else ()
        return (*self.margins.figures, *linear, *self.prediction.figures, self.restless)

    @property
    def takeable(self) -> bool:
        """Whether a person may want these settings: they are a rule's."""
        return self.key not in (NOW, SLIP)

    @property
    def title(self) -> str:
        """Name and kind."""
        return f"{self.name} {self.kind}".strip()


@dataclass(frozen=True)
class Refused:
    """A rule that can't be used on this rig, and why not."""

    rule: Rule
    why: str


def used_choices(rig: Rig, choices: Choices | None = None) -> Choices:
    """Fill in what a person did not choose: the room an averaging rule may take [m3], and the load it is asked for [1].

    The room is 80 % of the way from the starting set point to the nearest limit, the overflow switch among them.
    """
    chosen, project = choices or Choices(), rig.project
    start, bands = project.start.set_point.si, project.bands
    limits = [one.limit.si for one in (bands.high_high, bands.high, bands.low, bands.low_low) if one is not None]
    limits += [0.0, float(rig.strapping.volumes[-1])]
    if project.overflow_switch.trips_at is not None:
        limits.append(rig.strapping.volume_at(project.overflow_switch.trips_at.si))
    ways = [abs(one - start) for one in limits]
    if bands.deviation is not None:
        ways.append(bands.deviation.limit.si)
    asked, slope = asked_of(rig), operating_point(rig).slope
    return replace(
        chosen,
        room=chosen.room or _ROOM_SHARE * min(ways),
        move=chosen.move or max(asked.load - asked.draw, 0.0) / slope,
    )


def line_of(rig: Rig, rule: Rule, settings: Settings, asked: Asked) -> Ruled:
    """Judge settings on a rig, rounded as they are typed. Raises RigError when the project's form can't have them."""
    low, high = rig.span
    edits = all_typed(rig.project.loop_settings, high - low, settings)
    typed = settings_of(edit_many(rig.project, edits).loop_settings, high - low)
    return _judged(rig, rule, typed, edits, asked)


def in_force(rig: Rig, asked: Asked) -> Ruled:
    """Judge the settings that a rig has."""
    rule = Rule(
        NOW, "as it is now", "", Aim.HOLD, "as typed", "the project", lambda _process, _choices: settings_in(rig)
    )
    return _judged(rig, rule, settings_in(rig), _as_typed(rig), asked)


def _as_typed(rig: Rig) -> dict[str, Value]:
    """Give the settings in force as they stand in the file."""
    typed = rig.project.loop_settings
    texts = {
        name: "off" if value is None else value.text
        for name, value in (
            ("gain", typed.gain),
            ("proportional_band", typed.proportional_band),
            ("integral", typed.integral),
            ("derivative", typed.derivative),
        )
        if value is not None or name == "integral"
    }
    return {f"loop_settings.{name}": text for name, text in texts.items()}


def slipped(rig: Rig, of: Ruled, asked: Asked) -> Ruled:
    """Judge a rule's settings with a tenth of their gain."""
    less = replace(of.settings, gain=of.settings.gain / 10)
    formula, source = "K/10, Ti as it was", "a slip that is common in the trade, no source"
    rule = Rule(SLIP, f"slip: {of.title}, gain ÷ 10", "", Aim.HOLD, formula, source, lambda _p, _c: less)
    return line_of(rig, rule, less, asked)


def lines_of(
    rig: Rig, rules: tuple[Rule, ...], process: Process, choices: Choices, progress: Progress | None
) -> tuple[tuple[Ruled, ...], tuple[Refused, ...]]:
    """Judge rules one after another; those that can't be used come apart. Raises Cancelled when progress says no."""
    asked = asked_of(rig)
    lines, refused = [in_force(rig, asked)], []
    for number, rule in enumerate(rules):
        if progress is not None and not progress(number / len(rules)):
            raise Cancelled
        try:
            lines.append(line_of(rig, rule, rule.settings(process, choices), asked))
        except RuleRefused as error:
            refused.append(Refused(rule, str(error)))
        except RigError as error:
            refused.append(Refused(rule, f"{error.what} {error.do}"))
    first = next((one for one in lines if one.kind == "PI" and one.takeable), None)
    if first is not None:
        lines.insert(lines.index(first) + 1, slipped(rig, first, asked))
    return tuple(lines), tuple(refused)


def with_settings(rig: Rig, settings: Settings) -> Rig:
    """Give the same rig with other settings of its controller."""
    panel = rig.panel.copy()
    panel[kernel.P_GAIN], panel[kernel.P_INTEGRAL] = settings.gain, settings.integral_time
    panel[kernel.P_DERIVATIVE] = settings.derivative_time
    return replace(rig, panel=panel)


def _judged(rig: Rig, rule: Rule, settings: Settings, edits: Mapping[str, Value], asked: Asked) -> Ruled:
    other = with_settings(rig, settings)
    robust = margins(other)
    linear = _linear(other, settings, asked) if robust.stable else None
    found = predict(other)
    return Ruled(
        rule.key, rule.name, rule.kind, rule.aim, rule.formula, rule.source, settings, edits, robust, linear, found,
        _restless(rig, found),
    )  # fmt: skip


def _restless(rig: Rig, found: Prediction) -> Figure:
    """Give the standard deviation of the output over the time in which the rig's run holds its new set point."""
    recording = found.step.recording
    last = recording["time"] >= recording["time"][-1] - HOLDING
    spread = float(np.std(recording["output"][last]))
    over = units(rig.project).show(HOLDING, D.TIME)
    formula = f"standard deviation of the output over the last {over}; simulated on this rig"
    inputs = (("seed", str(SEED)),)
    name = "output wanders while holding"
    return Figure("rules.restless", name, spread, D.PERCENT, formula, inputs, "the rig's own run", 1e-4)


def _linear(rig: Rig, settings: Settings, asked: Asked) -> Linear:
    """Work out the linear loop of a rig and say it in Figures."""
    panel, show = rig.panel, units(rig.project).show
    weight, n = float(panel[kernel.P_WEIGHT]), float(panel[kernel.P_DERIVATIVE_FILTER])
    found = answers(Loop(of_rig(rig, whole=True), settings, weight, n))
    size, load = asked.high - asked.low, max(asked.load - asked.draw, 0.0)
    inputs = (
        ("K", show(settings.gain, D.GAIN)),
        ("set point step", show(size, D.VOLUME)),
        ("load step", show(load, D.FLOW)),
        ("band", show(asked.band, D.VOLUME)),
    )

    def figure(key: str, name: str, si: float, dimension: Dimension, formula: str) -> Figure:
        step = rig.scan if dimension is D.TIME else asked.band / 100 if dimension is D.VOLUME else 0.0
        return Figure(f"linear.{key}", name, si, dimension, formula, inputs, _LINEAR, step)

    return Linear(
        *_step_figures(figure, found, size, asked.band),
        figure("load_deviation", "largest deviation after the load step, linear", found.deviation() * load, D.VOLUME,
               "largest distance from the set point after the draw's step"),
        figure("travel", "output travel after the load step, linear", found.travel() * load, D.PERCENT,
               "sum of all output changes until it is at rest; the least is what the load asks for"),
    )  # fmt: skip


def _step_figures(figure: Callable[..., Figure], found: Answers, size: float, band: float) -> tuple[Figure, Figure]:
    return (
        figure(
            "overshoot", "overshoot, linear", found.overshoot() * size, D.VOLUME, "highest PV less the new set point"
        ),
        figure(
            "settling", "settling time, linear", found.settling(band / size), D.TIME, "until it stays within the band"
        ),
    )
