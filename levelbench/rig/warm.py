"""Fills the compile cache: run as `python -m levelbench.rig.warm` in a child process, so that no window waits."""

from pathlib import Path

import numpy as np

from levelbench.project import load, samples
from levelbench.rig import assemble, kernel, plant, run, watching


def is_compiled() -> bool:
    """Tell whether the cache holds the scan as its source is now, or the compiler is switched off."""
    entry = kernel.run_scans
    stats = getattr(entry, "stats", None)
    if stats is None:
        return True
    line = entry.py_func.__code__.co_firstlineno  # type: ignore[attr-defined]
    kept = Path(stats.cache_path).glob(f"kernel.run_scans-{line}.py*.nbi")
    return any(one.stat().st_mtime >= Path(kernel.__file__).stat().st_mtime for one in kept)


def main() -> None:
    """Run a sample for a moment, which compiles whatever is not in the cache yet."""
    rig = assemble(load(samples()[0]))
    run(rig, 10 * rig.scan)
    still = np.zeros(2)
    pump = plant.Pump(1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    tank = plant.Tank(0.0, 0.0, 0.0, 0.5, 0.0, 0.0, 1.0, False)
    made = plant.Plant(pump, plant.NO_LIFT, plant.NO_UPPER, tank, plant.Sensor(1.0, 0.0, 0.0, 1.0, 0.0, 0.0))
    record = plant.Record(np.arange(2.0), still, still, np.zeros((1, 3)), 1.0)
    plant.simulate(made, plant.NO_TABLES, record, still.copy())
    begins = np.zeros(1, np.int64)
    watching.resting(still, 1.0, 0.0, (1, 1))
    watching.states(still, 1.0, 0.0, (1, 1))
    watching.crossings(still, begins, (-1.0, 1.0, 2), 0.0, (1, 1))
    watching.passages(still, begins, (-1.0, 1.0, 2), 1)
    watching.expected(still, still, (1, 1))


if __name__ == "__main__":
    main()
