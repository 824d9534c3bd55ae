"""Any cell of the table of settings is edited, and the file keeps the form and the units that a person typed."""

import pytest

from levelbench.gui.tuning.equation import Fraction, Integral, Part, Round, Symbol, Word
from levelbench.gui.tuning.equation import Row as EquationRow
from levelbench.gui.tuning.loop_equation import in_numbers, in_symbols, in_words
from levelbench.gui.tuning.setting_texts import FORMS, ROWS, Row, number, plain_value, shown_values
from levelbench.gui.tuning.typed_back import changes, in_form
from levelbench.gui.work.answers import Tuned, tune
from levelbench.gui.work.jobs import Progress
from levelbench.project import Project, Value, edit_many, load, sample
from levelbench.quantity import Dimension, QuantityError, in_unit
from levelbench.quantity.notation import COMMA, numbers_shown_as
from levelbench.rig import assemble
from levelbench.rig.settings import Settings
from levelbench.tuning.loop import settings_in

NONE = ("parallel", "integral_rate")  # a parallel form has no repeats


def tuned(changes_: dict[str, Value]) -> tuple[Project, Tuned]:
    edits = {f"loop_settings.{key}": value for key, value in changes_.items()}
    project = edit_many(load(sample("seedling_house")), edits)
    return project, tune(assemble(project), Progress(lambda _fraction, _words: None))


TYPED: dict[str, dict[str, Value]] = {
    "gain per volume": {"gain": "1130 %/gal", "integral": "0.36 min", "derivative": "2 s"},
    "gain of span": {"gain": "82.86", "integral": "22 s", "derivative": "0.03 min"},
    "band, repeats": {"gain": None, "proportional_band": "1.2 %", "integral": "2.7 repeats/min", "derivative": "2 s"},
    "parallel per volume": {"form": "parallel", "gain": "1130 %/gal", "integral": "3080 1/min", "derivative": "2260 s"},
    "parallel, band": {
        "form": "parallel", "gain": None, "proportional_band": "1.2 %", "integral": "3.7 1/s", "derivative": "166 s",
    },
    "series": {"form": "series", "gain": "1020 %/gal", "integral": "20 s", "derivative": "2.2 s"},
}  # fmt: skip
UNITS = ("gain", "proportional_band", "integral", "derivative")


@pytest.fixture(scope="module", params=TYPED)
def typed_so(request: pytest.FixtureRequest) -> tuple[Project, Tuned]:
    """A project whose settings are typed in one of many ways, and its tuning."""
    return tuned(TYPED[request.param])


def loops_agree(one: Settings, other: Settings) -> None:
    # four digits stand in a cell, so the loop stays what it was to a few parts in a thousand
    assert one.gain == pytest.approx(other.gain, rel=2e-3)
    assert one.integral_time == pytest.approx(other.integral_time, rel=2e-3)
    assert one.derivative_time == pytest.approx(other.derivative_time, rel=5e-3)


def units_typed(project: Project) -> list[str]:
    return [one.text.split(" ", 1)[-1] for name in UNITS if (one := getattr(project.loop_settings, name)) is not None]


CELLS = [(form, row) for form in FORMS for row in ROWS if (form, row.key) != NONE]


@pytest.mark.parametrize(("form", "row"), CELLS, ids=[f"{form} {row.key}" for form, row in CELLS])
def test_any_cell_is_edited_and_the_file_keeps_its_form_and_units(
    typed_so: tuple[Project, Tuned], form: str, row: Row
) -> None:
    project, tuned = typed_so
    stands = plain_value(shown_values(tuned, form)[row.key])
    same = edit_many(project, changes(tuned, project.loop_settings, form, row, number(stands)))
    loops_agree(settings_in(assemble(same)), settings_in(assemble(project)))
    edited = edit_many(project, changes(tuned, project.loop_settings, form, row, number(1.25 * stands)))
    for after in (same, edited):
        assert after.loop_settings.form == project.loop_settings.form
        units = [unit for unit in units_typed(project) if not unit[0].isdigit()]
        assert [unit for unit in units_typed(after) if not unit[0].isdigit()] == units
    again = tune(assemble(edited), Progress(lambda _fraction, _words: None))
    for each, shown in shown_values(tuned, form).items():
        moved = 1.25 if each == row.key else 1.0
        others = {one.key for one in ROWS if one.setting == row.setting}
        if each == row.key or each not in others:  # the other settings of the column stay
            assert plain_value(shown_values(again, form)[each]) == pytest.approx(moved * plain_value(shown), rel=2e-3)


@pytest.mark.parametrize("form", FORMS)
def test_another_form_is_taken_only_when_asked_and_the_loop_stays(typed_so: tuple[Project, Tuned], form: str) -> None:
    project, tuned = typed_so
    if form == project.loop_settings.form:
        return
    after = edit_many(project, in_form(tuned, project.loop_settings, form))
    assert after.loop_settings.form == form
    loops_agree(settings_in(assemble(after)), settings_in(assemble(project)))
    gain, was = after.loop_settings.gain, project.loop_settings.gain
    assert (gain is None) == (was is None)
    assert gain is None or was is None or gain.unit == was.unit


def test_what_is_written_has_points_whatever_marks_are_shown(typed_so: tuple[Project, Tuned]) -> None:
    project, tuned = typed_so
    row = next(one for one in ROWS if one.key == "gain_of_span")
    with numbers_shown_as(COMMA):
        made = changes(tuned, project.loop_settings, "parallel", row, "60,5")
        again = changes(tuned, project.loop_settings, "parallel", row, "60.5")
    after, same = edit_many(project, made), edit_many(project, again)
    assert settings_in(assemble(after)).gain == pytest.approx(settings_in(assemble(same)).gain, rel=1e-9)


@pytest.mark.parametrize(
    ("words", "reason"),
    [("0", "more than 0"), ("-3", "more than 0"), ("4 gal", "gain"), ("", "Nothing (is|was) typed")],
)
def test_what_is_no_gain_is_refused(typed_so: tuple[Project, Tuned], words: str, reason: str) -> None:
    project, tuned = typed_so
    row = next(one for one in ROWS if one.key == "gain_of_span")
    with pytest.raises(QuantityError, match=reason):
        changes(tuned, project.loop_settings, "series", row, words)


def written(row: EquationRow | Part) -> str:
    """Give the letters of an equation from left to right."""
    if isinstance(row, Word):
        return row.text
    if isinstance(row, Symbol):
        return row.name + row.below + ("'" if row.prime else "")
    if isinstance(row, Fraction):
        return f"{written(EquationRow(row.top))}/{written(EquationRow(row.bottom))}"
    if isinstance(row, Integral):
        return "∫"
    parts = row.inside if isinstance(row, Round) else row.parts
    inside = "".join(written(one) for one in parts)
    return f"({inside})" if isinstance(row, Round) else inside


def test_the_equation_says_the_gain_as_it_is_typed(typed_so: tuple[Project, Tuned]) -> None:
    project, answer = typed_so
    settings = project.loop_settings
    symbols = written(in_symbols(settings.form, band=settings.proportional_band is not None))
    row = in_numbers(answer, settings)
    assert row is not None
    numbers, words = written(row), in_words(answer, settings)
    if settings.proportional_band is not None:
        assert "100 %/PB" in symbols
        assert "100 %/1.2 %" in numbers
        assert "100 %/PB" in words
    else:
        assert settings.gain is not None
        assert "PB" not in symbols
        assert numbers.startswith(f"OP={number(in_unit(settings.gain.si, Dimension.GAIN, settings.gain.unit))}")
        assert ("SP and PV in US gal" in words) == settings.gain.per_volume
    if settings.form == "parallel":  # the numbers are those of the file: OP follows from them as they stand
        assert settings.integral is not None
        assert f"+{number(settings.integral.si)}∫" in numbers
        assert f"−{number(settings.derivative.si)}d" in numbers
