"""Typed loop settings of every form and unit, against Åström & Hägglund's conversions and plain definitions."""

import doctest
import math
from dataclasses import dataclass

import numpy as np
import pytest

from levelbench.project.records import LoopSettings
from levelbench.quantity import Dimension, Quantity, read
from levelbench.rig import settings
from levelbench.rig.errors import RigError
from levelbench.rig.settings import Settings, from_parallel, from_series, settings_of

US_GALLON = 231 * 0.0254**3  # [m3], NIST Handbook 44


@dataclass
class Typed:
    """What a person typed, as texts; "" for left out."""

    gain: str = ""
    band: str = ""
    integral: str = "30 s"
    derivative: str = "0 s"
    form: str = "standard"

    def read(self) -> LoopSettings:
        rate = self.integral.endswith("/min")
        integral = read(self.integral, Dimension.REPEAT_RATE if rate else Dimension.TIME) if self.integral else None
        return LoopSettings(
            form=self.form,
            gain=self._or_none(self.gain, Dimension.GAIN),
            proportional_band=self._or_none(self.band, Dimension.PERCENT),
            integral=integral,
            derivative=read(self.derivative, Dimension.TIME),
            set_point_low=read("1 l", Dimension.VOLUME),
            set_point_high=read("9 l", Dimension.VOLUME),
            entry_step=read("0.1 l", Dimension.VOLUME),
            **REST,
        )

    @staticmethod
    def _or_none(text: str, dimension: Dimension) -> Quantity | None:
        return read(text, dimension) if text else None


REST = {
    "scan": read("0.1 s", Dimension.TIME),
    "action": "reverse",
    "derivative_filter": read("8", Dimension.NUMBER),
    "set_point_weight": read("1", Dimension.NUMBER),
    "pv_filter": read("0 s", Dimension.TIME),
    "integral_dead_band": read("0 l", Dimension.VOLUME),
    "output_low": read("0 %", Dimension.PERCENT),
    "output_high": read("100 %", Dimension.PERCENT),
    "output_rate": None,
    "ramp": None,
}


def response(standard: Settings, omega: float) -> complex:
    s = 1j * omega
    return standard.gain * (1 + 1 / (standard.integral_time * s) + standard.derivative_time * s)


def test_series_becomes_the_published_standard_settings() -> None:
    # Åström & Hägglund (1995), chapter 3: K' = 2, Ti' = 10 s, Td' = 2.5 s act as K = 2.5, Ti = 12.5 s, Td = 2 s.
    found = from_series(Settings(2.0, 10.0, 2.5))
    assert (found.gain, found.integral_time, found.derivative_time) == pytest.approx((2.5, 12.5, 2.0), rel=1e-9)


@pytest.mark.parametrize("omega", [1e-3, 0.1, 1.0, 30.0])
def test_series_and_standard_have_equal_frequency_responses(omega: float) -> None:
    s = 1j * omega
    as_series = 1.7 * (1 + 1 / (40.0 * s)) * (1 + 6.0 * s)
    assert response(from_series(Settings(1.7, 40.0, 6.0)), omega) == pytest.approx(as_series, rel=1e-12)


def test_series_without_integral_keeps_its_gain() -> None:
    assert from_series(Settings(2.0, math.inf, 3.0)) == Settings(2.0, math.inf, 3.0)


def test_parallel_is_gain_over_integral_and_derivative_over_gain() -> None:
    # Ki = K/Ti, Kd = K·Td (Åström & Hägglund): 2.5, 0.2 1/s and 5 s
    assert from_parallel(2.5, 0.2, 5.0) == Settings(2.5, 12.5, 2.0)
    assert math.isinf(from_parallel(2.5, 0.0, 0.0).integral_time)


def test_gain_per_span_and_per_volume_are_one() -> None:
    # Kc[%/%] = Kc[per volume]·span/100: 3 %/l on a span of 35.34 l is 1.0602 %/%
    span = 35.34e-3
    per_litre = settings_of(Typed(gain="3 %/l").read(), span)
    per_span = settings_of(Typed(gain="1.0602 %/%").read(), span)
    assert per_litre.gain == pytest.approx(30.0, rel=1e-12)  # 3 % of the output per litre is 30 outputs per m3
    assert per_span.gain == pytest.approx(per_litre.gain, rel=1e-9)


def test_gain_per_us_gallon() -> None:
    assert settings_of(Typed(gain="750 %/US gal").read(), 0.05).gain == pytest.approx(7.5 / US_GALLON, rel=1e-9)


@pytest.mark.parametrize(("band", "gain"), [("40 %", 2.5), ("250 %", 0.4)])  # PB = 100 %/K (IEC 60050-351)
def test_proportional_band(band: str, gain: float) -> None:
    assert settings_of(Typed(band=band).read(), 0.02).gain == pytest.approx(gain / 0.02, rel=1e-9)


@pytest.mark.parametrize("integral", ["30 s", "0.5 min", "2 repeats/min"])  # reset time = 1/reset rate
def test_integral_as_time_or_rate(integral: str) -> None:
    assert settings_of(Typed(gain="2", integral=integral).read(), 0.02).integral_time == pytest.approx(30.0, rel=1e-9)


def test_integral_off() -> None:
    assert math.isinf(settings_of(Typed(gain="2", integral="").read(), 0.02).integral_time)


def test_integral_off_in_parallel_form() -> None:
    assert math.isinf(settings_of(Typed(gain="2", integral="", form="parallel").read(), 0.02).integral_time)


@pytest.mark.parametrize(
    ("gain", "band"),
    [("2.5 %/%", ""), ("", "40 %"), ("2.5 %/US gal", ""), ("2.5 %/l", "")],
)
def test_parallel_numbers_are_in_the_unit_of_their_own_gain(gain: str, band: str) -> None:
    typed = Typed(gain=gain, band=band, integral="12 1/min", derivative="5 s", form="parallel").read()
    found = settings_of(typed, 0.02)
    assert found.integral_time == pytest.approx(12.5, rel=1e-9)  # 2.5/(12/60)
    assert found.derivative_time == pytest.approx(2.0, rel=1e-9)  # 5/2.5


def test_a_constant_error_repeats_the_proportional_part_after_the_integral_time() -> None:
    # Definition of one repeat: K = 2.5, Ti = 30 s, error 4 %: integral part after 30 s is 10 %, the proportional part.
    found = settings_of(Typed(gain="2.5 %/%").read(), 1.0)
    seconds = np.linspace(0, 30, 3001)
    integral = found.gain / found.integral_time * np.trapezoid(np.full_like(seconds, 0.04), seconds)
    assert integral == pytest.approx(0.1, rel=1e-9)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (Typed(), "neither"),
        (Typed(gain="2", band="50 %"), "a gain and a proportional band"),
        (Typed(gain="2", integral="30 s", form="parallel"), "gain per time"),
    ],
)
def test_what_does_not_fit_is_refused_with_what_to_do(typed: Typed, says: str) -> None:
    with pytest.raises(RigError, match=says) as caught:
        settings_of(typed.read(), 0.02)
    assert caught.value.where.startswith("loop_settings.")
    assert caught.value.do


def test_the_examples_in_the_texts_are_true() -> None:
    assert doctest.testmod(settings).failed == 0
