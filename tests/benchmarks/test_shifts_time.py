"""A thousand shifts of eight hours: how long they take on two cores, that the cost is linear, and memory."""

import os
import subprocess
import sys
import time

import pytest

from levelbench.alarms.proof import prove
from levelbench.alarms.shifts import Use
from levelbench.project import load, sample
from levelbench.rig import Rig, assemble

pytestmark = [pytest.mark.benchmark, pytest.mark.timeout(900)]
MOST = 120.0  # s on the wall, on two cores that do nothing else
_MEMORY = """
import os, sys
from levelbench.alarms.proof import prove
from levelbench.alarms.shifts import Use
from levelbench.project import load, sample
from levelbench.rig import assemble
rig, use = assemble(load(sample("seedling_house"))), Use(lasts=3600.0)
def resident():
    with open("/proc/self/statm") as file:
        return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6
prove(rig, shifts=20, use=use)
for shifts in (100, 400):
    prove(rig, shifts=shifts, use=use)
    print(resident())
"""


@pytest.fixture(scope="module")
def rig() -> Rig:
    rig = assemble(load(sample("seedling_house")))
    assert rig.scan == pytest.approx(0.1)
    prove(rig, shifts=2, use=Use(lasts=600.0))  # fills the compile cache
    return rig


def test_a_thousand_shifts_take_at_most_two_minutes(rig: Rig) -> None:
    """On the wall where nobody else had the machine; else half of the processors' time, which two cores would share."""
    idle = os.getloadavg()[0] < 1.0
    begin, spent = time.perf_counter(), time.process_time()
    found = prove(rig, shifts=1000)
    wall, spent = time.perf_counter() - begin, time.process_time() - spent
    scan = 1e6 * spent / (found.shifts * found.users.total / rig.scan)
    print(
        f"\n1000 shifts: {wall:.1f} s on the wall, {spent:.1f} s of the processors, {scan:.2f} us a scan, idle: {idle}"
    )
    assert (wall if idle else spent / 2) <= MOST


def test_four_times_the_shifts_take_four_times_as_long(rig: Rig) -> None:
    """Time of the processors, the best of three in turns: what else the machine does then falls on both alike."""
    best = {20: float("inf"), 80: float("inf")}
    for _ in range(3):
        for shifts, least in best.items():
            begin = time.process_time()
            prove(rig, shifts=shifts, use=Use(lasts=2 * 3600.0))
            best[shifts] = min(least, time.process_time() - begin)
    ratio = best[80] / best[20]
    print(f"\n80 shifts take {ratio:.2f} times as long as 20")
    assert 3.4 <= ratio <= 4.6


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="resident memory is read from /proc")
def test_memory_does_not_grow_with_the_shifts() -> None:
    done = subprocess.run([sys.executable, "-c", _MEMORY], capture_output=True, text=True, check=True, timeout=800)
    few, many = (float(line) for line in done.stdout.split())
    print(f"\n{few:.0f} MB after 100 shifts, {many:.0f} MB after 400")
    assert many - few <= 8.0  # a shift leaves some 4 kB of counts
