"""The texts of the help: every figure that the program computes has a meaning, every entry has a help."""

import re
from dataclasses import replace
from functools import cache

import pytest
from bench_rig import rig_with
from random_records import random_record
from test_rules_fire import BROKEN, SWINGING
from whole_ladder import whole_rig

from levelbench.alarms.design import design, spread_near
from levelbench.alarms.lamps import prove_silence
from levelbench.alarms.proof import prove as prove_shifts
from levelbench.alarms.purpose import purpose_of
from levelbench.alarms.rationale import rationale
from levelbench.alarms.shifts import Use
from levelbench.alarms.starting import starting
from levelbench.alarms.timing import timing
from levelbench.gui.fields.entry_keys import HEAD, declaration, sections
from levelbench.gui.help.figure_help import meaning, meanings
from levelbench.gui.stages.describe import keys_of
from levelbench.project import load, samples, units
from levelbench.quantity import Figure
from levelbench.records import from_recording
from levelbench.review import RULES, review
from levelbench.review.light import silences_of
from levelbench.rig import Rig, assemble, run
from levelbench.rig.bench import Bench
from levelbench.rig.panel import ENTRIES
from levelbench.tuning.effects import because, known
from levelbench.tuning.experiments import KINDS, Wishes, plan, run_experiment
from levelbench.tuning.filling import fill
from levelbench.tuning.forms import Settings, all_forms
from levelbench.tuning.identify.every import fit_model, foretold_by
from levelbench.tuning.loop import loop_model, margins, open_loop
from levelbench.tuning.loop_reading import reading
from levelbench.tuning.narrow_band import narrow_band
from levelbench.tuning.prediction import predict
from levelbench.tuning.proof import prove
from levelbench.tuning.rules import compare
from levelbench.tuning.search import default_box, default_limits, search
from levelbench.tuning.stretches import measured

ON_OFF: dict[str, str | int | bool | None] = {"pump.drive": "on/off"}
SLUGGISH: dict[str, str | int | bool | None] = {
    "sensor.averaging": 1,
    "loop_settings.derivative_filter": "50",
    "pump.spin_up": "20 s",
}
WITH_A_LOWEST_GAIN = Settings(60.0 / 3.785411784e-3, 16.0, 12.0)  # per US gallon


def figures_of(rig: Rig) -> list[Figure]:
    """Everything that is worked out of a rig without running it for long."""
    model = loop_model(rig)
    return [
        *(figure for finding in review(rig) for figure in finding.figures),
        *margins(rig).figures,
        *(value.figure for form in all_forms(rig) for value in form.values),
        *model.parts,
        model.total_delay,
        model.slope,
    ]


def figures_by_hand(rig: Rig) -> list[Figure]:
    """What tuning by hand shows besides: the loop at a period, a stretch of the bench, why the band is narrow."""
    narrow = narrow_band(rig)
    assert narrow is not None
    shown_in = units(rig.project)
    return [*reading(open_loop(rig), 30.0, shown_in), *measured(run(rig, 20.0).rows, shown_in), *narrow.figures]


def figures_of_evidence(rig: Rig) -> list[Figure]:
    """What a change did and why, how the rig is filled with its drain shut, and a proof of before and after."""
    shown_in, filled = units(rig.project), fill(rig)
    calm, slow, wild = (with_gain(rig, factor) for factor in (1.0, 0.1, 5.0))
    told = [one for each in (slow, wild) for one in because(known(each), shown_in)[1]]
    proof = prove(slow, calm, seeds=(1, 2))
    spreads = [one for line in proof.lines for one in line.spreads]
    return [*told, known(rig).noise, *filled.figures, *filled.largest().rows[0].figures, *proof.figures, *spreads]


def figures_of_a_record() -> list[Figure]:
    """What fits to a record say: each number of each simple model, what is left over, and what was held out."""
    found = []
    for bends, model in ((False, "integrating"), (True, "first-order")):
        record = random_record(5, bends=bends).measured
        fit = fit_model(record, model)
        found += [*(one.figure for one in fit.estimates), *(one.figure for one in fit.tests), fit.rmse]
        found.append(foretold_by(record, model))
    return found


def figures_of_alarms(rig: Rig) -> list[Figure]:
    """What is said of the time that alarms leave, of published starting values, and of the place of each alarm."""
    timed = timing(rig)
    places = [figure for row in rationale(rig) for figure in row.place]
    parts = [part for one in timed for part in one.parts]
    silences = silences_of(Bench(rig), prove_silence(rig))
    return [*(figure for one in timed for figure in one.figures), *parts, *starting(rig).figures, *places, *silences]


def figures_of_noise(rig: Rig) -> list[Figure]:
    """What is said of a limit that is chosen from the noise of a record, which has a slow movement."""
    purpose = purpose_of(rig, "high")
    record = from_recording(run(rig, 900.0), units(rig.project)).part(200.0, 900.0)
    found = design(rig, spread_near(rig, purpose, record), purpose)
    assert found.pick is not None
    assert found.check is not None
    told = (*found.spread.figures(units(rig.project)), *purpose.figures(), *found.pick.figures)
    smooth = design(rig, spread_near(rig, purpose), purpose).check
    assert smooth is not None
    return [*told, *found.check.figures, *smooth.figures]


def figures_of_shifts(rig: Rig) -> list[Figure]:
    """What is counted over shifts, with faults enough that the drain takes air after its alarm."""
    proof = prove_shifts(rig, shifts=10, use=Use(lasts=1800.0, lead_in=60.0, faults=4.0, fault_lasts=600.0))
    assert proof.leads
    return list(proof.figures)


def with_gain(rig: Rig, factor: float) -> Rig:
    panel = rig.panel.copy()
    panel[ENTRIES["gain"].index] *= factor
    return replace(rig, panel=panel)


@cache
def all_figures() -> dict[str, Figure]:
    """The figures of the samples, and of rigs bent so that each rule fires, by key."""
    rigs = [assemble(load(path)) for path in samples()]
    found = [figure for rig in rigs for figure in figures_of(rig)]
    found += predict(rigs[-1]).figures
    rules = compare(rigs[-1])
    found += [*rules.lines[0].figures, *rules.verdict.figures]
    for kind in KINDS:
        done = run_experiment(plan(rigs[-1], kind, Wishes(repeats=1)))
        found += [*done.plan.figures, *done.figures, *(one.figure for one in done.estimates)]
        found += [one.model for one in done.compared]
    found += figures_of(rig_with(ON_OFF))
    found += margins(rig_with(SWINGING)).figures
    found += figures_by_hand(rigs[0])
    found += figures_of_evidence(rigs[0])
    found += figures_of_a_record()
    found += figures_of_shifts(rigs[-1])
    found += figures_of_noise(rigs[0])
    found += figures_of_alarms(whole_rig(overflow_switch__delay="1 s"))
    found += search(rigs[0], default_box(rigs[0]), default_limits(rigs[0]), budget=100_000).present.figures
    found += margins(rig_with(SLUGGISH), WITH_A_LOWEST_GAIN).figures
    for rule, changes, *_ in BROKEN:
        found += RULES[rule](rig_with(changes)).figures
    return {figure.key: figure for figure in found}


def test_every_figure_has_a_meaning_and_a_term() -> None:
    assert len(all_figures()) > 100
    assert [key for key in all_figures() if meaning(key) is None] == []


def test_a_figure_without_a_meaning_is_found() -> None:
    assert meaning("tank.colour") is None
    assert meaning("ladder.gap.a_rung_not_known_yet") is meanings()["ladder.gap"]


def test_no_meaning_speaks_of_a_figure_that_is_gone() -> None:
    unused = [front for front in meanings() if not any(f"{key}.".startswith(f"{front}.") for key in all_figures())]
    assert unused == []


@pytest.mark.parametrize("key", list(meanings()))
def test_a_meaning_is_short_and_whole(key: str) -> None:
    one = meanings()[key]
    assert 5 <= len(one.says.split()) <= 45
    assert len(re.findall(r"[.!](?:\s|$)", one.says)) <= 3
    assert one.says.endswith(".")
    assert one.term
    assert not one.term.endswith(".")


def test_every_entry_has_a_help() -> None:
    keys = [*HEAD, *(key for section in sections() for key in keys_of(section))]
    assert len(keys) > 90
    thin = [key for key in keys if len(declaration(key).help) < 5]
    assert thin == []
