"""Which fault is hidden: drawn from what fails, rare faults a little more often than in life."""

from __future__ import annotations

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.evidence.cells import pair_prior
from gaugesim.lessons.chance import generator
from gaugesim.lessons.vehicle import FaultyVehicle
from gaugesim.scenario.fault import Fault, Pair, all_faults, quantiles

# from this level on there are faults that come and go, and two at once
UPPER_LEVEL = 4
# a seed none of whose first so many pairs can be worked out has faults that come and go
PAIRS_DRAWN = 40
# weights are taken to this power, so that a class does not see the same few faults again and again
EVENED = 0.5


def draw_vehicle(
    circuit: Circuit, gauge: str, seed: int, level: int, draw: int, class_key: str = ""
) -> FaultyVehicle:
    """A vehicle of the circuit with a hidden fault. Whether its fault shows is another question.

    Parameters
    ----------
    class_key : str
        Of the class whose own vehicle it is, see `chance.class_key`; empty for everybody's.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> vehicle = draw_vehicle(find("temp_two_coil"), "temperature", seed=1, level=1, draw=0)
    >>> len(vehicle.fault.singles), vehicle.intermittent
    (1, False)
    """
    own = (class_key,) if class_key else ()
    key = ("practice", circuit.id, gauge, level, seed, draw, *own)
    luck = generator(*key, "fault")
    faults = [fault for fault in all_faults(circuit) if fault.part.gauge in ("", gauge)]
    comes_and_goes = [fault for fault in faults if fault.mode.id == "intermittent"]
    steady = [fault for fault in faults if fault.mode.id != "intermittent"]
    if level < UPPER_LEVEL:
        fault: Fault | Pair = _single(steady, luck)
    # by seed, as fewer draws of two faults than of one can be worked out from the complaint, or hardly any
    elif comes_and_goes and (
        draw >= PAIRS_DRAWN or generator("practice", circuit.id, gauge, level, seed, *own).random() < 0.5
    ):
        fault = _single(comes_and_goes, luck)
    else:
        fault = _pair(circuit, steady, luck)
    severity = tuple(_severity(single, luck) for single in fault.singles)
    return FaultyVehicle(circuit, gauge, key, fault, severity)


def _single(faults: list[Fault], luck: np.random.Generator) -> Fault:
    weight = np.array([fault.weight for fault in faults]) ** EVENED
    return faults[int(luck.choice(len(faults), p=weight / weight.sum()))]


def _pair(circuit: Circuit, faults: list[Fault], luck: np.random.Generator) -> Pair:
    """Two faults, the second mostly where one cause strikes both."""
    total = sum(fault.weight for fault in faults)
    first = _single(faults, luck)
    others = [fault for fault in faults if fault.part.id != first.part.id]
    chances = np.array([pair_prior(circuit, Pair(first, other), total) for other in others])
    second = others[int(luck.choice(len(others), p=chances / chances.sum()))]
    earlier, later = sorted((first, second), key=faults.index)
    return Pair(earlier, later)


def _severity(fault: Fault, luck: np.random.Generator) -> float:
    share = luck.random()
    if not fault.mode.severity.quantity:
        return 0.0
    return float(quantiles(fault.mode.severity, np.array([share]))[0])
