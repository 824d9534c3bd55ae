"""The rows of the ladder: each limit in volume, height and signal, and back from each; nothing is put in order."""

import math
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelbench.gui.bands.band_values import gaps, proposal
from levelbench.gui.bands.parts import PARTS, entry_of, has
from levelbench.gui.bands.rows import (
    ALARMS,
    BY_KEY,
    COLUMNS,
    HEIGHT,
    MOVES,
    PLACES,
    ROWS,
    SIGNAL,
    VOLUME,
    Column,
    Kind,
    Row,
    quantity_of,
    scale,
    shown,
    told,
    typed_back,
)
from levelbench.gui.bands.says import formula, purpose, sentence
from levelbench.project import Project, edit_many, load, sample
from levelbench.project.fields import entries
from levelbench.project.records import Bands
from levelbench.quantity import Dimension, LevelBenchError, QuantityError, read
from levelbench.rig import assemble
from levelbench.rig.bench import Bench

GALLON = 231.0 * 0.0254**3  # m3 of a US gallon: 231 in3 (NIST SP 811)
FLOOR = math.pi * (6.0 * 0.0254) ** 2  # m2 of an upright 12 in cylinder
MORE = {
    "bands.rate_of_change.limit": "1.6 gal/min",
    "bands.no_rise.limit": "0.25 gal",
    "bands.frozen_signal.limit": "0.01 gal",
    "bands.bad_signal.priority": "high",
    "bands.switch.priority": "high",
    "bands.spill.priority": "high",
    "tank.dead_wood": None,
}


def project_with(**edits: str) -> Project:
    return edit_many(load(sample("seedling_house")), MORE | {key.replace("__", "."): one for key, one in edits.items()})


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench(assemble(project_with()))


def test_every_alarm_of_the_project_has_its_row_once() -> None:
    assert sorted(row.key for row in ALARMS) == sorted(entries(Bands))
    assert len(BY_KEY) == len(ROWS) == len(PLACES) + len(MOVES)


def test_a_place_is_told_by_the_geometry_of_the_tank(bench: Bench) -> None:
    values = told(bench, BY_KEY["high"])  # 4.30 US gal in an upright 12 in cylinder
    assert values["height"] == pytest.approx(4.30 * GALLON / FLOOR, rel=1e-6)
    empty, full = bench.signal_levels
    assert values["signal"] == pytest.approx(0.004 + 0.016 * (values["height"] - empty) / (full - empty))


def test_a_distance_and_a_rate_are_told_at_the_set_point(bench: Bench) -> None:
    span = bench.signal_levels[1] - bench.signal_levels[0]
    rise = told(bench, BY_KEY["no_rise"])
    assert rise["height"] == pytest.approx(0.25 * GALLON / FLOOR, rel=1e-6)
    assert rise["signal"] == pytest.approx(0.016 * rise["height"] / span)
    rate = told(bench, BY_KEY["rate_of_change"])
    assert rate["height"] == pytest.approx(1.6 * GALLON / 60 / FLOOR, rel=1e-6)  # m/s
    minute = float(shown(bench, BY_KEY["rate_of_change"], HEIGHT, rate["height"]))  # in/min
    assert minute == pytest.approx(1.6 * GALLON / FLOOR / 0.0254, abs=0.05)


@pytest.mark.parametrize("column", COLUMNS, ids=lambda one: one.key)
@pytest.mark.parametrize("key", [row.key for row in ROWS if row.entry])
def test_what_is_shown_is_typed_back_as_the_same_limit(bench: Bench, key: str, column: Column) -> None:
    row = BY_KEY[key]
    values = told(bench, row)
    if column.key not in values:
        assert row.kind not in (Kind.VOLUME, Kind.HEIGHT)
        return
    number = values[column.key] / scale(bench, row, column)
    words = typed_back(bench, row, column, f"{number:.9f}")
    dimension = {Kind.HEIGHT: Dimension.LENGTH, Kind.RATE: Dimension.FLOW}.get(row.kind, Dimension.VOLUME)
    own = values["height" if row.kind is Kind.HEIGHT else "volume"]
    assert read(words, dimension).si == pytest.approx(own, rel=1e-3)


def test_any_unit_will_do_in_any_column(bench: Bench) -> None:
    high, rate = BY_KEY["high"], BY_KEY["rate_of_change"]
    assert typed_back(bench, high, VOLUME, "16 l") == "16 l"  # as it was typed
    level = read(typed_back(bench, high, HEIGHT, "22 cm"), Dimension.VOLUME).si / FLOOR
    assert level == pytest.approx(0.22, rel=1e-3)
    assert typed_back(bench, rate, VOLUME, "6 l/min") == "6 l/min"
    rise = read(typed_back(bench, rate, HEIGHT, "1 mm/s"), Dimension.FLOW).si / FLOOR
    assert rise == pytest.approx(0.001, rel=1e-3)
    assert typed_back(bench, BY_KEY["switch"], HEIGHT, "11 1/2 in") == "11 1/2 in"


@pytest.mark.parametrize(("column", "words"), [(HEIGHT, "40 in"), (SIGNAL, "3 A"), (VOLUME, "none"), (HEIGHT, "")])
def test_what_can_not_be_is_refused_with_a_reason(bench: Bench, column: Column, words: str) -> None:
    with pytest.raises(QuantityError) as refused:
        typed_back(bench, BY_KEY["high"], column, words)
    assert str(refused.value)


def test_the_neighbours_stand_in_the_order_of_meaning_whatever_was_typed() -> None:
    project = project_with(bands__high__limit="5.5 gal")
    bench = Bench(assemble(project))
    above, below = gaps(bench, "high")
    assert above.startswith("■ ↑ up to high-high, wrong order: −0.5")
    assert below.startswith("↓ down to set point, highest: 1.5")
    assert project.bands.high is not None
    assert project.bands.high.limit.text == "5.5 gal"


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(0.05, 9.0), min_size=4, max_size=4))
def test_any_order_of_the_limits_is_told_and_kept(volumes: list[float]) -> None:
    names = ("high_high", "high", "low", "low_low")
    typed = {name: f"{volume:.3f} gal" for name, volume in zip(names, volumes, strict=True)}
    project = edit_many(load(sample("seedling_house")), {f"bands.{one}.limit": words for one, words in typed.items()})
    bench = Bench(assemble(project))
    for name, words in typed.items():
        assert getattr(project.bands, name).limit.text == words
        assert told(bench, BY_KEY[name])["volume"] == pytest.approx(float(words.split()[0]) * GALLON)
        assert all(gaps(bench, name))


@pytest.mark.parametrize("row", ALARMS, ids=lambda one: one.key)
def test_every_alarm_can_be_taken_into_use_and_says_when_it_comes(row: object) -> None:
    assert row in ALARMS
    key = row.key  # type: ignore[attr-defined]
    empty = edit_many(load(sample("seedling_house")), {f"bands.{key}": None})
    assert sentence(empty, key) == ""
    rig = assemble(empty)
    from levelbench.alarms.ladder import ladder  # noqa: PLC0415

    project = edit_many(empty, proposal(Bench(rig), ladder(rig), key))
    assert getattr(project.bands, key) is not None
    assemble(project)
    assert sentence(project, key).startswith("It comes ")
    assert purpose(key)
    assert formula(key).count("comes: ") == 1


def test_the_sentence_has_the_delay_and_the_limit_less_its_dead_band() -> None:
    project = project_with(
        bands__high__dead_band="0.05 gal", bands__high__on_delay="5 s", bands__high__off_delay="0 s",
        bands__low__limit="1.75 gal", bands__low__dead_band="0.1 gal", bands__low__on_delay="0 s",
        bands__low__off_delay="3 s",
    )  # fmt: skip
    assert sentence(project, "high") == (
        "It comes once the PV has been at or above 4.30 US gal for 5 s; it goes as soon as it is below 4.25 US gal."
    )
    assert sentence(project, "low") == (
        "It comes as soon as the PV is at or below 1.75 US gal; it goes once it has been above 1.85 US gal for 3 s."
    )


@pytest.mark.parametrize(
    ("limit", "dead_band", "goes"),
    [
        ("4.305 gal", "0.05 gal", "4.255 US gal"),
        ("4.3 gal", "0.123 gal", "4.177 US gal"),
        ("4 gal", "0.5 gal", "3.5 US gal"),
        ("16,28 l", "0.05 gal", "16.09 l"),  # 0.05 US gal are 0.1893 l
        ("4.30 gal", "0 gal", "4.30 US gal"),
    ],
)
def test_where_an_alarm_goes_loses_no_digit_that_was_typed(limit: str, dead_band: str, goes: str) -> None:
    project = project_with(bands__high__limit=limit, bands__high__dead_band=dead_band)
    assert sentence(project, "high").endswith(f"below {goes}.")


def test_an_alarm_has_the_parts_that_its_record_has() -> None:
    assert [part.key for part in PARTS if has(BY_KEY["spill"], part)] == [
        "on_delay", "off_delay", "priority", "latching", "suppressed_while",
    ]  # fmt: skip
    assert entry_of(BY_KEY["high"], PARTS[0]) == "bands.high.dead_band"
    assert not any(has(BY_KEY["set_point_high"], part) for part in PARTS)


_NUMBERS = st.from_regex(r"-?[0-9]{1,4}([.,][0-9]{1,3})? ?(gal|l|in|mm|mA|s|l/min|%)?", fullmatch=True)
_TYPED = [row for row in ROWS if row.entry]


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(_TYPED), st.sampled_from(COLUMNS), st.one_of(st.text(max_size=12), _NUMBERS))
def test_whatever_is_typed_into_a_cell_is_refused_or_gives_a_rig(row: Row, column: Column, words: str) -> None:
    project, refusal = _base(), ""
    try:
        typed = typed_back(Bench(assemble(project)), row, column, words)
        after = edit_many(project, {row.entry: typed})
        rig = assemble(after)
    except LevelBenchError as error:
        refusal = str(error)
    else:
        assert quantity_of(after, row.entry) is not None
        assert told(Bench(rig), row)  # and it can be shown
        return
    assert refusal


@cache
def _base() -> Project:
    return project_with()
