"""What the person describes: one frozen record a section of the project file, each entry declared with its meaning.

A `Quantity` holds the text that was typed beside its SI value; an entry that may be left out is None when it is.
The sections are declared in the modules beside this one; this is the door through which they are used.
"""

from dataclasses import dataclass

from levelbench.project.alarms import (
    LAMP_ANSWERS,
    LAMP_COLOURS,
    LAMP_MODES,
    LAMP_STATES,
    PRIORITIES,
    SUPPRESSIONS,
    Alarm,
    AlarmHandling,
    Band,
    Bands,
    FrozenAlarm,
    LampRow,
    NoRiseAlarm,
    PlainAlarm,
    RateAlarm,
)
from levelbench.project.as_found import AsFound
from levelbench.project.controls import LoopSettings
from levelbench.project.duty import Duty, Head, SheetHead, Start
from levelbench.project.instruments import DISTANCE_SENSORS, SENSOR_KINDS, OverflowSwitch, Sensor
from levelbench.project.machines import DRAIN_KINDS, GRAVITY, VALVE_TRIMS, Drain, Pump
from levelbench.project.vessels import TANK_ENDS, TANK_SHAPES, DeadWood, Display, Liquid, Reservoir, Tank

__all__ = [
    "DISTANCE_SENSORS",
    "DRAIN_KINDS",
    "GRAVITY",
    "LAMP_ANSWERS",
    "LAMP_COLOURS",
    "LAMP_MODES",
    "LAMP_STATES",
    "PRIORITIES",
    "SENSOR_KINDS",
    "SUPPRESSIONS",
    "TANK_ENDS",
    "TANK_SHAPES",
    "VALVE_TRIMS",
    "Alarm",
    "AlarmHandling",
    "AsFound",
    "Band",
    "Bands",
    "DeadWood",
    "Display",
    "Drain",
    "Duty",
    "FrozenAlarm",
    "Head",
    "LampRow",
    "Liquid",
    "LoopSettings",
    "NoRiseAlarm",
    "OverflowSwitch",
    "PlainAlarm",
    "Project",
    "Pump",
    "RateAlarm",
    "Reservoir",
    "Sensor",
    "SheetHead",
    "Start",
    "Tank",
]


@dataclass(frozen=True)
class Project:
    """A whole project file: every section, and the very text it was read from."""

    title: str
    loop: str  # loop number: "310"
    first_letter: str  # ISA-5.1 first letter of the loop: L, unless the person declares a letter of their own
    first_letter_means: str
    display: Display
    liquid: Liquid
    tank: Tank
    reservoir: Reservoir
    pump: Pump
    drain: Drain
    sensor: Sensor
    overflow_switch: OverflowSwitch
    loop_settings: LoopSettings
    bands: Bands
    alarm_handling: AlarmHandling
    stack_light: tuple[LampRow, ...]
    start: Start
    duty: Duty
    sheet: SheetHead
    as_found: AsFound | None  # None: nobody noted what was found
    text: str  # the TOML text, comments and all; editing goes through `levelbench.project.edit`

    def __repr__(self) -> str:
        return f"<Project “{self.title}”, loop {self.loop}>"
