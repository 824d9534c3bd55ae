"""The alarm's logic on a series of values comes and goes in the very scans in which the compiled scan's own does."""

import numpy as np
import pytest

from levelbench.alarms.grid import samples_of
from levelbench.project import Value, edit_many, load, sample
from levelbench.rig import assemble, run, watching

SIGNS = {"high_high": 1, "high": 1, "low": -1, "low_low": -1}


@pytest.mark.parametrize("alarm", SIGNS)
@pytest.mark.parametrize(
    ("dead_band", "on", "off"),
    [("0 gal", "0 s", "0 s"), ("0.001 gal", "0.3 s", "0.4 s"), ("0.002 gal", "0.25 s", "1 s"), ("0 gal", "2 s", "0 s")],
)
def test_it_is_the_scans_own(alarm: str, dead_band: str, on: str, off: str) -> None:
    settings = {"dead_band": dead_band, "on_delay": on, "off_delay": off}
    changes: dict[str, Value] = {"bands": None, f"bands.{alarm}": {"limit": "3.00 gal", **settings}}
    rig = assemble(edit_many(load(sample("seedling_house")), changes))
    band = getattr(rig.project.bands, alarm)
    recording = run(rig, 600.0, seed=3)
    sign = SIGNS[alarm]
    counts = (samples_of(band.on_delay.si, rig.scan), samples_of(band.off_delay.si, rig.scan))
    seen = watching.states(sign * recording["pv"], sign * band.limit.si, band.dead_band.si, counts)
    stood = recording.condition(alarm.replace("_", "-"))
    assert np.diff(stood.astype(int)).clip(0).sum() > 3
    assert np.array_equal(seen.astype(bool), stood)
