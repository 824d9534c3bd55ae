"""Sections of the project file about the job: how a run begins, what is asked, the head of the sheet."""

from dataclasses import dataclass

from levelbench.project.fields import entry
from levelbench.quantity import Dimension, Quantity

D = Dimension


@dataclass(frozen=True)
class Head:
    """The entries above the first section."""

    title: str = entry("title", "What the rig is called on every sheet.", required=True)
    loop: str = entry("loop number", "Number of the loop in every tag: 310 makes LT-310.", required=True)
    first_letter: str = entry(
        "first letter",
        "ISA-5.1 has no letter for volume: the loop is an L loop unless you declare your own.",
        default="L",
    )
    first_letter_means: str = entry(
        "which means", "What your own first letter stands for; it is printed in the legend.", default=""
    )


@dataclass(frozen=True)
class Start:
    """How a run begins."""

    tank_volume: Quantity = entry(
        "in the tank at the start", "Volume in the tank when the run begins.", D.VOLUME, required=True, low=0
    )
    set_point: Quantity = entry(
        "set point at the start", "Volume that is held when the run begins.", D.VOLUME, required=True, above=0
    )
    mode: str = entry(
        "mode at the start",
        "Whether the controller or the operator drives the pump when the run begins.",
        choices=("auto", "manual"),
        default="auto",
    )
    output: Quantity = entry(
        "output in manual", "Pump command when the run begins in manual.", D.PERCENT, default="0 %", low=0, high=1
    )
    siphon_primed: bool = entry(
        "siphon primed", "Whether its tube is full of liquid when the run begins.", default=True
    )
    running: bool = entry(
        "power on and started",
        "Off: the run begins as after a power return, waiting for the start button.",
        default=True,
    )


@dataclass(frozen=True)
class Duty:
    """What is asked of the rig."""

    largest_draw: Quantity = entry(
        "largest draw", "The most that the users take at once.", D.FLOW, required=True, low=0
    )
    time_to_act: Quantity = entry(
        "time to act", "What an operator is given between an alarm and its consequence.", D.TIME, default="5 min", low=0
    )
    air_swing: Quantity = entry(
        "swing of the air temperature",
        "How far the air under the lid moves from what the sensor is set for, as a difference: 5 K or 10 delta degF.",
        D.TEMPERATURE_DIFFERENCE,
        default="5 K",
        low=0,
        high=80,
    )


@dataclass(frozen=True)
class SheetHead:
    """What the head of every sheet says."""

    customer: str = entry("customer", "Who ordered the rig.", default="")
    site: str = entry("site", "Where it will stand.", default="")
    document: str = entry("document number", "Number of the sheet in your own filing.", default="")
    revision: str = entry("revision", "Revision of the sheet: 0, 1, A …", default="0")
    status: str = entry(
        "status",
        "What the sheet may be used for.",
        choices=("preliminary", "for construction", "as built"),
        default="preliminary",
    )
    prepared: str = entry("prepared by", "Name for the signature line.", default="")
    checked: str = entry("checked by", "Name for the signature line.", default="")
    approved: str = entry("approved by", "Name for the signature line.", default="")
    paper: str = entry("paper", "Size on which the sheet is printed.", choices=("A4", "Letter"), default="A4")
