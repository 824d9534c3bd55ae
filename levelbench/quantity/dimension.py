"""What kinds of quantity a person can type, the SI unit each is kept in, and the units that are offered for it."""

from enum import Enum


class Dimension(Enum):
    """A kind of quantity. The value is the word shown to a person."""

    LENGTH = "length"
    VOLUME = "volume"
    FLOW = "flow"
    TIME = "time"
    PERCENT = "percentage"  # kept as a fraction: "35 %" is 0.35
    PERCENT_RATE = "percentage per time"  # kept as 1/s
    NUMBER = "plain number"
    TEMPERATURE = "temperature"  # kept in kelvin
    TEMPERATURE_DIFFERENCE = "temperature difference"  # kept in kelvin
    DENSITY = "density"
    VISCOSITY = "dynamic viscosity"
    CURRENT = "current"  # kept in ampere
    FLOW_COEFFICIENT = "flow coefficient"  # "0.9" or "0.9 Cv", "0.8 Kv"; kept as m3/s at 1 Pa of water
    GAIN = "controller gain"  # "6.0" or "6.0 %/%" (output per span of PV), or "750 %/US gal"
    REPEAT_RATE = "integral rate"  # "2 repeats/min"; kept as 1/s
    START_RATE = "number of starts in a time"  # "15 starts/h"; kept as 1/s
