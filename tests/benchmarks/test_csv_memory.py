"""How much memory it takes to write a long run as CSV, in a process of its own.

The rows of a day at 10 Hz alone are 864 000 × 15 columns × 8 bytes = 104 MB, of a week 726 MB; they are run and written
piece by piece.
"""

import subprocess
import sys

import pytest

pytestmark = [pytest.mark.benchmark, pytest.mark.timeout(600)]

MOST = 20  # MB more than a shorter run takes
FROM_THE_TREND = """
from levelbench.gui.trend.copy import _write_values
from levelbench.project import load, sample
from levelbench.rig import Past, assemble

class Quiet:
    def report(self, share, words):
        return True

past = Past(assemble(load(sample("seedling_house"))), 0, 1, 864_000, ())

def write(seconds):
    _write_values(past, (0.0, seconds), Path(target), Quiet())
"""
BY_THE_COMMAND = """
from levelbench.cli.main import main
from levelbench.project import sample

def write(seconds):
    assert main(["run", str(sample("seedling_house")), "--for", f"{seconds} s", "--to", target]) == 0
"""
MEASURE = """
import resource
from pathlib import Path

def most():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024

write(short)
before = most()
write(long)
print("measured", most() - before, sum(1 for _ in Path(target).open()))
"""
DAY = 86_400.0


@pytest.mark.parametrize(
    ("write", "short", "long", "lines"),
    [
        pytest.param(FROM_THE_TREND, 60.0, 2 * DAY, 864_002, id="a day from the trend"),
        pytest.param(BY_THE_COMMAND, DAY, 7 * DAY, 6_048_002, id="a week by the command"),
    ],
)
def test_a_long_run_is_written_in_little_memory(
    tmp_path_factory: pytest.TempPathFactory, write: str, short: float, long: float, lines: int
) -> None:
    target = tmp_path_factory.mktemp("long") / "long.csv"
    code = f"from pathlib import Path\ntarget, short, long = {str(target)!r}, {short}, {long}\n{write}\n{MEASURE}"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    more, found = (float(one) for one in done.stdout.split()[-2:])
    size = target.stat().st_size / 1e6
    target.unlink()
    print(f"\n{size:.0f} MB took {more:.1f} MB more than {short:.0f} s of it")
    assert found == lines
    assert more < MOST
