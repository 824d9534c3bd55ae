"""How fast a record of a million rows is read, against the readers of pandas and numpy, in one run."""

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from levelbench.records import look, read_measured

pytestmark = pytest.mark.benchmark
ROWS = 1_000_000


@pytest.fixture(scope="module")
def million(tmp_path_factory: pytest.TempPathFactory) -> Path:
    chance = np.random.default_rng(7)
    columns = (
        np.arange(ROWS) * 0.1, 4 + 0.01 * chance.standard_normal(ROWS), 50 + 5 * chance.standard_normal(ROWS),
        np.full(ROWS, 4.0),
    )  # fmt: skip
    path = tmp_path_factory.mktemp("million") / "record.csv"
    rows = zip(*(column.tolist() for column in columns), strict=True)
    with path.open("w", encoding="utf-8") as file:
        file.write("time [s],PV [US gal],OP [%],SP [US gal]\n")
        file.writelines(f"{a:.1f},{b:.4f},{c:.2f},{d:.2f}\n" for a, b, c, d in rows)
    return path


def alternating(works: dict[str, Callable[[], object]], rounds: int = 20) -> dict[str, float]:
    """The shortest time of each work [s], taken in turns: what else the machine does then falls on all alike."""
    best = dict.fromkeys(works, float("inf"))
    for _ in range(rounds):
        for name, work in works.items():
            begin = time.perf_counter()
            work()
            best[name] = min(best[name], time.perf_counter() - begin)
    return best


def test_a_million_rows_in_at_most_twice_the_time_of_the_fastest_reader(million: Path) -> None:
    took = alternating(
        {
            "this program, from the look to the record": lambda: read_measured(million, look(million).columns),
            "pandas, engine c": lambda: pd.read_csv(million, engine="c"),
            "pandas, engine pyarrow": lambda: pd.read_csv(million, engine="pyarrow"),
            "numpy.loadtxt": lambda: np.loadtxt(million, delimiter=",", skiprows=1),
        }
    )
    ours, *others = took.values()
    print("; ".join(f"{name} {1000 * one:.0f} ms" for name, one in took.items()), f"ratio {ours / min(others):.2f}")
    assert ours <= 2.0 * min(others)


def test_the_million_are_the_very_numbers_that_stand_there(million: Path) -> None:
    found = read_measured(million, look(million).columns)
    exact = np.loadtxt(million, delimiter=",", skiprows=1, usecols=(0, 2))
    np.testing.assert_array_equal(found.time, exact[:, 0])
    np.testing.assert_allclose(found.output, exact[:, 1] / 100, rtol=3e-16)
