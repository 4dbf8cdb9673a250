"""The sheet beside a netlist: what SPICE cannot say.

Which element is which part, in words; tolerances; how parts fail, how often and how badly; where they are and
what it takes to get there; which checks exist; how the needle answers the currents. Every value says where it
comes from. The whole file is validated before anything is computed.
"""

from gaugesim.movement import Coil, Gauge, Mark
from gaugesim.sheet.gauges import COILS, CONVENTIONS, GAUGES, Regulator
from gaugesim.sheet.part_roles import Roles, Stud, roles
from gaugesim.sheet.parts import AFTER, FOUND, GAUGE_KINDS, MODES, QUANTITIES, Mode, Part, PartKind, Severity
from gaugesim.sheet.reader import of_data, read
from gaugesim.sheet.records import (
    CAN,
    CONSUMERS,
    CRAFTS,
    EARTHS,
    ENGINE,
    Caution,
    CheckRule,
    CommonCauseGroup,
    Consumer,
    Place,
    Point,
    Quantity,
    Scope,
    Sheet,
    State,
)

__all__ = [
    "AFTER",
    "CAN",
    "COILS",
    "CONSUMERS",
    "CONVENTIONS",
    "CRAFTS",
    "EARTHS",
    "ENGINE",
    "FOUND",
    "GAUGES",
    "GAUGE_KINDS",
    "MODES",
    "QUANTITIES",
    "Caution",
    "CheckRule",
    "Coil",
    "CommonCauseGroup",
    "Consumer",
    "Gauge",
    "Mark",
    "Mode",
    "Part",
    "PartKind",
    "Place",
    "Point",
    "Quantity",
    "Regulator",
    "Roles",
    "Scope",
    "Severity",
    "Sheet",
    "State",
    "Stud",
    "of_data",
    "read",
    "roles",
]
