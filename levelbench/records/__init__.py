"""Records: a recording as CSV out and in with its journal, actions in words, and measured records from anywhere.

May import: `levelbench.rig` and what lies below it.
"""

from levelbench.records.actions import read_action, read_actions
from levelbench.records.csv import journal_path, read_csv, write_csv
from levelbench.records.errors import ActionError, RecordError
from levelbench.records.measured import Measured, Regular, from_recording
from levelbench.records.table import Line, Table, table_of

__all__ = [
    "ActionError",
    "Line",
    "Measured",
    "RecordError",
    "Regular",
    "Table",
    "from_recording",
    "journal_path",
    "read_action",
    "read_actions",
    "read_csv",
    "table_of",
    "write_csv",
]
