"""Recordings outside the program: CSV out and in, the journal beside it, and actions in words.

May import: `levelbench.rig` and what lies below it.
"""

from levelbench.records.actions import read_action, read_actions
from levelbench.records.csv import journal_path, read_csv, write_csv
from levelbench.records.errors import ActionError, RecordError
from levelbench.records.table import Line, Table, table_of

__all__ = [
    "ActionError",
    "Line",
    "RecordError",
    "Table",
    "journal_path",
    "read_action",
    "read_actions",
    "read_csv",
    "table_of",
    "write_csv",
]
