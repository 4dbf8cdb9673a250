"""Parts that a fault elsewhere overloads: a fuse or a regulator behind which a lead is bare fails again."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from gaugesim.circuit import Circuit
from gaugesim.reading import Situation
from gaugesim.reading.response import embedded
from gaugesim.scenario.fault import HEALTHY, Fault, Pair, change, merge
from gaugesim.scenario.scenarios import stack

# a part that carries so many times the current of a sound vehicle fails again: assumed
OVERLOAD = 10.0
# kinds of parts that too much current destroys
_FUSIBLE = ("fuse", "regulator")


def overloads(circuit: Circuit, faults: Sequence[Fault | Pair], parts: Collection[str]) -> NDArray[np.bool_]:
    """Whether each fault, at its typical severity, destroys one of some parts anew.

    Parameters
    ----------
    parts : collection of str
        Ids of parts; only fuses and regulators count, and only faults that are not in these.

    Returns
    -------
    ndarray of bool, shape (faults,)

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.scenario.fault import all_faults
    >>> circuit = find("cluster_bimetal_5v")
    >>> faults = all_faults(circuit)
    >>> shorted = overloads(circuit, faults, ["regulator"])
    >>> [fault.id for fault, one in zip(faults, shorted) if one][:2]
    ['foil_feed=to_ground', 'fuel_stud_feed=to_ground']
    """
    situation = Situation.of(circuit, circuit.sheet.default_state)
    elements = [
        circuit.sheet.parts[name].element for name in parts if circuit.sheet.parts[name].kind in _FUSIBLE
    ]
    if not elements:
        return np.zeros(len(faults), dtype=np.bool_)
    changes = [
        merge(
            [
                change(circuit, single, np.array([single.mode.severity.typical]), situation.parameters)
                for single in entry.singles
            ]
        )
        for entry in faults
    ]
    outputs = [situation.network.branch(name) for name in elements]
    currents = np.abs(embedded(situation)(situation.network, outputs, stack([HEALTHY, *changes]), None))
    elsewhere = np.array([all(single.part.id not in parts for single in entry.singles) for entry in faults])
    return np.asarray(elsewhere & (currents[1:] > OVERLOAD * currents[:1]).any(axis=1))
