"""Compiles scan.c and runs it on a rig, row for row as the program's own scan does."""

import ctypes
import shutil
import subprocess
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from levelbench.project.records import LAMP_ANSWERS, LAMP_COLOURS, LAMP_MODES, LAMP_STATES
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig

COMPILER = shutil.which("cc") or shutil.which("gcc")
_PARAMS = 70


class _CRig(ctypes.Structure):
    _fields_ = [
        ("p", ctypes.c_void_p),
        ("volumes", ctypes.c_void_p),
        ("rows", ctypes.c_int64),
        ("lamps", ctypes.c_void_p),
        ("real", ctypes.c_void_p),
        ("whole", ctypes.c_void_p),
        ("ring", ctypes.c_void_p),
        ("panel", ctypes.c_void_p),
    ]


def build(folder: Path) -> ctypes.CDLL:
    """Compile scan.c at -O3 into a folder and load it."""
    assert COMPILER is not None
    made = folder / "scan.so"
    source = Path(__file__).with_name("scan.c")
    subprocess.run([COMPILER, "-O3", "-shared", "-fPIC", "-o", str(made), str(source), "-lm"], check=True)
    return ctypes.CDLL(str(made))


def _lamps(rig: Rig) -> NDArray[np.int64]:
    """Give the lamps' table of a rig: a row a state; red, yellow, green, blue, horn, steady once acknowledged."""
    table = np.zeros((len(LAMP_STATES), 6), dtype=np.int64)
    for row in rig.project.stack_light:
        modes = [LAMP_MODES.index(getattr(row, colour)) for colour in LAMP_COLOURS]
        table[LAMP_STATES.index(row.state)] = [*modes, int(row.horn), LAMP_ANSWERS.index(row.acknowledged)]
    return table


class CScan:
    """A rig with a state of its own that the C scan runs."""

    def __init__(self, library: ctypes.CDLL, rig: Rig) -> None:
        p = rig.params
        flat = [p.tables.step, *p.tank, *p.reservoir, *p.pump, *p.drain, *p.sensor, *p.switch, *p.control]
        assert len(flat) == _PARAMS
        self._library = library
        self._flat = np.array(flat, dtype=np.float64)
        self._tables = p.tables
        self._state = np.zeros(1, kernel.STATE)
        self._state[0] = rig.start()
        self._events = np.zeros((4096, 3), dtype=np.int64)
        at = {name: self._state.ctypes.data + place[1] for name, place in (kernel.STATE.fields or {}).items()}
        self._lamps = _lamps(rig)
        volumes, lamps = p.tables.volumes.ctypes.data, self._lamps.ctypes.data
        flat_at = self._flat.ctypes.data
        self._c = _CRig(flat_at, volumes, kernel.ROWS, lamps, at["tank"], at["scan"], at["ring"], at["panel"])

    def set_entry(self, entry: int, value: float) -> None:
        """Set an entry of the panel."""
        self._state["panel"][0, entry] = value

    def run(self, rows: NDArray[np.float64], seed: int) -> None:
        """Run as many scans as there are rows [scans, columns], and fill them."""
        self._library.run_scans(
            ctypes.byref(self._c),
            ctypes.c_int64(len(rows)),
            ctypes.c_int64(seed),
            ctypes.c_void_p(rows.ctypes.data),
            ctypes.c_void_p(self._events.ctypes.data),
            ctypes.c_int64(len(self._events)),
        )
