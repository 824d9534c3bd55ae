"""The live run: the bench with its clock, its bar, and what the rest of the window sees of it."""
