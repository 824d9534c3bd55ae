"""The operator station: a second screen for the person who runs the rig."""
