"""What would be seen: needle positions and meter readings, for many faults at once.

`situation` puts a circuit into a state and applies a check; `respond` gives what each scenario shows there, by small
corrections of one solution; `spread` gives how that moves with each tolerance.
"""

from gaugesim.reading.response import Engine, Response, embedded, respond
from gaugesim.reading.situation import Situation, situation
from gaugesim.reading.spread import Spread, deviations, spread

__all__ = [
    "Engine",
    "Response",
    "Situation",
    "Spread",
    "deviations",
    "embedded",
    "respond",
    "situation",
    "spread",
]
