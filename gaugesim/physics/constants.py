"""Constants of instruments and lamps, with unit, tolerance, source and standing."""

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


VOLTMETER_INPUT_OHMS = Constant(
    10e6, "ohm", 0.0, "typical", "bench multimeter manuals: at least 10 megohm on the volt ranges"
)
OHMMETER_HIGHEST_OHMS = Constant(
    40e6, "ohm", 20e6, "assumed", "highest resistance that a hand-held multimeter shows before it says open"
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
