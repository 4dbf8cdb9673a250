"""Constants of nature, of materials and of instruments, with unit, tolerance, source and standing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Constant:
    """One constant.

    Attributes
    ----------
    value : float
        The value, in `unit`.
    unit : str
        Its unit; "1" for a pure number.
    tolerance : float
        Half width of its spread, in the same unit; 0 for a defined value.
    standing : str
        "defined" by a standard, "measured", "typical" of published figures, or "assumed" by us.
    source : str
        Where it comes from.
    """

    value: float
    unit: str
    tolerance: float
    standing: Literal["defined", "measured", "typical", "assumed"]
    source: str


COPPER_RESISTIVITY = Constant(
    1e-6 / 58.0,
    "ohm.m",
    0.0,
    "defined",
    "IEC 60028:1925, annealed copper at 20 degrees Celsius: 58 m/(ohm.mm2)",
)
COPPER_TEMPERATURE_COEFFICIENT = Constant(
    0.00393, "1/K", 0.0, "defined", "IEC 60028:1925, annealed copper at 20 degrees Celsius, constant mass"
)
WIRE_GAUGE_36_DIAMETER = Constant(127e-6, "m", 0.0, "defined", "ASTM B258, diameter of gauge 36")

LORENZ_NUMBER = Constant(
    2.45e-8, "V2/K2", 0.03e-8, "typical", "Holm, Electric Contacts, 4th ed.: voltage-temperature relation"
)

TANGENTIAL_DRIVE_FRACTION = Constant(
    0.748, "1", 0.0, "typical", "CS4122 and CS4192 data sheets: coil voltage over supply voltage"
)
MINOR_GAUGE_MIDDLE_DEGREES = Constant(
    56.1, "degree", 0.0, "typical", "CS4122 data sheet, minor gauge: angle at which the driven coil is at 0 V"
)

VOLTMETER_INPUT_OHMS = Constant(
    10e6, "ohm", 0.0, "typical", "bench multimeter manuals: at least 10 megohm on the volt ranges"
)
OHMMETER_HIGHEST_OHMS = Constant(
    40e6, "ohm", 20e6, "assumed", "highest resistance that a hand-held multimeter shows before it says open"
)
OHMMETER_TEST_AMPERES = Constant(
    1e-3, "A", 0.9e-3, "assumed", "current of the lowest ohm range of a hand-held multimeter"
)

FILAMENT_COLD_FRACTION = Constant(
    0.1,
    "1",
    0.03,
    "typical",
    "common practice, no source: a filament is about ten times as many ohms lit as cold",
)
FILAMENT_EXPONENT = Constant(
    0.45, "1", 0.05, "assumed", "from memory: lamp current rises with about the 0.55th power of the voltage"
)
LAMP_OUT_FRACTION = Constant(
    0.2,
    "1",
    0.05,
    "assumed",
    "modelling choice: below this share of the rated voltage nobody calls the lamp lit",
)
LAMP_BRIGHT_FRACTION = Constant(
    0.7, "1", 0.1, "assumed", "modelling choice: from this share of the rated voltage on it is called bright"
)

BATTERY_FULL_VOLTS = Constant(
    12.7, "V", 0.1, "assumed", "common practice, no source: rested lead-acid battery of six cells, charged"
)
BATTERY_EMPTY_VOLTS = Constant(
    11.9, "V", 0.2, "assumed", "common practice, no source: rested lead-acid battery of six cells, discharged"
)

SEA_LEVEL_PRESSURE = Constant(
    101325.0, "Pa", 0.0, "defined", "ISO 2533:1975, International Standard Atmosphere"
)
SEA_LEVEL_TEMPERATURE = Constant(
    288.15, "K", 0.0, "defined", "ISO 2533:1975, International Standard Atmosphere"
)
TEMPERATURE_LAPSE = Constant(0.0065, "K/m", 0.0, "defined", "ISO 2533:1975, troposphere")
STANDARD_GRAVITY = Constant(9.80665, "m/s2", 0.0, "defined", "ISO 2533:1975")
SPECIFIC_GAS_CONSTANT_OF_AIR = Constant(287.05287, "J/(kg.K)", 0.0, "defined", "ISO 2533:1975")
EARTH_RADIUS = Constant(6356766.0, "m", 0.0, "defined", "ISO 2533:1975, for geopotential height")
