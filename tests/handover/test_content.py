"""What the sheet says: everything typed, every figure, the worst first, and a fingerprint that follows the settings."""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest
from handover_samples import Made, made, words

from levelbench.handover.blocks import Heading, Note, Table
from levelbench.handover.instruments import flow_figures
from levelbench.handover.settings import forms
from levelbench.handover.told import value_of
from levelbench.handover.typed import as_typed, fingerprint, pairs
from levelbench.project import edit, edit_many, load, sample, units
from levelbench.quantity import Dimension, Figure, Quantity
from levelbench.review import Severity, scaling_table
from levelbench.rig.bench import Bench
from levelbench.tuning.forms import EQUATIONS, all_forms
from levelbench.tuning.loop import loop_model, margins


def typed_texts(value: Any) -> list[str]:
    """Every text in a part of the project's file, as the standard library reads it."""
    if isinstance(value, dict):
        return [text for one in value.values() for text in typed_texts(one)]
    if isinstance(value, list):
        return [text for one in value for text in typed_texts(one)]
    return [value] if isinstance(value, str) else []


def quantities(value: Any) -> Iterator[Quantity]:
    """Every quantity in a record, however deep."""
    if isinstance(value, Quantity):
        yield value
    elif is_dataclass(value):
        for one in fields(value):
            yield from quantities(getattr(value, one.name))
    elif isinstance(value, tuple):
        for each in value:
            yield from quantities(each)


def test_every_text_of_the_project_file_is_printed_with_our_name_of_its_unit(one: Made) -> None:
    """ "4.30 gal" is printed 4.30 US gal (NIST Handbook 44 knows no other gallon, an English drum does)."""
    said, ours = words(one.sheet), {each.text: each.shown for each in quantities(one.project)}
    for section, typed in tomllib.loads(one.project.text).items():
        for text in typed_texts(typed):
            printed = ours.get(text, text)
            assert printed in said or (section, text) == ("sheet", one.project.sheet.paper), (section, text)
    assert not re.search(r"(?<!US )(?<!imp )\bgal\b", "\n".join(said) if not isinstance(said, str) else said)


def test_every_figure_is_printed_with_its_formula_and_source(one: Made) -> None:
    said, shown = words(one.sheet), units(one.project)
    model, margin = loop_model(one.rig), margins(one.rig)
    for figure in (*one.prediction.figures, model.slope, *model.parts, model.total_delay, margin.gain, margin.phase):
        assert value_of(figure, shown) in said, figure.key
        assert figure.formula in said
        assert figure.source in said


def test_the_settings_stand_in_all_three_forms_with_every_value(one: Made) -> None:
    table = forms(Bench(one.rig))
    said = "\n".join(cell for row in table.rows for cell in row)
    for form in all_forms(one.rig):
        assert EQUATIONS[form.name] in said
        assert all(value.text in said for value in form.values)
        assert form.values or form.missing in said
    assert "standard: this controller" in table.head


def test_a_form_that_cannot_be_says_why() -> None:
    """A series controller needs Ti ≥ 4·Td (Åström & Hägglund 1995, section 3.4)."""
    table = forms(Bench(made("seedling_house", loop_settings__derivative="20 s").rig))
    assert "no series form" in table.rows[1][3]


def test_the_output_table_ends_at_the_flow_that_was_measured(one: Made) -> None:
    flows = flow_figures(Bench(one.rig))
    assert flows[0].si == 0.0
    assert [flow.si for flow in flows] == sorted(flow.si for flow in flows)
    # the flow was measured as installed; the tank's level moves the lift a little: affinity laws keep it within 5 %
    assert flows[-1].si == pytest.approx(one.project.pump.largest_flow.si, rel=0.05)
    assert all(flow.source and flow.inputs for flow in flows)


def test_an_on_off_pump_is_told_by_its_mean_flow() -> None:
    flows = flow_figures(Bench(made("parts_washer", pump__drive="on/off").rig))
    assert flows[2].si == pytest.approx(flows[4].si / 2)  # half the time on: half the flow


def test_the_scaling_table_has_failure_levels_and_room_to_write(one: Made) -> None:
    (table,) = [block for block in one.sheet.blocks if isinstance(block, Table) and block.head[0] == "signal"]
    assert len(table.rows) == len(scaling_table(one.rig))
    assert {"3.60 mA", "4.00 mA", "12.00 mA", "20.00 mA", "21.00 mA"} <= {row[0] for row in table.rows}
    assert all(row[-1] == "" for row in table.rows)
    assert next(row[5] for row in table.rows if row[0] == "3.60 mA").startswith("failure, low")


def test_what_stops_is_told_on_the_first_page() -> None:
    bare = made("seedling_house", overflow_switch__fitted=False)
    stops = [one for one in bare.findings if one.severity is Severity.STOP]
    assert stops
    note = next(block for block in bare.sheet.blocks if isinstance(block, Note) and block.mark == "■")
    assert bare.sheet.blocks.index(note) < 5
    assert all(one.title in note.text for one in stops)
    assert "before this sheet is used" in note.word


def test_cautions_leave_switch_and_stop_to_the_wiring(one: Made) -> None:
    caution = next(block for block in one.sheet.blocks if isinstance(block, Note) and block.word == "caution")
    for part in ("hard-wired", "emergency stop", "Local codes", "licensed person"):
        assert part in caution.text
    assert "This sheet comes from a model" in words(one.sheet)


def test_the_parts_of_the_sheet_are_all_there(one: Made) -> None:
    parts = [block.text for block in one.sheet.blocks if isinstance(block, Heading) and not block.minor]
    assert parts[0] == "Tags (ANSI/ISA-5.1)"
    assert {
        "Alarms",
        "Overflow switch",
        "Scaling of the signal",
        "What the model predicts",
        "Margins of the loop",
        "Findings",
        "Assumptions",
        "As found and as left",
        "Signatures",
    } <= set(parts)


def test_a_letter_of_ones_own_is_declared() -> None:
    """ANSI/ISA-5.1-2009 Table 4.1 has no first letter for volume; a user's choice must be declared."""
    sheet = made("seedling_house", first_letter="N", first_letter_means="volume of the day tank").sheet
    assert "First letter N: volume of the day tank; a user's choice" in words(sheet)
    assert "NIC-310" in words(sheet)


SETTINGS = {
    "loop_settings.gain": "1131 %/gal",
    "loop_settings.integral": "23 s",
    "loop_settings.scan": "200 ms",
    "bands.high.limit": "4.31 gal",
    "bands.low.dead_band": "0.06 gal",
    "sensor.averaging": 21,
    "tank.diameter": "12.0 in",
    "overflow_switch.trips_at": "12.1 in",
}


@pytest.mark.parametrize("key", SETTINGS)
def test_the_fingerprint_changes_with_every_setting(key: str) -> None:
    project = load(sample("seedling_house"))
    assert fingerprint(edit(project, key, SETTINGS[key])) != fingerprint(project)


def test_the_fingerprint_does_not_change_with_what_is_no_setting() -> None:
    project = load(sample("seedling_house"))
    other = edit_many(project, {"title": "Other", "sheet.customer": "Somebody", "display.volume": "l"})
    assert fingerprint(other) == fingerprint(project)
    assert len(fingerprint(project)) == 12


def test_what_was_left_out_says_so() -> None:
    assert as_typed(None) == "not given"
    assert as_typed(True) == "yes"
    assert as_typed(14) == "14"


def test_a_nought_that_was_left_out_is_in_the_unit_of_the_project() -> None:
    """ "0 l" on a sheet in gallons would look as if somebody had meant litres."""
    project = load(sample("seedling_house"))
    settings = dict(pairs(project.loop_settings, units(project)))
    assert settings["integral dead band"] == "0 US gal"
    assert settings["set point, lowest"] == "2.00 US gal"
    litres = edit(project, "display.volume", "l")
    assert dict(pairs(litres.loop_settings, units(litres)))["integral dead band"] == "0 l"
    typed = edit(project, "loop_settings.integral_dead_band", "0.00 gal")
    assert dict(pairs(typed.loop_settings, units(typed)))["integral dead band"] == "0.00 US gal"


def test_endless_numbers_are_told_in_words() -> None:
    shown = units(load(sample("seedling_house")))
    figure = Figure("a.b", "a", float("inf"), Dimension.TIME, "f", (), "s")
    assert value_of(figure, shown) == "never"
    assert value_of(replace(figure, dimension=Dimension.NUMBER), shown) == "no limit"
    assert value_of(replace(figure, si=float("nan")), shown) == "no value"
    assert (
        value_of(replace(figure, si=0.25 / 60, dimension=Dimension.START_RATE, resolution=0.1 / 3600), shown)
        == "15.0 starts/h"
    )
