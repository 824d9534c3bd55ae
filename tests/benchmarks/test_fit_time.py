"""How long a fit of a day takes: 86 400 samples of a closed loop, one a second."""

import time

import numpy as np
import pytest
from scipy.signal import lfilter

from levelbench.records.measured import Measured
from levelbench.tuning.identify.simple import fit

pytestmark = pytest.mark.benchmark
MOST = 5.0  # s of the processor


@pytest.mark.parametrize("model", ["integrating", "first-order"])
def test_a_day_is_fitted_in_five_seconds(model: str) -> None:
    rng = np.random.default_rng(0)
    day = np.arange(86_400.0)
    output = 0.3 + 0.1 * np.sign(np.sin(2 * np.pi * day / 3000)) + lfilter([1], [1, -0.9], rng.normal(0, 0.01, 86_400))
    late = np.concatenate((np.full(4, output[0]), output[:-4]))
    if model == "integrating":
        pv = np.concatenate(([0.0], np.cumsum(0.02 * (late[:-1] - 0.3))))
    else:
        keeps = np.exp(-1 / 300.0)
        pv = lfilter([0, 5.0 * (1 - keeps)], [1, -keeps], late)
    pv = pv + lfilter([1], [1, -0.7], rng.normal(0, 0.01, 86_400))
    record = Measured(day, pv, output, None, None, "V", None, "a day")
    begin, wall = time.process_time(), time.perf_counter()
    found = fit(record, model)
    took = time.process_time() - begin
    print(f"{model}: {took:.2f} s of the processor, {time.perf_counter() - wall:.2f} s on the wall")
    assert all(one.told_apart for one in found.estimates)
    assert took < MOST
