"""Every verb from end to end: what it prints and writes, its JSON, its exit codes, and what it refuses in words."""

import json
import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from levelbench.cli import hand_over, main, window
from levelbench.gui import app
from levelbench.project import sample
from levelbench.records import read_csv

Said = Callable[..., tuple[int, str, str]]
Told = Callable[..., tuple[int, Any]]
Ran = Callable[..., "subprocess.CompletedProcess[str]"]
SAMPLES = ("seedling_house", "parts_washer")
NUMBER = {"value", "unit", "source"}


@pytest.fixture
def seedling() -> Path:
    return sample("seedling_house")


@pytest.fixture
def broken(tmp_path: Path, seedling: Path) -> Path:
    """A project file with a misspelt key, a unit of the wrong kind and a bare number."""
    text = seedling.read_text()
    for good, bad in (
        ('diameter = "', 'diametre = "'),
        ('spin_up = "', 'spin_up = "1 in" # "'),
        ('scan = "', 'scan = "7" # "'),
    ):
        assert good in text
        text = text.replace(good, bad, 1)
    (tmp_path / "broken.toml").write_text(text)
    return tmp_path / "broken.toml"


# check ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_check_prints_every_finding(said: Said, told: Told, name: str) -> None:
    code, out, err = said("check", sample(name))
    told_code, document = told("check", sample(name))
    assert code == told_code
    assert code == (1 if any(one["severity"] == "stop" for one in document["findings"]) else 0)
    assert err == ""
    assert len(document["findings"]) >= 10
    counted = sum(one["severity"] == "attend" for one in document["findings"])
    assert f"{counted} attend" in out.splitlines()[-1]
    for finding in document["findings"]:
        assert finding["title"] in out
        assert {"key", "title", "severity", "applies", "text", "change", "go_to", "figures"} == set(finding)
        assert finding["severity"] in ("stop", "attend", "good")
        for figure in finding["figures"]:
            assert {"key", "name", "formula", "inputs"} | NUMBER == set(figure)
            assert figure["source"]


def test_check_says_stop_with_exit_code_1(told: Told, said: Said, tmp_path: Path, seedling: Path) -> None:
    text = seedling.read_text().splitlines()
    at = next(number for number, line in enumerate(text) if line.startswith("trips_at"))
    text[at] = 'trips_at = "0.1 in"'  # a switch that trips far below the set point: the rig can't work
    (tmp_path / "bad.toml").write_text("\n".join(text))
    code, document = told("check", tmp_path / "bad.toml")
    assert code == 1
    assert any(one["severity"] == "stop" and one["change"] for one in document["findings"])
    assert "STOP" in said("check", tmp_path / "bad.toml")[1]


def test_a_broken_file_gives_all_its_problems_at_once(levelbench: Ran, broken: Path) -> None:
    lines = broken.read_text().splitlines()
    line = {
        key: 1 + next(at for at, text in enumerate(lines) if text.startswith(key))
        for key in ("diametre", "spin_up", "scan")
    }
    for verb in (("check",), ("run", "--for", "1 min"), ("sheet", "--to", "a.pdf"), ("hand-over", "--into", "out")):
        done = levelbench(verb[0], broken, *verb[1:])
        assert done.returncode == 2
        assert done.stdout == ""
        assert "Traceback" not in done.stderr
        for key, number in line.items():
            assert f"line {number}" in done.stderr
            assert key in done.stderr
        assert "diameter" in done.stderr  # the nearest name
        assert "1 in" in done.stderr


def test_a_broken_file_gives_its_problems_as_json(told: Told, broken: Path) -> None:
    code, document = told("check", broken)
    assert code == 2
    assert {"diametre", "spin_up", "scan"} == {one["key"].rpartition(".")[2] for one in document["problems"]}
    assert all(set(one) == {"line", "key", "found", "allowed", "nearest", "message"} for one in document["problems"])
    code, document = told("run", broken.parent / "none.toml", "--for", "1 s")
    assert (code, len(document["problems"])) == (2, 1)
    assert "There is no file" in document["error"]


@pytest.mark.parametrize("words", [("check", "none.toml"), ("run", "none.toml", "--for", "1 s"), ("check", ".")])
def test_a_file_that_is_not_there_is_named(levelbench: Ran, words: tuple[str, ...]) -> None:
    done = levelbench(*words)
    assert done.returncode == 2
    assert words[1] in done.stderr
    assert "Traceback" not in done.stderr


# run -----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_run_writes_a_recording_with_its_journal(said: Said, name: str, tmp_path: Path) -> None:
    code, out, _ = said(
        "run", sample(name), "--for", "2 min", "--seed", "3", "--do", "60 s: stop", "--to", tmp_path / "run.csv"
    )
    assert code == 0
    assert str(tmp_path / "run.csv") in out
    table = read_csv(tmp_path / "run.csv")
    assert table["time"][-1] == pytest.approx(120.0, abs=1.0)
    assert table.unit("pv") == {"seedling_house": "US gal", "parts_washer": "l"}[name]
    actions = [line for line in table.journal if line.kind == "action"]
    assert [(line.time, line.what, line.value) for line in actions] == [(pytest.approx(60.0, abs=0.5), "stop", 1.0)]
    stopped = table["stop pressed"] == 1
    assert not stopped[table["time"] < 59].any()
    assert stopped[table["time"] > 61].all()
    assert (table["pump running"][table["time"] > 62] == 0).all()


def test_equal_words_give_equal_files(said: Said, seedling: Path, tmp_path: Path) -> None:
    words = ("run", seedling, "--for", "1 min", "--do", "10 s: set point 3.1 gal", "--seed", "5", "--to")
    said(*words, tmp_path / "a.csv")
    said(*words, tmp_path / "b.csv")
    said(*words[:6], "--seed", "6", "--to", tmp_path / "c.csv")
    a, b, c = ((tmp_path / f"{name}.csv").read_bytes() for name in "abc")
    assert a == b
    assert a != c


def test_run_as_json(told: Told, seedling: Path, tmp_path: Path) -> None:
    code, document = told("run", seedling, "--for", "1 min", "--every", "1 s", "--to", tmp_path / "run.csv")
    assert code == 0
    assert document["rows"] == 60
    assert document["files"] == [str(tmp_path / "run.csv"), str(tmp_path / "run.journal.csv")]
    assert document["status"] in ("HIGH", "OK", "LOW")
    assert {"time", "set_point", "pv", "volume", "level", "output", "spilled", "signal"} <= set(document["end"])
    assert all(set(one) == NUMBER for one in document["end"].values())
    table = read_csv(tmp_path / "run.csv")
    assert document["end"]["pv"] == {
        "value": pytest.approx(table["pv"][-1]),
        "unit": "US gal",
        "source": "simulated, seed 0",
    }


def test_run_without_a_place_writes_nothing(
    said: Said, seedling: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    code, out, _ = said("run", seedling, "--for", "10 s")
    assert code == 0
    assert "PV" in out
    assert "US gal" in out
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--for", "30"), "The unit is missing"),
        (("--for", "0 s"), "above zero"),
        (("--for", "1 min", "--every", "5 in"), "--every"),
        (("--for", "1 min", "--do", "setpoint 3 gal"), "TIME: WHAT VALUE"),
        (("--for", "1 min", "--do", "5 s: setpoint 3 gal"), "“set point”"),
        (("--for", "1 min", "--json", "--to", "-"), "both write to the output"),
    ],
)
def test_run_refuses_in_words(said: Said, seedling: Path, words: tuple[str, ...], says: str) -> None:
    code, out, err = said("run", seedling, *words)
    assert (code, out) == (2, "")
    assert says in err


def test_the_recording_goes_down_a_pipe(levelbench: Ran, seedling: Path, tmp_path: Path) -> None:
    done = levelbench("run", seedling, "--for", "10 s", "--to", "-")
    assert done.returncode == 0
    assert done.stderr == ""
    (tmp_path / "piped.csv").write_text(done.stdout)
    assert len(read_csv(tmp_path / "piped.csv")) > 50


def test_a_pipe_that_closes_early_is_no_mistake(seedling: Path, levelbench: Ran) -> None:
    head = subprocess.Popen(["head", "-n", "1"], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    done = levelbench("run", seedling, "--for", "1 h", "--to", "-", stdout=head.stdin)
    assert head.stdin is not None
    head.stdin.close()
    assert head.stdout is not None
    assert head.stdout.read().startswith(b"time,set_point,pv")
    head.stdout.close()
    head.wait(30)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
@pytest.mark.parametrize("words", [("run", "--for", "1 min", "--to", "-"), ("check",), ("check", "--json")])
def test_a_full_disk_is_said_in_words(levelbench: Ran, seedling: Path, words: tuple[str, ...]) -> None:
    with Path("/dev/full").open("w") as full:
        done = levelbench(words[0], seedling, *words[1:], stdout=full)
    assert done.returncode == 2
    assert "No space left" in done.stderr
    assert "Traceback" not in done.stderr
    assert "Exception ignored" not in done.stderr


def test_a_folder_that_is_not_there_is_said_in_words(said: Said, seedling: Path, tmp_path: Path) -> None:
    code, _, err = said("run", seedling, "--for", "1 s", "--to", tmp_path / "none" / "run.csv")
    assert code == 2
    assert "run.csv" in err
    assert "there is no folder" in err


# samples ------------------------------------------------------------------------------------------------------------


def test_samples_are_listed(said: Said, told: Told) -> None:
    _, out, _ = said("samples")
    code, document = told("samples")
    assert code == 0
    assert {one["name"] for one in document["samples"]} >= set(SAMPLES)
    assert all(one["title"] in out and Path(one["file"]).is_file() for one in document["samples"])


def test_a_sample_is_copied_once(said: Said, told: Told, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert said("samples", "--copy", "seedling_house")[0] == 0
    assert Path("seedling_house.toml").read_text() == sample("seedling_house").read_text()
    code, _, err = said("samples", "--copy", "seedling_house")
    assert code == 2
    assert "there already" in err
    code, document = told("samples", "--copy", "parts_washer", "--to", "mine.toml")
    assert (code, document) == (0, {"sample": "parts_washer", "file": "mine.toml"})
    assert said("check", "mine.toml")[0] in (0, 1)


def test_samples_refuses_in_words(said: Said, tmp_path: Path) -> None:
    code, _, err = said("samples", "--copy", "seedlings", "--to", tmp_path / "a.toml")
    assert code == 2
    assert "seedling_house" in err
    code, _, err = said("samples", "--to", tmp_path / "a.toml")
    assert code == 2
    assert "--copy" in err


# sheet and hand-over -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_a_sheet_is_made_as_pdf_and_as_html(said: Said, told: Told, tmp_path: Path, name: str) -> None:
    code, document = told("sheet", sample(name), "--to", tmp_path / "sheet.pdf", "--paper", "Letter")
    assert code in (0, 1)
    assert document["file"] == str(tmp_path / "sheet.pdf")
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF-")
    assert said("sheet", sample(name), "--to", tmp_path / "sheet.html")[0] == code
    assert (tmp_path / "sheet.html").read_text().lower().startswith("<!doctype html>")


def test_a_sheet_has_the_decimal_mark_that_was_asked_for(said: Said, seedling: Path, tmp_path: Path) -> None:
    """What people typed stays; the section's drawing keeps the coordinates that programs read."""
    told = {}
    for words in ((), ("--decimal-mark", "comma")):
        assert said("sheet", seedling, "--to", tmp_path / "sheet.html", *words)[0] in (0, 1)
        told[words] = re.sub(r"<[^>]+>", " ", (tmp_path / "sheet.html").read_text())
    pointed, comma = told.values()
    for number in ("3.89", "48.1", "7.333", "82.86", "0.258 US gal/min"):
        assert number in pointed
        assert number not in comma
        assert number.replace(".", ",") in comma
    assert "2.00 US gal" in comma


@pytest.mark.parametrize("words", [("--to", "sheet.docx"), ("--to", "sheet.html", "--paper", "Letter")])
def test_sheet_refuses_in_words(said: Said, seedling: Path, words: tuple[str, ...]) -> None:
    code, out, err = said("sheet", seedling, *words)
    assert (code, out) == (2, "")
    assert words[-1] in err


@pytest.mark.parametrize("name", SAMPLES)
def test_the_whole_hand_over(levelbench: Ran, tmp_path: Path, name: str) -> None:
    done = levelbench("hand-over", sample(name), "--into", "hand_over", "--open", "--json")
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    files = [Path(one) for one in document["files"]]
    assert {one.suffix for one in files} >= {".pdf", ".html", ".csv"}
    assert all((tmp_path / one).stat().st_size > 0 for one in files)
    assert all({"key", "severity", "figures"} <= set(one) for one in document["findings"])
    assert "no screen" in done.stderr
    again = levelbench("hand-over", sample(name), "--into", "hand_over")
    assert again.returncode == 0
    assert all(str(one) in again.stdout for one in files)


# open ----------------------------------------------------------------------------------------------------------------


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[Path | None]:
    """What the window was opened on, where a screen is there and nobody wants to look at it."""
    seen: list[Path | None] = []

    def look(file: Path | None) -> int:
        seen.append(file)
        return 0

    for module in (window, hand_over):
        monkeypatch.setattr(module, "why_no_screen", lambda: "")
        monkeypatch.setattr(module, "open_window", look)
    monkeypatch.setattr(main, "why_no_screen", lambda: "")
    return seen


def test_open_opens_the_window_on_its_file(said: Said, told: Told, seedling: Path, opened: list[Path | None]) -> None:
    assert said("open", seedling) == (0, "", "")
    assert said("open") == (0, "", "")
    assert said() == (0, "", "")
    assert told("open", seedling) == (0, {"file": str(seedling), "exit_code": 0})
    assert opened == [seedling, None, None, seedling]


def test_a_hand_over_can_end_in_the_window(
    said: Said, seedling: Path, tmp_path: Path, opened: list[Path | None]
) -> None:
    assert said("hand-over", seedling, "--into", tmp_path / "out")[0] == 0
    assert opened == []
    assert said("hand-over", seedling, "--into", tmp_path / "out", "--open")[0] == 0
    assert opened == [seedling]


def test_the_one_door_to_the_window_leads_to_it(monkeypatch: pytest.MonkeyPatch, seedling: Path) -> None:
    monkeypatch.setattr(app, "open_window", lambda file: 7 if file == seedling else 1)
    assert window.open_window(seedling) == 7
