"""Whatever is typed as a ladder: problems at reading, or a rig that runs with exactly that; never anything else.

A few examples each time, many more with `-m long`. Everything that takes a ladder is led through them.
"""

import tomllib
from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ladders import BASES, HANDLINGS, ODD_TEXTS, RECORDS, Typed, anything, sound, toml, with_ladder

from levelbench.alarms.design import design, spread_near
from levelbench.alarms.errors import AlarmError
from levelbench.alarms.lamps import prove_lamps, prove_silence
from levelbench.alarms.proof import prove
from levelbench.alarms.purpose import DESIGNED, purpose_of
from levelbench.alarms.rationale import distribution, rationale
from levelbench.alarms.record_csv import read_record, record_table, write_record
from levelbench.alarms.shifts import Use
from levelbench.alarms.starting import starting
from levelbench.alarms.timing import timing
from levelbench.drawing.palette import PRINT
from levelbench.drawing.section import section
from levelbench.drawing.svg import to_svg
from levelbench.handover.content import loop_settings_sheet
from levelbench.handover.html import to_html
from levelbench.handover.pdf import to_pdf
from levelbench.project import Project, ProjectProblems, edit_many, load, read_project, save
from levelbench.quantity import Quantity
from levelbench.review import RULES, review
from levelbench.rig import Rig, assemble, run
from levelbench.rig.panel import ENTRIES
from levelbench.tuning.prediction import predict

pytestmark = pytest.mark.timeout(600)  # the long ones on a busy machine
PARTS = {
    "limit": "limit", "dead_band": "dead band", "on_delay": "on-delay", "off_delay": "off-delay",
    "averaged_over": "averaging", "output_above": "output",
}  # fmt: skip


def examples(count: int) -> settings:
    return settings(max_examples=count, deadline=None, suppress_health_check=list(HealthCheck))


def as_typed(project: Project, typed: Typed) -> None:
    """See that the project holds every value as it was typed, and nothing that was not."""
    for key in RECORDS:
        alarm = getattr(project.bands, key)
        assert (alarm is not None) == (key in typed)
        for name, words in typed.get(key, {}).items():
            held, wanted = getattr(alarm, name), tomllib.loads(f"value = {words}")["value"]
            assert (held.text if isinstance(held, Quantity) else held) == wanted


def used_as_typed(rig: Rig) -> None:
    """See that the scan is given the SI values of what was typed, in the places where it was typed."""
    for key in RECORDS:
        alarm, name = (
            getattr(rig.project.bands, key),
            key.replace("high_high", "high-high").replace("low_low", "low-low"),
        )
        name = name.replace("_", " ")
        assert rig.panel[ENTRIES[f"{name} in use"].index] == (alarm is not None)
        for part, of_panel in PARTS.items():
            if alarm is not None and hasattr(alarm, part) and f"{name} {of_panel}" in ENTRIES:
                assert rig.panel[ENTRIES[f"{name} {of_panel}"].index] == getattr(alarm, part).si


# --- reading ---------------------------------------------------------------------------------------------------------


def is_read_or_told(typed: Typed, base: str) -> None:
    text = with_ladder(typed, base)
    try:
        project = read_project(text)
    except ProjectProblems as error:
        for one in error.problems:
            assert one.line > 0
            assert one.key
            assert one.found
            assert one.allowed
            assert one.message
        return
    assert project.text == text
    as_typed(project, typed)
    used_as_typed(assemble(project))


@examples(150)
@given(anything(), BASES)
def test_anything_typed_is_a_project_or_a_list_of_problems(typed: Typed, base: str) -> None:
    is_read_or_told(typed, base)


@pytest.mark.long
@examples(5000)
@given(anything(), BASES)
def test_much_of_anything_typed_is_a_project_or_a_list_of_problems(typed: Typed, base: str) -> None:
    is_read_or_told(typed, base)


# --- running, and everything that is told of a ladder ----------------------------------------------------------------


def runs_as_typed(typed: Typed, base: str, handling: Mapping[str, str], folder: Path) -> None:
    text = with_ladder(typed, base, handling)
    project = read_project(text)
    save(project, folder / "project.toml")
    assert (folder / "project.toml").read_bytes() == text.encode()
    as_typed(load(folder / "project.toml"), typed)
    rig = assemble(project)
    used_as_typed(rig)
    made = run(rig, 30.0, seed=1)
    assert made.rig.panel is rig.panel
    used_as_typed(rig)
    assert {one.key for one in timing(rig)} == set(typed)
    starting(rig)
    rows = rationale(rig)
    assert [one.key for one in rows] == [one for one in RECORDS if one in typed]
    assert distribution(rows) or not rows
    write_record(rig, folder / "alarms.csv")
    assert read_record(folder / "alarms.csv") == record_table(rig)
    assert to_svg(section(rig), PRINT).startswith("<svg")
    assert prove_lamps(project).combinations > 0


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("ladders")


@examples(40)
@given(typed=sound(), base=BASES, handling=HANDLINGS)
def test_a_ladder_runs_as_it_was_typed(typed: Typed, base: str, handling: dict[str, str], folder: Path) -> None:
    runs_as_typed(typed, base, handling, folder)


@pytest.mark.long
@examples(1500)
@given(typed=sound(), base=BASES, handling=HANDLINGS)
def test_many_ladders_run_as_they_were_typed(typed: Typed, base: str, handling: dict[str, str], folder: Path) -> None:
    runs_as_typed(typed, base, handling, folder)


# --- the rules -------------------------------------------------------------------------------------------------------


def is_judged(typed: Typed, base: str, handling: Mapping[str, str]) -> None:
    project = read_project(with_ladder(typed, base, handling))
    found = review(assemble(project))
    assert {one.key for one in found} == set(RULES)
    for one in found:
        assert "could not be worked out" not in one.text
        assert edit_many(project, dict(one.what_if)) is not None


@examples(12)
@given(typed=sound(2), base=BASES, handling=HANDLINGS)
def test_a_ladder_is_judged_and_every_change_offered_can_be_made(
    typed: Typed, base: str, handling: dict[str, str]
) -> None:
    is_judged(typed, base, handling)


@pytest.mark.long
@examples(400)
@given(typed=sound(), base=BASES, handling=HANDLINGS)
def test_many_ladders_are_judged_and_every_change_offered_can_be_made(
    typed: Typed, base: str, handling: dict[str, str]
) -> None:
    is_judged(typed, base, handling)


# --- paper -----------------------------------------------------------------------------------------------------------


def is_printed(typed: Typed, base: str) -> tuple[str, bytes]:
    rig = assemble(read_project(with_ladder(typed, base)))
    sheet = loop_settings_sheet(rig, predict(rig), ())
    return to_html(sheet), to_pdf(sheet, rig.project.sheet.paper)


def test_odd_reasons_are_printed_as_texts_and_as_nothing_else() -> None:
    shares = [ODD_TEXTS[at::11] for at in range(11)]
    typed: Typed = {}
    for (key, record), texts in zip(RECORDS.items(), shares, strict=True):
        assert record
        names = ("cause", "consequence", "operator_action", "basis")
        typed[key] = {name: toml(text) for name, text in zip(names, texts, strict=False)}
        if key not in ("frozen_signal", "bad_signal", "switch", "spill"):
            typed[key]["limit"] = toml("1 gal/min" if key == "rate_of_change" else "2 gal")
    page, paper = is_printed(typed, "seedling")
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "<script" not in page
    assert paper.startswith(b"%PDF")


@pytest.mark.long
@examples(60)
@given(sound(), BASES)
def test_many_ladders_are_printed(typed: Typed, base: str) -> None:
    page, paper = is_printed(typed, base)
    assert page.startswith("<!DOCTYPE html>")
    assert paper.startswith(b"%PDF")


# --- proof, silence, noise -------------------------------------------------------------------------------------------


def is_proved(typed: Typed, base: str, handling: Mapping[str, str]) -> None:
    handling = {key: value for key, value in handling.items() if key != "silence_at_most" or "d" not in value}
    rig = assemble(read_project(with_ladder(typed, base, handling)))
    for one in prove_silence(rig):
        assert one.allowed > 0
    found = prove(rig, shifts=2, seed=3, use=Use(lasts=1800.0, faults=2.0))
    assert {one.alarm.replace("-", "_").replace(" ", "_") for one in found.alarms} == set(typed)


@examples(6)
@given(sound(1), BASES, HANDLINGS)
def test_a_ladder_goes_through_shifts(typed: Typed, base: str, handling: dict[str, str]) -> None:
    is_proved(typed, base, handling)


@pytest.mark.long
@examples(200)
@given(sound(1), BASES, HANDLINGS)
def test_many_ladders_go_through_shifts(typed: Typed, base: str, handling: dict[str, str]) -> None:
    is_proved(typed, base, handling)


@pytest.mark.long
@examples(40)
@given(sound(7), st.sampled_from(DESIGNED))
def test_many_ladders_are_designed_from_the_noise_or_refused_with_a_reason(typed: Typed, alarm: str) -> None:
    project = read_project(with_ladder(typed))
    rig = assemble(project)
    refused = ""
    try:
        purpose = purpose_of(rig, alarm)
        found = design(rig, spread_near(rig, purpose), purpose)
    except AlarmError as error:
        refused = error.where
    assert refused or edit_many(project, dict(found.edits)) is not None
