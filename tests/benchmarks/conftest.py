"""Benchmarks paint off screen, as the other tests of the window do."""

import os

os.environ["QT_QPA_PLATFORM"] = "offscreen"
