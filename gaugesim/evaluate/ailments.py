"""What ails the vehicles of a fleet: faults as a circuit's sheet lists them, and such as it does not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.evaluate.fleet import Ailment
from gaugesim.expression import Value
from gaugesim.scenario.fault import Change, Fault, Pair, change, quantiles
from gaugesim.solve.network import OPEN_OHMS, Floats, Integers

# only what has more ohms than a joint can be off by a factor that shows
LEAST_OHMS = 2.0
# bridges between nodes that never touch, their ohms, and by how much an element is off beside it
BRIDGES = 2
BRIDGE = (0.2, 20.0)
FAR = (5.0, 50.0)


def listed(
    circuit: Circuit, entries: Sequence[Fault | Pair], which: Integers, shares: Floats
) -> list[Ailment]:
    """Faults as the sheet lists them, each vehicle with a severity of its own.

    Parameters
    ----------
    circuit : Circuit
    entries : sequence of Fault or Pair
    which : ndarray of int, shape (n,)
        The entry of each vehicle.
    shares : ndarray, shape (n, 2)
        Share of the prior that lies below each severity, between 0 and 1 [1].

    Returns
    -------
    list of Ailment
    """
    result = []
    for i in np.unique(which):
        vehicles = np.flatnonzero(which == i)
        makes = tuple(
            partial(change, circuit, fault, _severities(fault, shares[vehicles, k]))
            for k, fault in enumerate(entries[i].singles)
        )
        result.append(Ailment(vehicles, entries[i], makes))
    return result


def _severities(fault: Fault, shares: Floats) -> Floats:
    severity = fault.mode.severity
    return quantiles(severity, shares) if severity.quantity else np.zeros(len(shares))


def unlisted(circuit: Circuit, cases: int, random: np.random.Generator) -> list[Ailment]:
    """Faults that no sheet lists: nodes bridged that never touch, and an element far from what it was.

    Parameters
    ----------
    circuit : Circuit
    cases : int
    random : numpy.random.Generator

    Returns
    -------
    list of Ailment
        Each vehicle with one of its own.
    """
    network = circuit.wiring
    known = {frozenset((element.node_a, element.node_b)) for element in circuit.netlist.elements}
    sound = network.ohms
    moved = [
        element.name
        for element in circuit.netlist.elements
        if element.kind == "r" and LEAST_OHMS < sound[network.branch(element.name)] < OPEN_OHMS
    ]
    result = []
    for vehicle in range(cases):
        bridges: dict[tuple[str, str], Floats] = {}
        while len(bridges) < BRIDGES:
            a, b = random.choice(network.nodes, 2, replace=False).tolist()
            if frozenset((a, b)) not in known | {frozenset(nodes) for nodes in bridges}:
                bridges[a, b] = np.exp(random.uniform(np.log(BRIDGE[0]), np.log(BRIDGE[1]), 1))
        factor = float(np.exp(random.choice([-1.0, 1.0]) * np.log(random.uniform(*FAR))))
        element = str(random.choice(moved))
        make = partial(_odd, circuit, bridges, element, factor)
        result.append(Ailment(np.array([vehicle]), None, (make,)))
    return result


def _odd(
    circuit: Circuit,
    bridges: Mapping[tuple[str, str], Floats],
    element: str,
    factor: float,
    parameters: Mapping[str, Value],
) -> Change:
    before = np.broadcast_to(np.asarray(circuit.values(parameters)[element], dtype=float), 1)
    return Change(np.zeros(1), branches={element: before * factor}, paths=bridges)
