"""A check being read from its id, and what its kind makes of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError
from gaugesim.expression import ExpressionError, read_number
from gaugesim.scenario.apparatus import (
    BENCH_OHMS,
    JUMPER_OHMS,
    LAMP,
    METER,
    OHMMETER_OHMS,
    OHMMETER_VOLTS,
    Setup,
    voltmeter,
)
from gaugesim.sheet import Gauge, Part, Point, roles
from gaugesim.solve.network import GROUND, Path


def wire(node_a: str, node_b: str, ohms: float = JUMPER_OHMS, name: str = "wire") -> Path:
    """A lead, or a resistor."""
    return Path(name, node_a, node_b, ohms)


@dataclass(frozen=True)
class Arrangement:
    """What a kind makes of a request: a check without words and costs; ``reads`` if it is not the kind's."""

    setup: Setup = field(default_factory=Setup)
    target: str = ""
    places: tuple[str, ...] = ()
    meter: Setup | None = None
    part: str = ""
    cautions: tuple[str, ...] = ()
    reads: str = ""


@dataclass(frozen=True)
class Request:
    """A check being read: circuit, gauge meant, gauge complained of, and what followed the kind."""

    circuit: Circuit
    gauge: Gauge
    complained: Gauge
    id: str
    arguments: tuple[str, ...]

    def fail(self, problem: str, remedy: str) -> CaseError:
        """What is wrong with the check's id."""
        return CaseError(f"check {self.id!r}: {problem}", "", remedy)

    def part(self, name: str) -> Part:
        """A part of the gauge, or one that it shares."""
        return self.circuit.part(name, self.gauge.id)

    def point(self, name: str) -> Point:
        """A point of the gauge, or one that it shares."""
        return self.circuit.point(name, self.gauge.id)

    def number(self, text: str, unit: str, low: float, high: float) -> float:
        """A target that is a number within limits."""
        try:
            value = -read_number(text[1:]) if text.startswith("-") else read_number(text)
        except ExpressionError as error:
            raise self.fail(str(error), f"give {unit}") from None
        if not low <= value <= high:
            raise self.fail(f"{text} {unit} is out of reach", f"give {low:g} to {high:g}")
        return value

    def electric(self, name: str) -> Part:
        """A part that has a resistance of its own."""
        part = self.part(name)
        if not part.element:
            raise self.fail(
                f"{part.id} has no resistance of its own", "name a wire, a joint, a coil or a sender"
            )
        return part

    def ends(self, part: Part) -> tuple[str, str]:
        """The nodes at a part's ends."""
        element = self.circuit.netlist.element(part.element)
        return element.node_a, element.node_b

    def hung(self, reads: str, node_a: str, node_b: str = GROUND) -> Setup:
        """What reads something, between two nodes; a lead where that is the needle."""
        hung = {
            "needle": wire(node_a, node_b),
            "volts": voltmeter(self.circuit.sheet.earth, node_a, node_b),
            "lamp": Path(LAMP, node_a, node_b, np.inf),
            "ohms": Path(METER, node_a, node_b, OHMMETER_OHMS, -OHMMETER_VOLTS),
        }
        return Setup(paths=(hung[reads],), dead=reads == "ohms")

    def isolated(self, part: Part, parameters: Mapping[str, float] | None = None) -> Setup:
        """A part with one end free, on an ohmmeter."""
        meter = self.hung("ohms", *self.ends(part))
        return replace(meter, parameters=parameters or {}, kept=(part.element,))

    @property
    def two_points(self) -> tuple[Point, Point, str]:
        """Two points that differ, and what they are called."""
        first, second = (self.point(name) for name in self.arguments)
        if first.node == second.node:
            raise self.fail(f"{first.id} and {second.id} are the same point", "name two different ones")
        return first, second, f"{first.words} and {second.words}"

    @property
    def connector(self) -> Part:
        """Where the lead comes off the sender."""
        return self.part(roles().lead_end)

    @property
    def lead(self) -> Point:
        """The end of the lead that comes off the sender."""
        return self.point("sender_lead")

    def supply(self, node: str) -> Path:
        """A supply of the gauge's own voltage on a node, the other way round for positive earth."""
        volts = self.gauge.bench_volts * (-1 if self.circuit.sheet.earth == "positive" else 1)
        return Path("bench_supply", node, GROUND, BENCH_OHMS, volts)

    @property
    def off(self) -> dict[str, float]:
        """The lead off the sender."""
        return {self.connector.element: np.inf}
