"""`levelbench run` holds no rows: what it writes, piece by piece, are the bytes of a run that was held whole."""

import importlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from levelbench.project import load, sample, units
from levelbench.records import journal_path, read_actions, write_csv
from levelbench.rig import Recording, RigError, assemble, run, status_word

Told = Callable[..., tuple[int, Any]]
SECONDS = 2700.0  # 27 000 scans: more than are run between two looks at progress
DO = ("60 s: set point 3.1 gal", "20 min: stop", "21 min: reset")


def held(every: int) -> Recording:
    rig = assemble(load(sample("seedling_house")))
    return run(rig, SECONDS, actions=read_actions(DO, rig, SECONDS), seed=3, every=every)


@pytest.mark.parametrize(("every", "step"), [(1, "0.1 s"), (7, "0.7 s"), (30_000, "50 min")])
def test_a_run_in_pieces_is_the_run_that_was_held(
    told: Told, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, every: int, step: str
) -> None:
    """The command runs on where no more than ten rows may be held."""
    made = held(every)
    write_csv(made, tmp_path / "held.csv", units(made.rig.project))
    monkeypatch.setattr(importlib.import_module("levelbench.rig.run"), "_MOST_ROWS", 10)
    if len(made) > 10:
        with pytest.raises(RigError, match="would keep"):
            held(every)
    do = [word for one in DO for word in ("--do", one)]
    words = ("run", sample("seedling_house"), "--for", "45 min", "--every", step, "--seed", "3", *do)
    code, document = told(*words, "--to", tmp_path / "run.csv")
    assert code == 0
    for of in (Path, journal_path):
        assert of(tmp_path / "run.csv").read_bytes() == of(tmp_path / "held.csv").read_bytes()
    assert told(*words)[1] == document | {"files": []}
    assert (document["rows"], document["seed"]) == (len(made), 3)
    assert document["end"]["output"]["value"] == pytest.approx(100 * made["output"][-1])
    assert document["end"]["time"]["value"] == made["time"][-1]
    assert document["status"] == status_word(int(made["conditions"][-1]))
    assert [(one["time"], one["what"], one["si"]) for one in document["journal"]] == [
        (one.time, one.what, one.value) for one in made.journal
    ]
    assert len(made.journal) > 4


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """The place of a recording where an old one stands with its journal."""
    path = tmp_path / "run.csv"
    path.write_text("old rows")
    journal_path(path).write_text("old journal")
    return path


def assert_old(path: Path) -> None:
    assert sorted(one.name for one in path.parent.iterdir()) == ["run.csv", "run.journal.csv"]
    assert (path.read_text(), journal_path(path).read_text()) == ("old rows", "old journal")


def run_for_long(to: Path, begin: str) -> "subprocess.Popen[str]":
    """Start the command in a process of its own, after some words of Python."""
    code = f"import sys\n{begin}\nfrom levelbench.cli.main import main\nsys.exit(main())"
    words = ("run", sample("seedling_house"), "--for", "300 d", "--to", to)
    return subprocess.Popen([sys.executable, "-c", code, *map(str, words)], stderr=subprocess.PIPE, text=True)


@pytest.mark.skipif(os.name != "posix", reason="a console interrupt is another thing elsewhere")
def test_an_interrupt_leaves_the_old_files(old: Path) -> None:
    hears_it = "import signal\nsignal.signal(signal.SIGINT, signal.default_int_handler)"  # also as a background job
    with run_for_long(old, hears_it) as process:
        end = time.monotonic() + 100
        while not any(one.stat().st_size > 5_000_000 for one in old.parent.glob(".levelbench-*.part")):
            assert process.poll() is None
            assert time.monotonic() < end
            time.sleep(0.01)
        process.send_signal(signal.SIGINT)
        _, said = process.communicate(timeout=60)
    assert (process.returncode, said) == (130, "interrupted\n")
    assert_old(old)


@pytest.mark.skipif(os.name != "posix", reason="the largest size of a file stands for a full disk")
def test_a_full_disk_in_the_middle_leaves_the_old_files(old: Path) -> None:
    with run_for_long(old, "import resource\nresource.setrlimit(resource.RLIMIT_FSIZE, (3_000_000,) * 2)") as process:
        _, said = process.communicate(timeout=100)
    assert process.returncode == 2
    assert said == (
        f"levelbench: {old} was not saved: the disk is full. What stood there before is untouched. "
        "Make room, or save to another disk.\n"
    )
    assert_old(old)
