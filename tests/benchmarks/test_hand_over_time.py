"""How long the whole hand-over of a sample takes as a person waits for it: a process of its own, with a warm cache."""

import subprocess
import sys
import time
from pathlib import Path

import pytest

from levelbench.project import samples

pytestmark = pytest.mark.benchmark


@pytest.mark.parametrize("project", samples(), ids=lambda one: one.stem)
def test_a_whole_hand_over_takes_at_most_five_seconds(project: Path, tmp_path: Path) -> None:
    def hand_over(folder: Path) -> float:
        begin = time.perf_counter()
        words = [sys.executable, "-m", "levelbench", "hand-over", str(project), "--into", str(folder)]
        subprocess.run(words, check=True, capture_output=True)
        return time.perf_counter() - begin

    hand_over(tmp_path / "first")  # fills the compile cache
    takes = min(hand_over(tmp_path / f"again {time_}") for time_ in range(3))
    print(f"\n{project.stem}: {takes:.2f} s")
    assert takes <= 5.0
