"""The table of factors against the unit library that it was made from, unit by unit, to the last bit."""

import subprocess
import sys
import threading
from decimal import Decimal
from typing import Any

import pint
import pytest

from levelbench.project import samples
from levelbench.quantity import Dimension, factors, read
from levelbench.quantity import vocabulary as words

REGISTRY: Any = pint.UnitRegistry(non_int_type=Decimal)
RATIOS = [
    (dimension, f"{above.name}/{below.name}", f"({above.expression})/({below.expression})")
    for dimension, (tops, bottoms) in words.RATIOS.items()
    for above in tops
    for below in bottoms
]
PLAIN = [
    (dimension, one.name, one.expression)
    for dimension, units in words.SIMPLE.items()
    if dimension is not Dimension.TEMPERATURE
    for one in units
]


@pytest.mark.parametrize(("dimension", "unit", "expression"), [*PLAIN, *RATIOS])
def test_a_unit_is_worth_what_the_library_says(dimension: Dimension, unit: str, expression: str) -> None:
    library = REGISTRY.Quantity(Decimal(1), expression).to_base_units().magnitude
    assert read(f"1 {unit}", dimension).si == float(library)


@pytest.mark.parametrize("unit", words.SIMPLE[Dimension.TEMPERATURE], ids=lambda one: one.name)
def test_a_temperature_is_what_the_library_says(unit: words.Unit) -> None:
    for typed in (0, 20, 68, 100):
        library = REGISTRY.Quantity(Decimal(typed), unit.expression).to("kelvin").magnitude
        assert read(f"{typed} {unit.name}", Dimension.TEMPERATURE).si == pytest.approx(float(library), rel=3e-16)


def test_the_table_has_every_unit_of_the_vocabulary_and_no_other() -> None:
    pairs = [units for pair in words.RATIOS.values() for units in pair]
    named = {one.expression for units in (*words.SIMPLE.values(), *pairs) for one in units}
    assert named == set(factors.FACTORS) | set(factors.FIXED_POINTS)


def test_the_library_is_asked_for_what_the_table_does_not_have() -> None:
    assert read("1 yd", Dimension.LENGTH).si == 0.9144
    assert factors.factor("yard") == Decimal("0.9144")


def test_the_library_is_not_loaded_for_our_own_units() -> None:
    code = (
        "import sys\nfrom levelbench.project import load, samples\n"
        "[load(path) for path in samples()]\nsys.exit('pint' in sys.modules)"
    )
    assert len(samples()) > 1
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_threads_that_ask_at_once_share_one_library(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[object] = []
    real = pint.UnitRegistry

    def make(**how: object) -> Any:
        made.append(how)
        return real(**how)

    monkeypatch.setattr(pint, "UnitRegistry", make)
    factors._made.cache_clear()
    threads = [threading.Thread(target=factors.load_library) for _ in range(3)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(made) == 1
