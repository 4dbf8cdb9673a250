"""What is plausible for a movement before anything has been measured.

All of these are assumed, wide, and typical of the trade rather than of one make: they only keep what the
points do not determine within reason, and the fit says where it rests on them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Prior:
    """A normal distribution, of the logarithm where the quantity is positive.

    Attributes
    ----------
    middle, deviation : float
        Of the quantity [1], or of its natural logarithm.
    """

    middle: float
    deviation: float


# a winding or resistor of an air-core or moving-coil gauge: 35 to 350 ohm nine times in ten
COIL = Prior(float(np.log(110.0)), 0.7)
# the heater winding of a bimetal gauge: 11 to 110 ohm nine times in ten
HEATER = Prior(float(np.log(35.0)), 0.7)
# a moving-coil voltmeter's series resistor and coil
SERIES = Prior(float(np.log(500.0)), 1.2)
# ampere-turns of the other coils over those of the first, by movement and coil, as each works:
# in series the coil that the sender shunts sees little of the current and has several times the turns; a
# bucking coil must overcome the low-ohm coil; the ground pair of four coils must overcome the feed pair
TURNS = {
    "two-coil": (Prior(0.0, 0.7),),
    "two-coil series": (Prior(float(np.log(3.0)), 0.6),),
    "three-coil": (Prior(float(np.log(2.0)), 0.35), Prior(float(np.log(1.8)), 0.5)),
    "four-coil": (Prior(0.0, 0.35), Prior(float(np.log(3.0)), 0.5), Prior(0.0, 0.5)),
    "opposed-coil": (Prior(float(np.log(1.7)), 0.5), Prior(float(np.log(1.9)), 0.5)),
    "bridge": (Prior(float(np.log(2.2)), 0.6),),
}
# of a coil of any other kind
OTHER_TURNS = Prior(float(np.log(1.8)), 0.7)
# angle between the two coils of a parallel two-coil movement, degrees
COIL_DEGREES = Prior(105.0, 20.0)
# angle between the low and the top mark, degrees
SWEEP = Prior(float(np.log(65.0)), 0.5)
# how well a protractor on the glass measures that angle, relative
SWEEP_MEASURED = 0.015
# how far the middle of the scale lies from the middle of the needle's way between sender grounded and off,
# degrees
MIDDLE = Prior(0.0, 45.0)
# what a regulator holds, or an unregulated supply: 4 to 12 V nine times in ten
HELD_VOLTS = Prior(float(np.log(7.0)), 0.35)
# bimetal: where the needle lies with the winding cold, and how far full power for its ohms would take it
REST = Prior(0.0, 0.15)
RISE = Prior(float(np.log(2.2)), 0.5)
# moving-coil: position at 12 V and change for each volt, [position] and log [position/V]
AT_12_VOLTS = Prior(0.5, 0.5)
VOLTMETER_SLOPE = Prior(float(np.log(0.12)), 0.5)
