"""Each sample in turn."""

import pytest
from handover_samples import SAMPLES, Made, made


@pytest.fixture(params=SAMPLES)
def one(request: pytest.FixtureRequest) -> Made:
    """A sample with its sheet."""
    return made(request.param)
