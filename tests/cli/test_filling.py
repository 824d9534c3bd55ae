"""`levelbench filling`: the verdict, a table for each size and the law; the same as one JSON document."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from levelbench.cli import filling
from levelbench.project import load, sample
from levelbench.rig import assemble
from levelbench.tuning.filling import fill

Said = Callable[..., tuple[int, str, str]]
Told = Callable[..., tuple[int, Any]]


def test_filling_says_which_way_wins_and_gives_the_law(said: Said, told: Told, monkeypatch: pytest.MonkeyPatch) -> None:
    once = fill(assemble(load(sample("seedling_house"))))
    monkeypatch.setattr(filling, "fill", lambda _rig, _progress: once)
    code, out, err = said("filling", sample("seedling_house"))
    told_code, document = told("filling", sample("seedling_house"))
    assert (code, told_code, err) == (0, 0, "")
    assert document["verdict"] in out
    assert all(line in out for line in document["equation"])
    assert [one["key"] for one in document["law"]][:2] == ["filling.in_flight", "filling.lead"]
    assert len(document["learned"]) == 12
    for size in document["sizes"]:
        keys = [one["key"] for one in size["ways"]]
        assert size["wins"] in keys
        assert keys[0] == "pi"
        assert keys[-1] == "learning"
        for way in size["ways"]:
            assert way["name"] in out
            for figure in way["figures"]:
                assert {"value", "unit", "source", "formula"} <= set(figure)
                assert figure["source"]


def test_what_can_not_be_filled_is_refused_in_words(said: Said, tmp_path: Path) -> None:
    text = sample("seedling_house").read_text("utf-8")
    text = text.replace('set_point_low = "2.00 gal"', 'set_point_low = "3.00 gal"')
    narrow = text.replace('set_point_high = "4.00 gal"', 'set_point_high = "3.05 gal"')
    (tmp_path / "narrow.toml").write_text(narrow, "utf-8")
    code, _, err = said("filling", tmp_path / "narrow.toml")
    assert code == 2
    assert "nothing to fill" in err
