"""A gauge that may be right is compared with the truth, and that is what finding it right costs."""

import numpy as np
import pytest

from gaugesim.advice.remedy import repair_named
from gaugesim.case import parse
from gaugesim.circuit import available, find
from gaugesim.consultation import consult
from gaugesim.reading import Situation, respond
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import looks

COMPARES = {"coolant_celsius": "compare_heat", "fuel_level": "compare_level", "oil_bar": "compare_pressure"}


@pytest.mark.parametrize(
    ("circuit", "state", "needle"),
    [
        ("temp_two_coil", "running_warm", "reads_low"),
        ("temp_three_coil", "running_warm", "reads_high"),
        ("fuel_two_coil_0_90", "tank_half", "reads_low"),
    ],
)
def test_where_a_needle_follows_and_stands_wrong_it_is_compared_first(
    circuit: str, state: str, needle: str
) -> None:
    seen = [{"state": state, "needle": needle}, {"state": state, "moves": "follows"}]
    now = consult(parse({"circuit": circuit, "seen": seen}))
    assert now.next_check is not None
    assert now.next_check.check in COMPARES.values()
    then = now.with_answer("seen", state=now.next_check.state, truth="wrong")
    assert then.next_check is not None
    assert then.next_check.check not in COMPARES.values()


@pytest.mark.parametrize("name", available())
def test_to_find_a_gauge_right_takes_as_long_as_to_compare_it(name: str) -> None:
    circuit = find(name)
    for part in circuit.sheet.parts.values():
        if part.kind == "process" and part.gauge in circuit.sheet.gauges:
            check = find_check(circuit, COMPARES[circuit.sheet.gauges[part.gauge].reads], part.gauge)
            assert repair_named(circuit, part.id, part.gauge).minutes >= check.minutes


@pytest.mark.parametrize("name", available())
def test_no_tank_is_dipped_beside_a_running_engine_and_no_dead_needle_is_compared(name: str) -> None:
    circuit = find(name)
    for gauge in circuit.sheet.gauges:
        for check, state in looks(circuit, gauge):
            if check.startswith("compare"):
                assert circuit.sheet.states[state].running == check.startswith("compare_pressure")
                assert not np.isnan(respond(Situation.of(circuit, state)).positions[gauge][0])
