"""The kinds of checks, one object each: what comes apart, what is added and read, where that makes sense.

What a kind is called, takes and warns of stands in a sheet, mostly `netlists/kinds/checks.toml`.
"""

from gaugesim.scenario.kinds import checks, looks, parted
from gaugesim.scenario.kinds.kind import Kind
from gaugesim.scenario.kinds.looks import Look
from gaugesim.scenario.kinds.request import Arrangement, Request
from gaugesim.scenario.kinds.targets import CheckKind

CHECKS: dict[str, CheckKind] = {kind.id: kind for kind in (*checks.KINDS, *parted.KINDS)}
LOOKS: dict[str, Look] = {kind.id: kind for kind in looks.KINDS}
KINDS: dict[str, Kind] = {**CHECKS, **LOOKS}

__all__ = ["CHECKS", "KINDS", "LOOKS", "Arrangement", "CheckKind", "Kind", "Look", "Request"]
