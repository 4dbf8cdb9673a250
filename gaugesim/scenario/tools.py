"""What somebody must have at hand for a check, beside leads and spanners."""

from __future__ import annotations

from gaugesim.scenario.apparatus import LAMP, METER, Check

TOOLS = ("meter", "lamp", "resistors", "helper")
TOOL_WORDS = {
    "meter": "a multimeter",
    "lamp": "a test lamp",
    "resistors": "resistors for a sender",
    "helper": "a helper at the key and the gauge",
}
# where one person turns the key and sees the needle
_AT_THE_GAUGE = ("dash", "panel_connector", "behind_panel", "fuse_box")


def tools_for(check: Check) -> frozenset[str]:
    """What a check takes.

    Some of `TOOLS`; a helper where the needle is watched while somebody works elsewhere.
    """
    paths = [*check.setup.paths, *(check.meter.paths if check.meter else ())]
    names = {path.name for path in paths}
    tools = {METER: "meter", LAMP: "lamp", "resistor": "resistors"}
    needed = {tool for name, tool in tools.items() if name in names}
    away = any(place not in _AT_THE_GAUGE for place in check.places)
    watched = check.reads in ("needle", "jump") and not check.kind.is_look and check.setup.kept is None
    return frozenset(needed | ({"helper"} if watched and away else set()))
