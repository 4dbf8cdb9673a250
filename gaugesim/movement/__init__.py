"""The kinds of movement, one module each: what a sheet says of it, where its needle stands, how it is fitted.

A movement of another kind is a class in a module of its own, and a name in the table below.
"""

from gaugesim.movement.air_core import AirCore
from gaugesim.movement.bimetal import Bimetal
from gaugesim.movement.gauge import Coil, Gauge, Mark
from gaugesim.movement.kind import Flows, Movement, Prior, PriorKnowledge, Unknowns
from gaugesim.movement.moving_coil import MovingCoil

MOVEMENTS: dict[str, Movement] = {kind.id: kind for kind in (AirCore(), Bimetal(), MovingCoil())}

__all__ = ["MOVEMENTS", "Coil", "Flows", "Gauge", "Mark", "Movement", "Prior", "PriorKnowledge", "Unknowns"]
