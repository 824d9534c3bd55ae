"""levelbench fit, as a person says it."""

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from levelbench.project import sample

Said = Callable[..., tuple[int, str, str]]


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """A record in volts: 0.02 V/s per 100 % of output after 4 s."""
    time = np.arange(0.0, 400.0)
    output = np.where((time > 50) & (time < 120), 40.0, np.where((time > 200) & (time < 260), 5.0, 20.0))
    late = np.concatenate((np.full(4, output[0]), output[:-4]))
    level = 3.0 + np.concatenate(([0.0], np.cumsum(0.02 * (late[:-1] - 20.0) / 100)))
    level += np.random.default_rng(0).normal(0, 0.002, 400)
    path = tmp_path / "tank.csv"
    rows = "\n".join(f"{t:g},{v:.4f},{u:g}" for t, v, u in zip(time, level, output, strict=True))
    path.write_text(f"time s,level V,pump %\n{rows}\n", encoding="utf-8")
    return path


def test_a_model_with_its_intervals_is_printed(said: Said, record: Path) -> None:
    code, out, _ = said("fit", record, "--model", "integrating")
    assert code == 0
    assert "integrating, with dead time" in out
    assert "V/s" in out
    assert "dead time θ" in out
    assert "held out" in out


def test_json_has_value_unit_source_and_interval(said: Said, record: Path) -> None:
    code, out, _ = said("fit", record, "--model", "integrating", "--json", "--columns", "pv=2 [V]; output=3 [%]")
    assert code == 0
    told = json.loads(out)
    assert told["take"] == "integrating"
    numbers = {one["key"]: one for one in told["fits"][0]["estimates"]}
    slope, wait = numbers["fit.slope"], numbers["fit.dead_time"]
    assert slope["unit"] == "V/s"
    assert slope["low"] < 0.02 < slope["high"]
    assert slope["value"] == pytest.approx(0.02, rel=0.02)
    assert wait["low"] < 4.0 < wait["high"]
    assert wait["unit"] == "s"
    assert "Ljung" in slope["source"]
    assert all("passed" in one for one in told["fits"][0]["tests"])


def test_what_can_not_be_done_is_refused(said: Said, record: Path, tmp_path: Path) -> None:
    code, _, heard = said("fit", record, "--project", sample("seedling_house"), "--model", "two-tanks")
    assert code == 2
    assert "one tank" in heard
    code, _, heard = said("fit", tmp_path / "none.csv")
    assert code == 2
    still = tmp_path / "still.csv"
    still.write_text("time s,level V,pump %\n" + "\n".join(f"{t},{t % 7},30" for t in range(60)), encoding="utf-8")
    code, _, heard = said("fit", still, "--model", "integrating")
    assert code == 2
    assert "stays the same" in heard
