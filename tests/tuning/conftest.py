"""The samples' rigs."""

import pytest

from levelbench.project import load, sample
from levelbench.rig.assemble import Rig, assemble


@pytest.fixture(scope="session")
def seedling() -> Rig:
    return assemble(load(sample("seedling_house")))


@pytest.fixture(scope="session")
def washer() -> Rig:
    return assemble(load(sample("parts_washer")))
