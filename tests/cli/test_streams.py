"""The output on systems of another kind: letters of a country, closed pipes, terminals that know no control codes."""

import errno
import io
import json
import os
import subprocess
import sys
from collections.abc import Callable

import pytest

from levelbench.cli import progress as bar
from levelbench.cli.streams import is_closed_pipe, open_up
from levelbench.project import systems


class Terminal(io.TextIOWrapper):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("windows", "kind", "written"),
    [
        (False, io.TextIOWrapper, "? 4.30 – ?C".encode("cp1252")),
        (True, io.TextIOWrapper, "■ 4.30 – ℃".encode()),
        (True, Terminal, "? 4.30 – ?C".encode("cp1252")),
    ],
)
def test_marks_and_signs_never_end_the_program(
    windows: bool, kind: type[io.TextIOWrapper], written: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(systems, "WINDOWS", windows)
    held = io.BytesIO()
    stream = kind(held, encoding="cp1252")
    with pytest.raises(UnicodeEncodeError):
        stream.write("■")
    open_up(stream)
    stream.write("■ 4.30 – ℃")
    stream.flush()
    assert held.getvalue() == written.replace(b"?C", b"?")


def test_a_stream_that_takes_everything_is_left_as_it_is() -> None:
    stream = io.TextIOWrapper(io.BytesIO(), encoding="ascii", errors="backslashreplace")
    open_up(stream)
    assert (stream.encoding, stream.errors) == ("ascii", "backslashreplace")
    open_up(io.StringIO())


def test_a_verb_ends_in_order_where_only_plain_letters_can_be_shown(
    levelbench: Callable[..., "subprocess.CompletedProcess[str]"], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PYTHONIOENCODING", "ascii")
    done = levelbench("check", "tank ■.toml", "--json")
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "There is no file tank ?.toml" in json.loads(done.stdout)["problems"][0]["message"]


def test_a_closed_pipe_is_told_from_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    closed, named = OSError(errno.EINVAL, "Invalid argument"), OSError(errno.EINVAL, "Invalid argument", "a?.csv")
    assert is_closed_pipe(BrokenPipeError())
    assert not is_closed_pipe(closed)
    monkeypatch.setattr(systems, "WINDOWS", True)
    assert is_closed_pipe(closed)
    assert not is_closed_pipe(named)
    assert not is_closed_pipe(OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)))


def test_the_progress_bar_goes_without_control_codes(monkeypatch: pytest.MonkeyPatch) -> None:
    held = io.BytesIO()
    terminal = Terminal(held, encoding="utf-8")
    monkeypatch.setattr(sys, "stderr", terminal)
    with bar.progress("running") as show:
        assert show is not None
        show(1.0)
    terminal.flush()
    said = held.getvalue().decode()
    assert "\033" not in said
    shown, wiped = said.split("\r")[1], said.split("\r")[2]
    assert wiped.strip() == ""
    assert len(wiped) >= len(shown)
