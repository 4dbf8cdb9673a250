"""What would be seen: needle positions and meter readings, for many faults at once.

`Situation.of` puts a circuit into a state and applies a check; `respond` gives what each scenario shows
there, by small corrections of one solution; `spread` gives how that moves with each tolerance. `see` puts
both into words for one scenario, and `operating_point` gives every voltage and current of it.
"""

from gaugesim.reading.exact import OperatingPoint, one_by_one, operating_point
from gaugesim.reading.reasons import Why, why
from gaugesim.reading.response import Engine, Response, embedded, respond
from gaugesim.reading.seen import Appearance, Needle, Reading, see
from gaugesim.reading.situations import Situation
from gaugesim.reading.spreads import Spread, deviations, spread

__all__ = [
    "Appearance",
    "Engine",
    "Needle",
    "OperatingPoint",
    "Reading",
    "Response",
    "Situation",
    "Spread",
    "Why",
    "deviations",
    "embedded",
    "one_by_one",
    "operating_point",
    "respond",
    "see",
    "spread",
    "why",
]
