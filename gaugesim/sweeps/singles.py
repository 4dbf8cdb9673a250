"""Every fault at every severity, in one state with one check: arrays from one factored solution."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.reading import Response, Situation, respond
from gaugesim.reading.situations import without_process
from gaugesim.scenario.fault import Fault, all_faults, change
from gaugesim.scenario.scenarios import Scenarios, stack

SEVERITIES = 5


@dataclass(frozen=True)
class FaultSweep:
    """Every fault at every severity in one situation.

    Attributes
    ----------
    scenarios : Scenarios
        One row for each severity of each fault; its ``source`` is the fault's number.
    response : Response
        What each row shows.
    """

    situation: Situation
    faults: tuple[Fault, ...]
    scenarios: Scenarios
    response: Response


def graded(fault: Fault, count: int = SEVERITIES) -> Floats:
    """Severities to sweep: of equal prior weight, and the typical one where it is another.

    Ascending, in the mode's own unit [1]; one for a fault that has no degrees.

    Parameters
    ----------
    count : int, optional
        How many of equal weight [1].
    """
    severities = fault.severities(count)
    return (
        np.unique(np.append(severities, fault.mode.severity.typical))
        if fault.mode.severity.quantity
        else severities
    )


def fault_rows(
    circuit: Circuit, faults: Sequence[Fault], situation: Situation, count: int = SEVERITIES
) -> Scenarios:
    """Every severity of every fault as one batch."""

    def make() -> Scenarios:
        return stack([change(circuit, fault, graded(fault, count), situation.parameters) for fault in faults])

    names = tuple(fault.id for fault in faults)
    scenarios = circuit.recall(("fault rows", names, count), situation.parameters, make)
    return without_process(scenarios, frozenset(situation.check.setup.parameters))


def sweep(situation: Situation, faults: Sequence[Fault] | None = None, count: int = SEVERITIES) -> FaultSweep:
    """What every fault shows in a situation.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.reading import Situation
    >>> swept = sweep(Situation.of(find("temp_two_coil")))
    >>> names = [swept.faults[k].id for k in swept.scenarios.source]
    >>> lowest = swept.response.positions["temperature"][names.index("sender_wire=open")]
    >>> round(float(lowest), 6)
    -0.12
    """
    listed = tuple(all_faults(situation.circuit) if faults is None else faults)
    scenarios = fault_rows(situation.circuit, listed, situation, count)
    return FaultSweep(situation, listed, scenarios, respond(situation, scenarios))
