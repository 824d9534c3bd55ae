"""The section of the project file about the controller as it was found, before anybody changed anything."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from levelbench.project.controls import LoopSettings
from levelbench.project.fields import Entry, entries, entry
from levelbench.quantity import Quantity


def _of(key: str) -> dict[str, Entry]:
    """Declare an entry as the controller's own is declared."""
    return {"entry": entries(LoopSettings)[key]}


@dataclass(frozen=True)
class AsFound:
    """What stood in the controller when somebody came, as typed into it. Scan and set point limits are as now."""

    form: str = field(metadata=_of("form"))
    action: str = field(metadata=_of("action"))
    gain: Quantity | None = field(metadata=_of("gain"))
    proportional_band: Quantity | None = field(metadata=_of("proportional_band"))
    integral: Quantity | None = field(metadata=_of("integral"))
    derivative: Quantity = field(metadata=_of("derivative"))
    derivative_filter: Quantity = field(metadata=_of("derivative_filter"))
    set_point_weight: Quantity = field(metadata=_of("set_point_weight"))
    pv_filter: Quantity = field(metadata=_of("pv_filter"))
    integral_dead_band: Quantity = field(metadata=_of("integral_dead_band"))
    output_low: Quantity = field(metadata=_of("output_low"))
    output_high: Quantity = field(metadata=_of("output_high"))
    output_rate: Quantity | None = field(metadata=_of("output_rate"))
    ramp: Quantity | None = field(metadata=_of("ramp"))
    noted: str = entry("noted", "When these settings were found, and by whom.", default="")


FOUND_KEYS = tuple(key for key in entries(AsFound) if key != "noted")


def as_found_from(typed: Mapping[str, Any], noted: str = "") -> dict[str, Any]:
    """Give the edits that keep controller settings, as they stand in a file, as those that were found."""
    kept: dict[str, Any] = {"as_found": None}
    kept |= {"as_found.noted": noted} if noted else {}
    return kept | {f"as_found.{key}": typed[key] for key in FOUND_KEYS if key in typed}


def settings_from(typed: Mapping[str, Any]) -> dict[str, Any]:
    """Give the edits that put settings, as they stand in a file, into the controller; what is not there is assumed."""
    return {f"loop_settings.{key}": typed.get(key) for key in FOUND_KEYS}
