"""The sheet as pages on the screen, and the whole hand-over."""
