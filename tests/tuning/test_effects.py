"""What a change of the settings does and why, against closed forms and against the rig's own runs.

Sources: S. Skogestad, J. Process Control 13 (2003) 291-309, for k'·K·Ti ≥ 4 (quoted from memory); K. Ogata, Modern
Control Engineering, for period and decay of a second-order loop; the sum of squared weights for the noise of a weighted
sum. A trade fact (common practice, no source): ÷10 on the gain alone makes the overshoot of an integrating tank larger.
"""

import math
from dataclasses import replace

import control
import numpy as np
import pytest

from levelbench.project import edit_many, load, sample, units
from levelbench.quantity import Dimension
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig, assemble
from levelbench.rig.settings import Settings
from levelbench.tuning.effects import because, consequence, effect, known, output_noise, swings
from levelbench.tuning.loop import loop_model
from levelbench.tuning.prediction import predict

from .plain_rig import US_GALLON, plain


def with_panel(rig: Rig, **entries: float) -> Rig:
    panel = rig.panel.copy()
    for name, value in entries.items():
        panel[getattr(kernel, name)] = value
    return replace(rig, panel=panel)


def with_product(rig: Rig, product: float, integral: float = 200.0) -> Rig:
    """Give the rig with k'·K·Ti of a value."""
    gain = product / (loop_model(rig).slope.si * integral)
    return with_panel(rig, P_GAIN=gain, P_INTEGRAL=integral)


@pytest.mark.parametrize(("product", "words"), [
    (8.0, "calm"), (4.1, "calm"), (3.9, "will swing slowly ("), (1.2, "will swing slowly ("), (0.4, "slowly and long"),
])  # fmt: skip
def test_the_published_condition_divides_calm_from_slow_swinging(product: float, words: str) -> None:
    """Skogestad 2003: k'·Kc·Ti at least 4."""
    one = known(with_product(plain(), product))
    assert words in consequence(one)
    why, reasons = because(one, units(plain().project))
    assert bool(reasons) == (product < 4) == bool(why)


def test_what_would_help_just_meets_the_condition() -> None:
    rig = with_product(plain(), 1.2)
    figures = {one.key: one.si for one in because(known(rig), units(rig.project))[1]}
    longer = known(with_panel(rig, P_INTEGRAL=figures["effect.least_integral_time"]))
    stronger = known(with_panel(rig, P_GAIN=figures["effect.least_gain"]))
    assert longer.margins.slow_cycling.si == pytest.approx(4.0, rel=1e-9)
    assert stronger.margins.slow_cycling.si == pytest.approx(4.0, rel=1e-9)
    assert "calm" in consequence(longer)


@pytest.mark.parametrize("product", [0.2, 1.0, 3.0])
def test_period_and_decay_of_the_slow_swing_are_those_of_the_poles(product: float) -> None:
    """Ogata: s² + k'K·s + k'K/Ti; the poles by an independent library."""
    rig = with_product(plain(), product)
    one, slope = known(rig), loop_model(rig).slope.si
    integrating = slope * one.settings.gain
    poles = control.poles(control.tf([1.0], [1.0, integrating, integrating / one.settings.integral_time]))
    period, left = swings(one, units(rig.project))
    turning = abs(poles[0].imag)
    assert period.si == pytest.approx(2 * math.pi / turning, rel=1e-9)
    assert left.si == pytest.approx(math.exp(2 * math.pi * poles[0].real / turning), rel=1e-9)


def test_a_tenth_of_the_gain_alone_overshoots_more() -> None:
    """Common practice, no source; and it is said of the change, with the reason."""
    project = load(sample("seedling_house"))
    rig, shown = assemble(project), units(project)
    weak = assemble(edit_many(project, {"loop_settings.gain": "113 %/gal"}))
    told = effect(known(rig), known(weak), shown)
    assert told.words.startswith("Gain lowered alone: now k'·K·Ti = 0.41")
    assert "a lower gain swings more" in told.why
    assert predict(weak).overshoot.si > 5 * predict(rig).overshoot.si


def test_what_moved_is_named_and_backwards_the_other_way() -> None:
    rig, shown = plain(), units(plain().project)
    other = with_panel(rig, P_GAIN=rig.panel[kernel.P_GAIN] * 2, P_WEIGHT=0.5, P_PV_FILTER=2.0)
    there, back = effect(known(rig), known(other), shown), effect(known(other), known(rig), shown)
    assert there.words.startswith("Gain raised, PV filter switched on and set point weight lowered:")
    assert back.words.startswith("Gain lowered, PV filter switched off and set point weight raised:")
    for one, two in zip(there.moves, back.moves, strict=True):
        assert (one.before, one.after) == (two.after, two.before)
    assert effect(known(rig), known(rig), shown).words.startswith("The loop's settings stay")


@pytest.mark.parametrize(("factor", "words"), [(0.7, "close to cycling fast"), (1.2, "swing ever wider")])
def test_too_much_gain_for_the_delay_says_how_much_is_right(factor: float, words: str) -> None:
    rig = plain()
    gain = known(rig).margins.ultimate_gain.si
    one = known(with_panel(rig, P_GAIN=factor * gain, P_INTEGRAL=math.inf))
    assert words in consequence(one)
    why, reasons = because(one, units(rig.project))
    assert "comes later than the loop corrects" in why
    assert {each.key: each.si for each in reasons}["effect.largest_gain"] == pytest.approx(gain / 2)


# --- noise -----------------------------------------------------------------------------------------------------------


def test_noise_of_proportional_action_is_that_of_a_mean() -> None:
    """K·σ/√N."""
    rig = plain(sensor__noise="0.02 in", sensor__averaging=16)
    area = math.pi / 4 * 12**2 / 231 * US_GALLON / 0.0254  # [m2] of a 12 in tank, by the inch
    expected = float(rig.panel[kernel.P_GAIN]) * 0.02 * 0.0254 * area / 4
    assert output_noise(rig).si == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("changes", [
    {"sensor__averaging": 1, "loop_settings__pv_filter": "2 s"},
    {"sensor__averaging": 16, "loop_settings__pv_filter": "1 s"},
    {"sensor__averaging": 16, "loop_settings__derivative": "3 s"},
    {"sensor__averaging": 4, "sensor__update": "0.5 s", "loop_settings__derivative": "3 s"},
    {"sensor__averaging": 4, "sensor__update": "1 s", "loop_settings__pv_filter": "3 s"},
    {"sensor__averaging": 3, "loop_settings__scan": "0.5 s", "loop_settings__pv_filter": "1 s"},
    {"sensor__averaging": 13, "loop_settings__scan": "0.5 s"},
])  # fmt: skip
def test_noise_of_any_filters_is_that_of_a_plain_simulation(changes: dict[str, str | int]) -> None:
    """Readings of white noise through average, PV filter and derivative, scan by scan, in a loop of this test's own."""
    rig = plain(sensor__noise="0.02 in", **changes)
    sensor, panel, chance = rig.params.sensor, rig.panel, np.random.default_rng(3)
    scans = 200_000
    updates = round(scans * rig.scan / sensor.update)
    readings = chance.normal(0.0, sensor.noise, updates + sensor.averaging)
    means = np.convolve(readings, np.ones(sensor.averaging) / sensor.averaging, "valid")
    newest = (np.arange(scans) * rig.scan / sensor.update + 1e-6).astype(int)
    held = means[newest] * float(rig.strapping.area_at(0.2))
    tau, td, n = (float(panel[getattr(kernel, one)]) for one in ("P_PV_FILTER", "P_DERIVATIVE", "P_DERIVATIVE_FILTER"))
    share = 1.0 if tau == 0 else 1 - math.exp(-rig.scan / tau)
    pv = lag = 0.0
    out = np.empty(len(held))
    for at, one in enumerate(held):
        pv += share * (one - pv)
        lag += n * rig.scan / (td + n * rig.scan) * (pv - lag)
        out[at] = float(panel[kernel.P_GAIN]) * (pv + (n * (pv - lag) if td else 0.0))
    assert output_noise(rig).si == pytest.approx(out[1000:].std(), rel=0.02)


def test_a_loud_output_is_said() -> None:
    rig = plain(
        sensor__noise="0.5 in", sensor__averaging=1, loop_settings__gain="100 %/gal", loop_settings__integral="500 s"
    )
    why, reasons = because(known(rig), units(rig.project))
    assert "noise of the reading" in why
    assert reasons[0].dimension is Dimension.PERCENT


def test_without_integral_action_an_offset_is_said() -> None:
    rig = with_panel(plain(), P_INTEGRAL=math.inf)
    assert consequence(known(rig)) == "without integral action a load leaves an offset."
    assert known(rig).settings == Settings(float(rig.panel[kernel.P_GAIN]), math.inf, 0.0)
