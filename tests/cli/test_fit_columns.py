"""`levelbench fit`: how the record's columns are said, asked and overruled."""

import json
from pathlib import Path

import pytest

from levelbench.cli.main import main

TWO_TANKS = Path(__file__).parents[1] / "data" / "two_tanks_record.csv"


def test_columns_are_said_with_reasons_and_what_is_in_doubt_is_asked(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fit", str(TWO_TANKS), "--model", "first-order"]) == 0
    said = capsys.readouterr().out
    assert "PV         column 3 “level signal [V]”, V (its name has “level”; “V” stands with it)" in said
    assert "▲ Column 2 “pump drive [V]”: how many V are 0 % and 100 %" in said
    assert "--columns “time=1 [s]; pv=3 [V]; output=2 [V]; set point=none; draw=none”" in said


def test_columns_can_be_overruled(capsys: pytest.CaptureFixture[str]) -> None:
    words = "output=pump drive [V 0..5]; time=1 [min]"
    assert main(["fit", str(TWO_TANKS), "--model", "first-order", "--columns", words, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["columns"].startswith("time=1 [min]; pv=3 [V]; output=2 [V 0..5 is 0 %..100 %]")
    assert told["questions"] == []
    assert told["step"] == 240.0


@pytest.mark.parametrize(
    ("words", "says"), [("pv=level", "The nearest is “level signal”"), ("speed=2", "That names no column")]
)
def test_words_that_can_not_be_used_end_with_2(capsys: pytest.CaptureFixture[str], words: str, says: str) -> None:
    assert main(["fit", str(TWO_TANKS), "--columns", words]) == 2
    assert says in capsys.readouterr().err
