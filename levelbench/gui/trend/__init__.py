"""The live trend: pens, panes, flags, any span of the run, copies."""
