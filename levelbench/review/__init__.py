"""Design rules that turn a rig into Findings, and the ladder of levels that they all share."""
