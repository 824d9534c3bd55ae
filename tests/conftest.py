"""For every test: a compile cache of its own, since the cache does not notice edits in other modules."""

import os
import tempfile
from pathlib import Path

if "NUMBA_CACHE_DIR" not in os.environ:
    _folder = tempfile.TemporaryDirectory(prefix="levelbench-cache-")
    os.environ["NUMBA_CACHE_DIR"] = _folder.name
    assert Path(_folder.name).is_dir()
