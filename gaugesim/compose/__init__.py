"""A circuit out of a few words: any gauge and sender of the trade, without writing a netlist.

What a person says of a vehicle (`words`) is filled in from the published kinds (`choose`), laid out
(`layout`), written as a netlist of the shared pieces and as a sheet, and its marks are put where the sound
needle stands (`scale`). What comes out is text that loads as any other pair of files.
"""

from gaugesim.compose.candidates import Composed, compose
from gaugesim.compose.kinds import DriverQuestion, load_kinds
from gaugesim.compose.words import Vehicle, declined, from_words, read_vehicle

__all__ = [
    "Composed",
    "DriverQuestion",
    "Vehicle",
    "compose",
    "declined",
    "from_words",
    "load_kinds",
    "read_vehicle",
]
