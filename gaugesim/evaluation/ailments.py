"""What ails the vehicles of a fleet: faults as a circuit's sheet lists them, and such as it does not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.evaluation.fleet import Ailment
from gaugesim.expression import Value
from gaugesim.scenario.fault import Change, Fault, Pair, change, quantiles
from gaugesim.solve.network import OPEN_OHMS, Integers

# only what has more ohms than a joint can be off by a factor that shows
LEAST_OHMS = 2.0
# bridges between nodes that never touch, their ohms, and by how much an element is off beside it
BRIDGES = 2
BRIDGE = (0.2, 20.0)
FAR = (5.0, 50.0)
# vehicles that share the nodes and the element of an unlisted fault
ALIKE = 5


def listed_ailments(
    circuit: Circuit, entries: Sequence[Fault | Pair], which: Integers, shares: Floats, times: Floats
) -> list[Ailment]:
    """Faults as the sheet lists them, each vehicle with a severity of its own.

    Parameters
    ----------
    which : ndarray of int, shape (n,)
        The entry of each vehicle.
    shares : ndarray, shape (n, 2)
        Share of the prior that lies below each severity, between 0 and 1 [1].
    times : ndarray, shape (n,)
        The same of whether a single fault comes and goes [1].
    """
    result = []
    for i in np.unique(which):
        entry = entries[i]
        at_times = entry.mode.at_times if isinstance(entry, Fault) else 0.0
        for comes_and_goes in (False, True):
            vehicles = np.flatnonzero((which == i) & ((times < at_times) == comes_and_goes))
            makes = tuple(
                partial(change, circuit, fault, _severities(fault, shares[vehicles, k]))
                for k, fault in enumerate(entry.singles)
            )
            if vehicles.size:
                result.append(Ailment(vehicles, entry, makes, comes_and_goes))
    return result


def _severities(fault: Fault, shares: Floats) -> Floats:
    severity = fault.mode.severity
    return quantiles(severity, shares) if severity.quantity else np.zeros(len(shares))


@dataclass(frozen=True)
class Unlisted:
    """Faults that no sheet lists: nodes bridged that never touch, and an element far from what it was.

    A few vehicles each share the nodes and the element, which makes them quick to solve.

    Attributes
    ----------
    bridged : tuple of tuple of (str, str)
        Nodes of each kind of fault.
    elements : tuple of str
        The element of each kind.
    kind : ndarray of int, shape (vehicles,)
    ohms : ndarray, shape (BRIDGES, vehicles)
        Of the bridges [ohm].
    factor : ndarray, shape (vehicles,)
        By which the element is off [1].
    """

    circuit: Circuit
    bridged: tuple[tuple[tuple[str, str], ...], ...]
    elements: tuple[str, ...]
    kind: Integers
    ohms: Floats
    factor: Floats

    def take(self, vehicles: Integers) -> Unlisted:
        """Some of the vehicles, in the order given."""
        return replace(
            self, kind=self.kind[vehicles], ohms=self.ohms[:, vehicles], factor=self.factor[vehicles]
        )

    def ailments(self) -> list[Ailment]:
        """What ails each vehicle."""
        result = []
        for i in np.unique(self.kind):
            some = np.flatnonzero(self.kind == i)
            bridges = dict(zip(self.bridged[i], self.ohms[:, some], strict=True))
            make = partial(_odd, self.circuit, bridges, self.elements[i], self.factor[some])
            result.append(Ailment(some, None, (make,)))
        return result


def draw_unlisted(circuit: Circuit, vehicles: int, random: np.random.Generator) -> Unlisted:
    """Draw faults that no sheet lists."""
    network = circuit.wiring
    joined = {frozenset((element.node_a, element.node_b)) for element in circuit.netlist.elements}
    sound = network.ohms
    moved = [
        element.name
        for element in circuit.netlist.elements
        if element.kind == "r" and LEAST_OHMS < sound[network.branch(element.name)] < OPEN_OHMS
    ]
    bridged, elements = [], []
    for _ in range(-(-vehicles // ALIKE)):
        bridges: dict[frozenset[str], tuple[str, str]] = {}
        while len(bridges) < BRIDGES:
            a, b = random.choice(network.nodes, 2, replace=False).tolist()
            if frozenset((a, b)) not in joined:
                bridges.setdefault(frozenset((a, b)), (a, b))
        bridged.append(tuple(bridges.values()))
        elements.append(str(random.choice(moved)))
    up = random.choice([-1.0, 1.0], vehicles)
    return Unlisted(
        circuit,
        tuple(bridged),
        tuple(elements),
        np.arange(vehicles) // ALIKE,
        np.exp(random.uniform(np.log(BRIDGE[0]), np.log(BRIDGE[1]), (BRIDGES, vehicles))),
        random.uniform(*FAR, vehicles) ** up,
    )


def _odd(
    circuit: Circuit,
    bridges: Mapping[tuple[str, str], Floats],
    element: str,
    factor: Floats,
    parameters: Mapping[str, Value],
) -> Change:
    part = circuit.netlist.element(element)
    before = np.asarray(circuit.netlist.values(parameters, [part])[element], dtype=float)
    return Change(np.zeros(len(factor)), branches={element: before * factor}, paths=bridges)
