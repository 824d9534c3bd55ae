"""Records: a recording as CSV out and in with its journal, actions in words, and measured records from anywhere.

May import: `levelbench.rig` and what lies below it.
"""

from levelbench.records.actions import read_action, read_actions
from levelbench.records.any_csv import Guess, look, read_measured
from levelbench.records.column_words import as_lines, as_text, read_columns
from levelbench.records.columns import Columns, Pick, Scale, TimePick
from levelbench.records.csv import journal_path, read_csv, write_csv
from levelbench.records.errors import ActionError, RecordError
from levelbench.records.measured import Measured, Regular, from_recording
from levelbench.records.table import Line, Table, table_of

__all__ = [
    "ActionError",
    "Columns",
    "Guess",
    "Line",
    "Measured",
    "Pick",
    "RecordError",
    "Regular",
    "Scale",
    "Table",
    "TimePick",
    "as_lines",
    "as_text",
    "from_recording",
    "journal_path",
    "look",
    "read_action",
    "read_actions",
    "read_columns",
    "read_csv",
    "read_measured",
    "table_of",
    "write_csv",
]
