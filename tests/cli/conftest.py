"""The command as a person runs it: a process of its own, or the same words within this one."""

import json
import os
import subprocess
import sysconfig
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from levelbench.cli.main import main

COMMAND = str(Path(sysconfig.get_path("scripts")) / "levelbench")
Done = subprocess.CompletedProcess[str]


def without_screen() -> dict[str, str]:
    """The environment of a machine without a screen."""
    kept = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY")}
    return kept | {"QT_QPA_PLATFORM": "offscreen"}


@pytest.fixture
def levelbench(tmp_path: Path) -> Callable[..., Done]:
    """Run the command in an empty folder, with its outputs in pipes."""

    def start(*words: str | Path, **more: Any) -> Done:
        settings = {"cwd": tmp_path, "env": without_screen(), "text": True, "timeout": 100}
        if "stdout" not in more:
            settings["stdout"] = subprocess.PIPE
        return subprocess.run([COMMAND, *map(str, words)], check=False, stderr=subprocess.PIPE, **(settings | more))

    return start


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Say words to the command within this process: exit code, output, errors."""

    def say(*words: str | Path) -> tuple[int, str, str]:
        capsys.readouterr()
        code = main([str(word) for word in words])
        heard = capsys.readouterr()
        return code, heard.out, heard.err

    return say


@pytest.fixture
def told(said: Callable[..., tuple[int, str, str]]) -> Callable[..., Any]:
    """Say words with --json, and give the document and the exit code."""

    def tell(*words: str | Path) -> tuple[int, Any]:
        code, out, _ = said(*words, "--json")
        return code, json.loads(out)

    return tell
