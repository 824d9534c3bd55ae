"""How much memory it takes to write a whole day as CSV from the trend, in a process of its own.

The rows of a day at 10 Hz alone are 864 000 × 15 columns × 8 bytes = 104 MB; they are run and written piece by piece.
"""

import subprocess
import sys

import pytest

pytestmark = pytest.mark.benchmark

MOST = 40  # MB more than a minute takes
CHILD = """
import resource, sys
from pathlib import Path
from levelbench.gui.trend.copy import _write_values
from levelbench.project import load, sample
from levelbench.rig import Past, assemble

class Quiet:
    def report(self, share, words):
        return True

def most():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024

rig = assemble(load(sample("seedling_house")))
past = Past(rig, 0, 1, 864_000, ())
target = Path(sys.argv[1])
_write_values(past, (0.0, 60.0), target, Quiet())
before = most()
_write_values(past, (0.0, float("inf")), target, Quiet())
print(most() - before, sum(1 for _ in target.open()))
"""


def test_a_day_is_written_in_little_memory(tmp_path_factory: pytest.TempPathFactory) -> None:
    target = tmp_path_factory.mktemp("day") / "day.csv"
    done = subprocess.run([sys.executable, "-c", CHILD, str(target)], capture_output=True, text=True, check=True)
    more, lines = (float(one) for one in done.stdout.split())
    size = target.stat().st_size / 1e6
    target.unlink()
    print(f"\na day of {size:.0f} MB took {more:.1f} MB more than a minute")
    assert lines == 864_002
    assert more < MOST
