"""The frame that all verbs share: help, exit codes, errors in words, pipes, screens, progress."""

import os
import pty
import select
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from levelbench.cli import main as frame
from levelbench.cli import progress as bar
from levelbench.cli import screen
from levelbench.cli.first import tell_if_first
from levelbench.cli.output import print_json
from levelbench.project import load, sample
from levelbench.quantity import LevelBenchError
from levelbench.rig import assemble, run
from levelbench.rig.warm import is_compiled

Said = tuple[int, str, str]
VERBS = ("open", "check", "run", "sheet", "hand-over", "samples")


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_has_help_and_json(said: Callable[..., Said], verb: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        said(verb, "--help")
    assert left.value.code == 0
    assert "--json" in capsys.readouterr().out


def test_without_verb_and_screen_the_help_is_printed(
    levelbench: Callable[..., "subprocess.CompletedProcess[str]"],
) -> None:
    done = levelbench()
    assert done.returncode == 0
    assert all(verb in done.stdout for verb in VERBS)
    assert "licensed person" in done.stdout
    assert done.stderr == ""


def test_an_unknown_verb_is_refused(levelbench: Callable[..., "subprocess.CompletedProcess[str]"]) -> None:
    done = levelbench("chekc")
    assert done.returncode == 2
    assert "chekc" in done.stderr
    assert "Traceback" not in done.stderr


def test_open_without_a_screen_says_so(said: Callable[..., Said], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    code, out, err = said("open")
    assert (code, out) == (2, "")
    assert "There is no screen" in err


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="elsewhere there is always a screen")
@pytest.mark.parametrize(
    ("settings", "says"),
    [
        ({}, "neither DISPLAY nor WAYLAND_DISPLAY"),
        ({"QT_QPA_PLATFORM": "offscreen:size=9x9"}, "asks for no screen"),
        ({"QT_QPA_PLATFORM": "xcb", "DISPLAY": ":987"}, "could not"),
    ],
)
def test_a_screen_that_is_none_is_seen(monkeypatch: pytest.MonkeyPatch, settings: dict[str, str], says: str) -> None:
    for name in ("QT_QPA_PLATFORM", "DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    for name, value in settings.items():
        monkeypatch.setenv(name, value)
    assert says in screen.why_no_screen().lower() or says in screen.why_no_screen()


def test_a_screen_that_answers_is_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(screen, "_NO_SCREEN", ())
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    assert screen.why_no_screen() == ""


@pytest.mark.parametrize(
    ("raised", "code", "says"),
    [
        (LevelBenchError("The tank leaks. Mend it."), 2, "levelbench: The tank leaks. Mend it."),
        (FileNotFoundError(2, "No such file or directory", "tank.toml"), 2, "levelbench: tank.toml: No such file"),
        (OSError(28, "No space left on device"), 2, "levelbench: while writing: No space left"),
        (KeyboardInterrupt(), 130, "interrupted"),
        (BrokenPipeError(), 0, ""),
    ],
)
def test_every_end_has_its_code(
    said: Callable[..., Said], monkeypatch: pytest.MonkeyPatch, raised: BaseException, code: int, says: str
) -> None:
    def fail(_words: object) -> int:
        raise raised

    monkeypatch.setattr(frame, "_do", fail)
    monkeypatch.setattr(frame, "drop_output", lambda: None)
    found, _, err = said("samples")
    assert found == code
    assert says in err
    assert err.count("\n") == (1 if says else 0)


def test_numbers_that_json_has_no_word_for_become_null(capsys: pytest.CaptureFixture[str]) -> None:
    print_json({"a": float("inf"), "b": [float("nan"), 1.5, "µ"]})
    assert capsys.readouterr().out == '{\n  "a": null,\n  "b": [\n    null,\n    1.5,\n    "µ"\n  ]\n}\n'


def test_no_bar_in_a_pipe(capsys: pytest.CaptureFixture[str]) -> None:
    with bar.progress("running") as show:
        assert show is None
    bar.tell("hello")
    assert capsys.readouterr().err == ""


def test_a_bar_on_a_terminal_moves_and_is_wiped_away() -> None:
    steps = "with progress('running') as show:\n    show(0.0); show(0.5); show(1.0)\n"
    code = f"from levelbench.cli.progress import progress\n{steps}"
    seen = on_terminal([sys.executable, "-c", code])
    assert f"running [{'.' * 30}]   0 %" in seen
    assert "[###############...............]  50 %" in seen
    assert "100 %" in seen
    wiped = seen.rpartition("%\r")[2]
    assert wiped.endswith("\r")
    assert wiped.strip() == ""
    assert len(wiped) > len("running [##############################] 100 %")


def on_terminal(command: list[str], press: tuple[str, int] | None = None, **more: object) -> str:
    """Run a command whose errors go to a terminal, and give what that showed; send a signal once a text is seen."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(command, stderr=theirs, stdout=subprocess.DEVNULL, **more)  # type: ignore[call-overload]
    os.close(theirs)
    seen = b""
    while True:
        ready, _, _ = select.select([ours], [], [], 60)
        try:
            part = os.read(ours, 4096) if ready else b""
        except OSError:  # how Linux says that the other end was closed
            part = b""
        if not part:
            break
        seen += part
        if press and press[0].encode() in seen:
            process.send_signal(press[1])
            press = None
    os.close(ours)
    process.wait(60)
    return seen.decode()


def test_an_interrupt_ends_with_130() -> None:
    code = (
        "import signal, sys, time\nfrom levelbench.cli import main as frame\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"  # a shell's background job starts without it
        "def wait(words):\n    print('waiting', file=sys.stderr, flush=True)\n    time.sleep(60)\n"
        "frame._do = wait\nprint(frame.main([]), file=sys.stderr)\n"
    )
    seen = on_terminal([sys.executable, "-c", code], press=("waiting\r\n", signal.SIGINT))
    assert seen.split() == ["waiting", "interrupted", "130"]


def test_the_first_run_on_a_machine_is_announced_to_who_watches(tmp_path: Path) -> None:
    code = "from levelbench.cli.first import tell_if_first; tell_if_first()"
    fresh = on_terminal([sys.executable, "-c", code], env={**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)})
    assert fresh.strip() == "preparing the bench, once on this machine …"


def test_later_runs_are_not_announced(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    run(assemble(load(sample("seedling_house"))), 1.0)
    assert is_compiled()
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    tell_if_first()
    assert capsys.readouterr().err == ""
