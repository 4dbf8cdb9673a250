"""A part out of the circuit, alone on the ohmmeter: it shows the part's own resistance."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.reading.instruments import OPEN_READING
from gaugesim.scenario.check import Check, Setup
from gaugesim.scenario.scenarios import Scenarios


def isolated_on_meter(circuit: Circuit, check: Check) -> Setup | None:
    """How the part lies on the ohmmeter, if a check puts one resistance alone on it."""
    setup = check.meter or check.setup
    if check.reads != "ohms" or setup.kept is None or len(setup.kept) != 1:
        return None
    element = setup.kept[0]
    network = circuit.wiring
    ends = [network.node(node) for path in setup.paths for node in (path.node_a, path.node_b)]
    across = sorted(ends) == sorted(network.ends[network.branch(element)].tolist())
    plain = next(part.kind for part in circuit.netlist.elements if part.name == element) == "r"
    return setup if across and plain and not setup.branches else None


def isolated_ohms(
    circuit: Circuit, parameters: Mapping[str, float], setup: Setup, scenarios: Scenarios
) -> Floats:
    """What the ohmmeter shows of the part in each scenario, shape (n,) [ohm]; `OPEN_READING` for an open."""
    element = (setup.kept or ("",))[0]
    sound = float(circuit.values(parameters)[element])
    return np.minimum(scenarios.resistance(element, sound), OPEN_READING)
