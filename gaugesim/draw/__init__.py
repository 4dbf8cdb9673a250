"""Pictures, drawn from computed results and nothing else.

For each picture one function gives an object that holds what is to be seen, and another only draws that, on
axes that it takes and returns, or on new ones. Nothing here needs a display, and matplotlib is loaded when
something is first drawn.
"""

from gaugesim.draw.bench import Bench, open_bench
from gaugesim.draw.curves import ScaleCurves, draw_movement_curve, draw_sender_curve, scale_curves
from gaugesim.draw.dial import Dial, dials, draw_dials
from gaugesim.draw.ranking import RankingSteps, course, draw_course
from gaugesim.draw.scenes import Scene, scene
from gaugesim.draw.schematic_view import draw_schematic
from gaugesim.draw.schematics import Schematic, schematic
from gaugesim.draw.signature import SignatureMap, draw_signature_map, signature_map
from gaugesim.draw.sweeps import Curve, Curves, draw_curves, fault_curves
from gaugesim.draw.transients import draw_transient
from gaugesim.draw.tree import Page, TreeNode, draw_plan, plan_page

__all__ = [
    "Bench",
    "Curve",
    "Curves",
    "Dial",
    "Page",
    "RankingSteps",
    "ScaleCurves",
    "Scene",
    "Schematic",
    "SignatureMap",
    "TreeNode",
    "course",
    "dials",
    "draw_course",
    "draw_curves",
    "draw_dials",
    "draw_movement_curve",
    "draw_plan",
    "draw_schematic",
    "draw_sender_curve",
    "draw_signature_map",
    "draw_transient",
    "fault_curves",
    "open_bench",
    "plan_page",
    "scale_curves",
    "scene",
    "schematic",
    "signature_map",
]
