"""Which check would burn something beside which fault: as `read` says it of each pair."""

import random

import pytest

from gaugesim.circuit import find
from gaugesim.front.snapshots import see
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import all_faults
from gaugesim.sweeps.burnt_checks import burnt


@pytest.mark.parametrize("name", ["temp_three_coil", "cluster_bimetal_10v"])
def test_pairs_that_burn_are_those_of_read(name: str) -> None:
    circuit = find(name)
    found = {fault: {check.id for check in checks} for fault, checks in burnt(circuit).items()}
    states = {circuit.sheet.default_state, "key_off"}
    drawn = random.Random(name)
    faults = [fault for fault in all_faults(circuit) if not fault.mode.severity.quantity]
    pairs = [
        (fault.id, check)
        for fault in drawn.sample(faults, 8)
        for check in drawn.sample(check_ids(circuit), 6)
    ]
    pairs += [(fault, drawn.choice(sorted(checks))) for fault, checks in found.items() if "=to_" in fault]
    burn = [any(see(circuit, state, check, [fault]).burns for state in states) for fault, check in pairs]
    assert burn == [check in found.get(fault, ()) for fault, check in pairs]
    assert {*burn} == {True, False}
