"""`levelbench rules`: the table, its JSON, and what it refuses."""

from collections.abc import Callable
from typing import Any

import pytest

from levelbench.project import edit_many, load, sample
from levelbench.rig import assemble
from levelbench.tuning.loop import margins
from levelbench.tuning.rules import RULES

Said = Callable[..., tuple[int, str, str]]
Told = Callable[..., tuple[int, Any]]


def test_rules_are_printed_side_by_side(said: Said) -> None:
    code, out, err = said("rules", sample("seedling_house"))
    assert (code, err) == (0, "")
    lines = out.splitlines()
    for rule in RULES:
        assert f"{rule.name} {rule.kind}" in out
    now = next(line for line in lines if "as it is now" in line)
    assert "1130 %/gal, 22 s, 0 s" in now
    assert sum(line.startswith("best ") for line in lines) == 1
    assert sum(line.startswith("worst ") for line in lines) == 1
    assert "Cohen-Coon PI: Cohen-Coon asks for" in out
    assert "looks like a slip and is right here" in lines[-1]


def test_each_number_in_the_json_has_value_unit_and_source(told: Told) -> None:
    code, document = told("rules", sample("parts_washer"))
    assert code == 0
    assert document["averaging_room"]["value"] == pytest.approx(4.0, rel=1e-6)  # l: 80 % of the deviation limit of 5
    assert document["best"]["key"] in {one["key"] for one in document["lines"]}
    for line in document["lines"]:
        assert line["source"]
        assert all({"value", "unit", "source", "formula"} <= set(one) for one in line["figures"])
    assert {one["key"] for one in document["refused"]} == {"cohen_coon_pi", "cohen_coon_pid"}


def test_the_edits_in_the_json_give_the_margins_beside_them(told: Told) -> None:
    _, document = told("rules", sample("parts_washer"))
    line = next(one for one in document["lines"] if one["key"] == "amigo_pi")
    rig = assemble(edit_many(load(sample("parts_washer")), line["edits"]))
    shown = next(one["value"] for one in line["figures"] if one["key"] == "margin.gain")
    assert margins(rig).gain.si == pytest.approx(shown, rel=1e-9)


def test_choices_are_followed(told: Told) -> None:
    words = ("--closed-loop-time", "10 s", "--arrest-time", "20 s", "--deviation", "0.1 gal")
    _, chosen = told("rules", sample("seedling_house"), *words)
    _, plain = told("rules", sample("seedling_house"))
    edits = [{one["key"]: one["edits"] for one in document["lines"]} for document in (chosen, plain)]
    for key in ("simc_pi", "lambda_pi", "averaging_p", "averaging_pi"):
        assert edits[0][key] != edits[1][key]
    assert edits[0]["amigo_pi"] == edits[1]["amigo_pi"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--arrest-time", "0 s"), "--arrest-time “0 s”: It has to be more than 0."),
        (("--closed-loop-time", "3 gal"), "--closed-loop-time “3 gal”"),
        (("--deviation", "plenty"), "--deviation “plenty”"),
    ],
)
def test_what_is_not_a_choice_is_refused_in_words(said: Said, words: tuple[str, ...], says: str) -> None:
    code, out, err = said("rules", sample("seedling_house"), *words)
    assert (code, out) == (2, "")
    assert says in err
