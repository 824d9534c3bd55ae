"""Settings in every form and unit, against Åström & Hägglund's formulas and equal frequency responses."""

import doctest
import math

import pytest
from plain_rig import plain, plain_project

from levelbench.quantity import Units
from levelbench.rig.assemble import Rig, assemble
from levelbench.rig.errors import RigError
from levelbench.rig.settings import Settings, from_series
from levelbench.tuning import forms
from levelbench.tuning.forms import Form, all_forms, forms_of, rounded, to_parallel, to_series
from levelbench.tuning.loop import settings_in

METRIC = Units("l", "mm", "l/min")


def texts(form: Form) -> dict[str, str]:
    return {one.figure.key.removeprefix(f"settings.{form.name}."): one.text for one in form.values}


def test_standard_to_series_gives_the_published_settings() -> None:
    # Åström & Hägglund (1995), chapter 3: K = 2.5, Ti = 12.5 s, Td = 2 s act as K' = 2, Ti' = 10 s, Td' = 2.5 s
    found = to_series(Settings(2.5, 12.5, 2.0))
    assert (found.gain, found.integral_time, found.derivative_time) == pytest.approx((2.0, 10.0, 2.5), rel=1e-12)


def test_at_four_derivative_times_both_series_times_are_equal() -> None:
    found = to_series(Settings(4.8, 8.0, 2.0))  # the same source: K' = K/2, Ti' = Td' = Ti/2
    assert (found.gain, found.integral_time, found.derivative_time) == pytest.approx((2.4, 4.0, 4.0), rel=1e-12)


def test_no_series_form_below_four_derivative_times() -> None:
    with pytest.raises(RigError, match="no series form") as caught:
        to_series(Settings(1.0, 10.0, 3.0))  # Ti < 4·Td, the same source
    assert "standard or parallel" in caught.value.do


@pytest.mark.parametrize("omega", [1e-3, 0.05, 0.7, 20.0])
def test_the_three_forms_have_equal_frequency_responses(omega: float) -> None:
    one, s = Settings(3.0, 50.0, 7.0), 1j * omega
    standard = one.gain * (1 + 1 / (one.integral_time * s) + one.derivative_time * s)
    k, ki, kd = to_parallel(one)
    series = to_series(one)
    in_series = series.gain * (1 + 1 / (series.integral_time * s)) * (1 + series.derivative_time * s)
    assert k + ki / s + kd * s == pytest.approx(standard, rel=1e-12)
    assert in_series == pytest.approx(standard, rel=1e-12)


def test_series_and_back_is_where_it_began() -> None:
    one = Settings(3.0, 50.0, 7.0)
    back = from_series(to_series(one))
    assert (back.gain, back.integral_time, back.derivative_time) == pytest.approx((3.0, 50.0, 7.0), rel=1e-12)


def test_every_unit_of_a_known_controller() -> None:
    # K = 2.5 %/% on 20 l: 12.5 %/l, band 40 % (100 %/K); Ti = 30 s: 0.5 min, 2 repeats/min (reset time = 1/reset rate)
    standard, parallel, series = forms_of(Settings(2.5 / 0.02, 30.0, 6.0), 0.02, METRIC, "parallel")
    assert texts(standard) == {
        "gain_of_span": "2.500 %/%",
        "gain": "12.50 %/l",
        "band": "40.00 %",
        "integral_seconds": "30.00 s",
        "integral_minutes": "0.5000 min",
        "integral_rate": "2.000 repeats/min",
        "derivative_seconds": "6.000 s",
        "derivative_minutes": "0.1000 min",
    }
    assert texts(parallel) == {
        "gain_of_span": "2.500 %/%",
        "gain": "12.50 %/l",
        "band": "40.00 %",
        "integral_per_second": "0.08333 1/s",  # 2.5/30 s
        "integral_per_minute": "5.000 1/min",
        "derivative_seconds": "15.00 s",  # 2.5 × 6 s
        "derivative_minutes": "0.2500 min",
    }
    # r = √(1 − 4·6/30) = 0.44721: Ti' = 15·(1 + r), Td' = 15·(1 − r), K' = 1.25·(1 + r)
    assert texts(series)["gain_of_span"] == "1.809 %/%"
    assert texts(series)["integral_seconds"] == "21.71 s"
    assert texts(series)["derivative_seconds"] == "8.292 s"
    assert [one.own for one in (standard, parallel, series)] == [False, True, False]


def test_a_form_that_does_not_exist_says_why() -> None:
    *_, series = forms_of(Settings(100.0, 10.0, 3.0), 0.02, METRIC, "standard")
    assert series.values == ()
    assert "less than 4 derivative times" in series.missing


def test_an_integral_that_is_off_is_written_off() -> None:
    for form in forms_of(Settings(100.0, math.inf, 3.0), 0.02, METRIC, "standard"):
        assert not form.missing
        assert all("∞" not in text for text in texts(form).values())
    assert texts(forms_of(Settings(100.0, math.inf, 3.0), 0.02, METRIC, "standard")[0])["integral_minutes"] == "off"


@pytest.mark.parametrize("name", ["seedling", "washer"])
def test_what_was_typed_is_what_the_own_form_shows(name: str, request: pytest.FixtureRequest) -> None:
    rig: Rig = request.getfixturevalue(name)
    own = next(form for form in all_forms(rig) if form.own)
    assert own.name == rig.project.loop_settings.form
    typed = rig.project.loop_settings.gain
    assert typed is not None
    shown = next(one for one in own.values if one.figure.key.endswith(".gain"))
    assert shown.figure.si == pytest.approx(typed.si, rel=1e-9)


@pytest.mark.parametrize(
    ("form", "integral", "derivative"),
    [("standard", "40 s", "5 s"), ("series", "40 s", "5 s"), ("parallel", "15 1/min", "50 s")],
)
def test_typed_in_any_form_it_comes_back_in_that_form(form: str, integral: str, derivative: str) -> None:
    changes = {"form": form, "integral": integral, "derivative": derivative, "gain": "10 %/%"}
    rig = assemble(plain_project(**{f"loop_settings__{key}": text for key, text in changes.items()}))
    shown = texts(next(one for one in all_forms(rig) if one.own))
    assert shown["gain_of_span"] == "10.00 %/%"
    if form == "parallel":
        assert (shown["integral_per_minute"], shown["derivative_seconds"]) == ("15.00 1/min", "50.00 s")
    else:
        assert (shown["integral_seconds"], shown["derivative_seconds"]) == ("40.00 s", "5.000 s")


def test_rounding_keeps_so_many_digits_of_what_is_typed() -> None:
    one = Settings(123.456, 98.7654, 3.21987)
    assert rounded(one, "standard", 3, gain_unit=1.0) == Settings(123.0, 98.8, 3.22)
    in_minutes = rounded(one, "standard", 2, gain_unit=10.0, time_unit=60.0)
    assert in_minutes.gain == pytest.approx(120.0)
    assert in_minutes.integral_time == pytest.approx(1.6 * 60)
    assert in_minutes.derivative_time == pytest.approx(0.054 * 60)


def test_rounding_happens_in_the_form_that_is_typed() -> None:
    one = Settings(2.512, 12.53, 2.004)
    series = rounded(one, "series", 2, gain_unit=1.0)
    typed = to_series(series)
    shaped = to_series(one)
    assert typed.integral_time == pytest.approx(float(f"{shaped.integral_time:.1e}"), rel=1e-9)
    parallel = rounded(one, "parallel", 2, gain_unit=1.0)
    assert to_parallel(parallel) == pytest.approx((2.5, 0.20, 5.0), rel=1e-9)


def test_rounding_leaves_off_as_it_is() -> None:
    for form in ("standard", "series", "parallel"):
        assert math.isinf(rounded(Settings(2.0, math.inf, 0.0), form, 2, gain_unit=1.0).integral_time)


def test_a_rigs_settings_are_those_it_runs_with() -> None:
    rig = plain()
    assert settings_in(rig).integral_time == 240.0


def test_the_examples_in_the_texts_are_true() -> None:
    assert doctest.testmod(forms).failed == 0
