"""The few words of the notebook: what they give, and that nothing is loaded before it is wanted."""

import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest

import levelbench as lb
from levelbench.project import Project, sample
from levelbench.quantity import LevelBenchError, QuantityError
from levelbench.records import ActionError
from levelbench.rig import Recording, RigError


@pytest.fixture(scope="module")
def project() -> Project:
    return lb.load(sample("seedling_house"))


@pytest.fixture(scope="module")
def recording(project: Project) -> Recording:
    return lb.run(project, "5 min", seed=1, do=["60 s: set point 3.10 gal"])


def test_a_recording_has_numpy_columns_with_named_units(recording: Recording) -> None:
    assert isinstance(recording["pv"], np.ndarray)
    assert {column.name: column.unit for column in recording.columns}["pv"] == "m3"
    assert recording["time"][-1] == pytest.approx(300.0, abs=0.2)
    after = recording["time"] > 61
    # 1 US gallon is 231 cubic inches of exactly 2.54 cm: NIST Handbook 44, Appendix C
    assert recording["set_point"][after] == pytest.approx(3.10 * 231 * 0.0254**3, rel=1e-9)


def test_the_same_words_give_the_same_recording(project: Project, recording: Recording) -> None:
    again = lb.run(project, "300 s", seed=1, do=["1 min: set point 3.10 US gal"])
    other = lb.run(project, "300 s", seed=2, do=["1 min: set point 3.10 US gal"])
    np.testing.assert_array_equal(again.rows, recording.rows)
    assert again.journal == recording.journal
    assert (other["pv"] != recording["pv"]).any()


@pytest.mark.parametrize("columns", [(), ("pv",), ("set_point", "pv", "drain_flow")])
def test_a_plot_draws_itself(recording: Recording, columns: tuple[str, ...]) -> None:
    drawing = ET.fromstring(lb.plot(recording, *columns)._repr_svg_())
    assert drawing.tag.endswith("svg")
    assert any(part.tag.endswith("polyline") for part in drawing.iter())


def test_a_column_that_can_not_be_plotted_is_refused(recording: Recording) -> None:
    with pytest.raises(RigError, match="pressure"):
        lb.plot(recording, "pressure")


def test_a_table_is_in_the_units_of_the_project(recording: Recording, tmp_path: Path) -> None:
    table = lb.table(recording)
    assert table.unit("pv") == "US gal"
    assert table["set_point"][-1] == pytest.approx(3.10)
    lb.write_csv(recording, tmp_path / "run.csv")
    np.testing.assert_array_equal(lb.read_csv(tmp_path / "run.csv")["pv"], table["pv"])


def test_a_check_gives_findings_worst_first(project: Project) -> None:
    ranks = [one.severity.rank for one in lb.check(project) if one.applies]
    assert len(ranks) > 10
    assert ranks == sorted(ranks)


def test_what_can_not_be_read_is_refused(project: Project, tmp_path: Path) -> None:
    with pytest.raises(QuantityError, match="unit is missing"):
        lb.run(project, "30")
    with pytest.raises(ActionError):
        lb.run(project, "30 s", do=["set point 3 gal"])
    with pytest.raises(LevelBenchError):
        lb.load(tmp_path / "none.toml")


def test_names_are_loaded_when_they_are_used() -> None:
    code = (
        "import sys, levelbench as lb\n"
        "heavy = [name for name in ('numba', 'pint', 'PySide6') if name in sys.modules]\n"
        "assert not heavy, heavy\n"
        "assert set(lb.__all__) <= set(dir(lb))\n"
        "assert all(callable(getattr(lb, name)) for name in lb.__all__)\n"
        "assert 'numba' in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_an_unknown_name_is_refused_with_the_names() -> None:
    with pytest.raises(AttributeError, match=r"no attribute 'simulate'; it offers Plot, check, load"):
        lb.simulate  # type: ignore[attr-defined]  # noqa: B018


def test_one_action_may_stand_without_brackets(project: Project) -> None:
    recording = lb.run(project, "10 s", do="2 s: set point 3.10 gal")
    assert [one.what for one in recording.journal if one.kind == "action"] == ["set point"]


@pytest.mark.parametrize("duration", ["-1 min", "0 s", "1e9 h", 30])
def test_a_duration_that_is_none_is_refused(project: Project, duration: str) -> None:
    with pytest.raises(LevelBenchError, match=r"can't last|would keep|not a text"):
        lb.run(project, duration)


def test_a_notebook_s_echo_is_short(project: Project, recording: Recording) -> None:
    assert repr(project) == "<Project “Seedling house nutrient day tank”, loop 310>"
    assert repr(recording) == "<Recording of “Seedling house nutrient day tank”: 3000 rows to 299.9 s, seed 1>"
