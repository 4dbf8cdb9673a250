"""Pictures, drawn from computed results and nothing else.

For each picture one function gives an object that holds what is to be seen, and another only draws that, on
axes that it takes and returns. Nothing here needs a display, and matplotlib is loaded when something is first
drawn.
"""

from gaugesim.draw.dial import Dial, dials, draw_dials
from gaugesim.draw.scene import Scene, scene
from gaugesim.draw.schematic import Schematic, schematic
from gaugesim.draw.schematic_view import draw_schematic

__all__ = [
    "Dial",
    "Scene",
    "Schematic",
    "dials",
    "draw_dials",
    "draw_schematic",
    "scene",
    "schematic",
]
