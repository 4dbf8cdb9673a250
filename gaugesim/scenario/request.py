"""A check being read from its id, and what the kinds of checks make of it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError
from gaugesim.expression import ExpressionError, read_number
from gaugesim.scenario.apparatus import BENCH_OHMS, Setup, voltmeter
from gaugesim.sheet import Gauge, Part, Point
from gaugesim.solve.network import GROUND, Path


@dataclass(frozen=True)
class Job:
    """What a kind makes of a request: a check without its words and costs."""

    setup: Setup = field(default_factory=Setup)
    reads: str = "needle"
    target: str = ""
    places: tuple[str, ...] = ()
    meter: Setup | None = None
    part: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Request:
    """A check being read: circuit, gauge, and what followed the kind."""

    circuit: Circuit
    gauge: Gauge
    id: str
    arguments: tuple[str, ...]

    def fail(self, problem: str, remedy: str) -> CaseError:
        """What is wrong with the check's id."""
        return CaseError(f"check {self.id!r}: {problem}", "", remedy)

    def need(self, least: int, most: int, wanted: str) -> None:
        """See that the id has as many targets as it should."""
        if not least <= len(self.arguments) <= most:
            raise self.fail(f"{len(self.arguments)} targets given", f"write {self.id.split(':')[0]}{wanted}")

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

    def voltmeter(self, node_a: str, node_b: str) -> Path:
        """A voltmeter, see `apparatus.voltmeter`."""
        return voltmeter(self.circuit.sheet.earth, node_a, node_b)

    @property
    def connector(self) -> Part:
        """Where the lead comes off the sender."""
        return self.part("sender_connector")

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
