"""A gauge and its sender found from a handful of measured points.

`read_points` reads a file of points, `fit` finds the movement, its parameters and the sender's curve with
their uncertainty, says what the points leave open and which further one would tell most; `write` makes a
circuit of it that every command accepts.

The file of points is TOML, written by a person; of the tables any that was measured will do::

    gauge = "temperature"        # what it shows: temperature, fuel, oil_pressure or voltmeter
    words = "Coolant gauge of the old boat"     # optional, like all down to the tables
    studs = 3                    # studs on its back, if counted
    coils = 2                    # windings, if its case was open
    sweep_degrees = 85           # angle between the low and the top mark, by a protractor
    supply_volts = 12.5          # of the battery while the needle was read
    regulator_volts = 5          # what a regulator in front of the gauge holds
    ambient_celsius = 20         # air around the gauge while its ohms were measured
    needle_plus_minus = 0.03     # how far off what was read may be, 95 times in 100: of the scale's length,
    ohms_tolerance = 0.02        # of the ohms and of the volts, relative,
    volts_tolerance = 0.02
    sender_plus_minus = 1.0      # and of the temperature, level or pressure at the sender, in its unit

    [[needle]]                   # a resistor from the sender's lead to ground, the lead off the sender
    ohms = 68                    # its ohms; inf for the lead off, 0 for the lead grounded
    position = 0.62              # 0 at the low mark, 1 at the top mark; or pegged_low, pegged_high
    volts = 5.1                  # optional: the lead to battery negative meanwhile; position may be left out
    [[coil]]                     # the gauge off the panel, an ohmmeter on two studs
    between = ["stud_feed", "stud_sender"]      # stud_feed, stud_sender, stud_ground, stud_bias, stud_tap
    ohms = 71                    # inf for open
    [[coil]]                     # or on one part of the movement, which only some kinds have
    part = "divider_feed"
    ohms = 100
    [[sender]]                   # its ohms at a true value: celsius, level (0 to 1) or bar
    celsius = 20
    ohms = 700
    [[marks]]                    # optional: the true values at which the scale has marks
    at = 40
    label = "40"

A voltmeter has ``supply_volts`` and ``position`` in ``[[needle]]``, and no ohms.
"""

from gaugesim.fitting.fit_result import Fit, fit
from gaugesim.fitting.output_files import WrittenCircuit, write
from gaugesim.fitting.points import Points, parse_points, read_points
from gaugesim.fitting.sender import Quantified, SenderFit
from gaugesim.fitting.summary import as_data

__all__ = [
    "Fit",
    "Points",
    "Quantified",
    "SenderFit",
    "WrittenCircuit",
    "as_data",
    "fit",
    "parse_points",
    "read_points",
    "write",
]
