"""Search: the settings that are fastest for this rig, calm enough, and keep what was asked all over an uncertain box.

May import what `tuning` may; runs go through `rig.ensemble`.
"""

from levelbench.tuning.search.box import Box, Limits, Range, box_from_record, default_box, default_limits
from levelbench.tuning.search.found import Candidate, Found
from levelbench.tuning.search.search import search

__all__ = ["Box", "Candidate", "Found", "Limits", "Range", "box_from_record", "default_box", "default_limits", "search"]
