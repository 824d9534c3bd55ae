"""Whether there is a screen to open a window on."""

import os
import subprocess
import sys

_NO_SCREEN = ("offscreen", "minimal")
_TRY = "from PySide6.QtGui import QGuiApplication; QGuiApplication([])"


def why_no_screen() -> str:
    """Say why no window can be opened here; empty when it can.

    Qt ends the process when it finds no screen, so on Linux a child process tries it first.
    """
    platform = os.environ.get("QT_QPA_PLATFORM", "")
    if platform.split(":")[0] in _NO_SCREEN:
        return f"QT_QPA_PLATFORM={platform} asks for no screen"
    if not sys.platform.startswith("linux"):
        return ""
    if not (platform or os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        return "neither DISPLAY nor WAYLAND_DISPLAY is set"
    try:
        tried = subprocess.run(
            [sys.executable, "-P", "-c", _TRY], capture_output=True, text=True, timeout=30, check=False
        )
    except subprocess.TimeoutExpired:
        return "the display server does not answer"
    if tried.returncode == 0:
        return ""
    reason = [line.strip() for line in tried.stderr.splitlines() if line.strip()]
    return reason[0] if reason else "the window system can't be started"
