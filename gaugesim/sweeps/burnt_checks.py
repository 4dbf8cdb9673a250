"""Which check would burn something beside which fault: leads, resistors and senders that carry too much."""

from __future__ import annotations

from collections.abc import Mapping

from gaugesim.circuit import Circuit
from gaugesim.reading import Situation
from gaugesim.reading.response import burns
from gaugesim.scenario.check import Check, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import all_faults
from gaugesim.sweeps.singles import fault_rows

# at its least, at its middle and at its worst
_SEVERITIES = 3


def burnt(circuit: Circuit) -> Mapping[str, tuple[Check, ...]]:
    """The checks that are not to be made beside each fault.

    From the ids of faults to checks that burn something in the usual state or with the key off, at some
    severity; faults that make nothing burn are left out.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> found = burnt(find("temp_three_coil"))
    >>> "ground_sender_lead" in [check.id for check in found["sender_wire=to_feed"]]
    True
    >>> "sender_wire=open" in found
    False
    """
    faults = all_faults(circuit)
    states = {circuit.sheet.default_state, "key_off"} & circuit.sheet.states.keys()
    result: dict[str, dict[str, Check]] = {}
    for check in (find_check(circuit, name) for name in check_ids(circuit)):
        for state in sorted(states) if check.leads.limits else ():
            situation = Situation.of(circuit, state, check)
            rows = fault_rows(circuit, faults, situation, _SEVERITIES)
            for k in rows.source[burns(situation, rows)]:
                result.setdefault(faults[k].id, {})[check.id] = check
    return {fault: tuple(checks.values()) for fault, checks in result.items()}
