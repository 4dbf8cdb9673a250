"""Needles and the regulator's output against time after a change of state."""

from gaugesim.transients.changing import STEADY, Coolant, Disturbance, WarmUp
from gaugesim.transients.run import Transient, see_at, transient
from gaugesim.transients.stepping import INTERRUPTER_BAND, INTERRUPTER_LAG

__all__ = [
    "INTERRUPTER_BAND",
    "INTERRUPTER_LAG",
    "STEADY",
    "Coolant",
    "Disturbance",
    "Transient",
    "WarmUp",
    "see_at",
    "transient",
]
