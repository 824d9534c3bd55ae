"""The physics, the sensor, the controller and the interlocks as one compiled scan, and the runs made of it.

May import: numpy, numba, and `levelbench.project` only where a Project is assembled into a Rig.
"""

from levelbench.rig.assemble import Rig, assemble
from levelbench.rig.errors import Cancelled, RigError
from levelbench.rig.panel import CONDITION_NAMES, ENTRIES, has, status_word
from levelbench.rig.recording import Action, Entry, Recording
from levelbench.rig.run import Chunk, Past, Session, planned, run
from levelbench.rig.strapping import Strapping, strap

__all__ = [
    "CONDITION_NAMES",
    "ENTRIES",
    "Action",
    "Cancelled",
    "Chunk",
    "Entry",
    "Past",
    "Recording",
    "Rig",
    "RigError",
    "Session",
    "Strapping",
    "assemble",
    "has",
    "planned",
    "run",
    "status_word",
    "strap",
]
