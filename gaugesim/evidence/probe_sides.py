"""On which side of a bad joint a probe was held: on the stud, or on the ring under its loose nut."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from gaugesim.circuit import Circuit
from gaugesim.scenario.check import LAMP, METER, Check
from gaugesim.scenario.fault import Fault, Pair

# kinds of joints that a probe may touch on either side
_JOINTS = ("stud_nut", "pin")
# chance that it was held on the side that was not meant: assumed, nobody can tell them apart at a glance
BEYOND = 0.5


def beyond_joints(circuit: Circuit, check: Check) -> Iterator[tuple[str, Check]]:
    """The same check with the probe on the other side of each joint at its point.

    Yields
    ------
    part : str
        The joint's part.
    check : Check
    """
    if not check.kind.on_any_side:
        return
    probes = [path for path in check.setup.paths if path.name in (METER, LAMP)]
    for part in circuit.sheet.parts.values():
        if part.kind not in _JOINTS:
            continue
        joint = circuit.netlist.element(part.element)
        ends = (joint.node_a, joint.node_b)
        if any(probe.node_a in ends for probe in probes):
            moved = tuple(
                replace(path, node_a=ends[1 - ends.index(path.node_a)])
                if path in probes and path.node_a in ends
                else path
                for path in check.setup.paths
            )
            yield part.id, replace(check, setup=replace(check.setup, paths=moved))


def is_in(entry: Fault | Pair, part: str) -> bool:
    """Whether a fault, or one of two, is a bad contact of a joint."""
    return any(
        fault.part.id == part and fault.mode.id in ("open", "high", "intermittent") for fault in entry.singles
    )
