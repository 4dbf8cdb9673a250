"""The sender's lead parted at a joint, to tell on which side of it a chafe lies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.scenario.kinds.request import Arrangement, Request
from gaugesim.scenario.kinds.targets import CheckKind, bare, own
from gaugesim.sheet import Gauge, Part, roles
from gaugesim.solve.network import GROUND

# which end of the joint is measured
SENDER_SIDE, GAUGE_SIDE = "sender_side", "gauge_side"


class Parted(CheckKind):
    """The lead off the sender and parted at a joint, a meter from one side of that to battery negative."""

    targets = ":PART:SIDE"

    def where(self, circuit: Circuit, wanted: Sequence[str], gauges: Sequence[Gauge]) -> Iterator[str]:
        """See `CheckKind.where`."""
        named = [target.rpartition(":") for target in wanted]
        for part in own(circuit.sheet.parts.values(), gauges):
            yield from (f"{self.id}:{part.id}:{side}" for name, _, side in named if name == bare(part))

    def _arrange(self, ask: Request) -> Arrangement:
        part, side = ask.electric(ask.arguments[0]), ask.arguments[1]
        if side not in (SENDER_SIDE, GAUGE_SIDE):
            raise ask.fail(f"there is no side {side!r}", f"write {SENDER_SIDE} or {GAUGE_SIDE}")
        ask = replace(ask, gauge=ask.circuit.gauge(part.gauge)) if part.gauge else ask
        near = _sender_side(ask, part)
        [far] = {*ask.ends(part)} - {near}
        words = f"the parted {part.words}, on the side toward the {side.removesuffix('_side')}"
        if part == ask.connector:
            words = "the lead" if side == GAUGE_SIDE else "the sender's terminal"
        meter = ask.hung(self.reads, near if side == SENDER_SIDE else far)
        # a piece that is off at both ends has no voltage: beyond the joint it counts as on the sender still
        off = ask.off if side == SENDER_SIDE else dict.fromkeys(ask.off, 0.0)
        setup = replace(meter, branches={**off, part.element: np.inf})
        return Arrangement(setup, words, (ask.connector.place, part.place))


def _sender_side(ask: Request, part: Part) -> str:
    """The end of a part in the sender's lead that is nearer to the sender."""
    parts = ask.circuit.sheet.parts
    names = [name for joint in roles().lead for name in (joint, f"{ask.gauge.id}_{joint}")]
    ends = [ask.ends(parts[name]) for name in names if name in parts and name != part.id]
    reached = {*ask.ends(ask.part(roles().sender))}
    while more := {node for pair in ends if reached & {*pair} for node in pair} - reached:
        reached |= more
    near = [node for node in ask.ends(part) if node in reached - {GROUND}]
    if not near:
        raise ask.fail(f"{part.id} is not in the sender's lead", f"name one of {', '.join(roles().lead)}")
    return near[0]


KINDS: tuple[CheckKind, ...] = (Parted("ohms_parted", "ohms"), Parted("volts_parted", "volts"))
