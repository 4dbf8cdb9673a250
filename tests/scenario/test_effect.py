"""What each mode of failure changes, against values worked out by hand from the netlist's own numbers."""

import math
from dataclasses import replace

import numpy as np
import pytest

from gaugesim.circuit import Circuit, find
from gaugesim.errors import SheetError
from gaugesim.scenario.effect import Make, change, combine
from gaugesim.scenario.fault import Change, Fault, find_fault
from gaugesim.sheet import Severity

# of temp_two_coil.cir: the wire's ohms, the fixed coil's at 20 °C and its copper at 25 °C, the sender's law
WIRE = 0.06
COIL = 150 * (1 + 0.00393 * 5)
SENDER_AT_80, BETA = 70.0, 3900.0
ABSOLUTE = 273.15


def sender_ohms(celsius: float) -> float:
    return SENDER_AT_80 * math.exp(BETA * (1 / (celsius + ABSOLUTE) - 1 / (80 + ABSOLUTE)))


@pytest.fixture(scope="module")
def circuit() -> Circuit:
    return find("temp_two_coil")


def changed(circuit: Circuit, fault: str, *severity: float) -> Change:
    return change(circuit, find_fault(circuit, fault), np.array(severity), circuit.parameters())


@pytest.mark.parametrize(
    ("fault", "severity", "element", "ohms"),
    [
        ("sender_wire=open", [0.0], "rsender_wire", [np.inf]),
        ("sender_wire=intermittent", [0.0], "rsender_wire", [np.inf]),
        ("ignition_switch=stuck_open", [0.0], "rignition_switch", [np.inf]),
        ("sender_wire=high", [0.5, 20.0], "rsender_wire", [WIRE + 0.5, WIRE + 20.0]),
        ("sender=short", [0.0, 3.0], "r.xsender.rthermistor", [0.0, 3.0]),
        ("coil_fixed=drift_up", [1.1, 2.0], "r.xtemperature.rfixed", [1.1 * COIL, 2.0 * COIL]),
        ("sender=drift_down", [0.5], "r.xsender.rthermistor", [0.5 * sender_ohms(85)]),
        ("process=real_high", [15.0, 30.0], "r.xsender.rthermistor", [sender_ohms(100), sender_ohms(115)]),
        ("process=real_low", [45.0], "r.xsender.rthermistor", [sender_ohms(40)]),
    ],
)
def test_a_branch_becomes(
    circuit: Circuit, fault: str, severity: list[float], element: str, ohms: list[float]
) -> None:
    found = changed(circuit, fault, *severity)
    assert [*found.branches] == [element]
    np.testing.assert_allclose(found.branches[element], ohms, rtol=1e-12)
    assert not found.paths
    assert not found.volts
    assert not found.turns


def test_a_coil_with_shorted_turns_has_less_resistance_and_less_pull(circuit: Circuit) -> None:
    found = changed(circuit, "coil_fixed=short", 0.25, 0.8)
    np.testing.assert_allclose(found.branches["r.xtemperature.rfixed"], [0.25 * COIL, 0.8 * COIL])
    np.testing.assert_array_equal(found.turns["r.xtemperature.rfixed"], [0.25, 0.8])


@pytest.mark.parametrize(
    ("mode", "far"), [("to_ground", "body"), ("leak", "body"), ("to_feed", "panel_feed")]
)
def test_a_chafed_wire_has_a_path_beside_it(circuit: Circuit, mode: str, far: str) -> None:
    found = changed(circuit, f"sender_wire={mode}", 7.0)
    assert {nodes: ohms.tolist() for nodes, ohms in found.paths.items()} == {("sender_lead", far): [7.0]}
    assert not found.branches


def test_a_weak_battery_is_another_source(circuit: Circuit) -> None:
    found = changed(circuit, "battery=low_volts", 9.5)
    assert {name: volts.tolist() for name, volts in found.volts.items()} == {"vbattery": [9.5]}
    assert {name: volts.tolist() for name, volts in found.parameters.items()} == {"battery_volts": [9.5]}


def test_a_worn_sender_is_worn_at_the_temperature_that_there_is(circuit: Circuit) -> None:
    worn, hot = (find_fault(circuit, name) for name in ("sender=drift_up", "process=real_high"))

    def make(fault: Fault, severity: float) -> Make:
        return lambda parameters: change(circuit, fault, np.array([severity]), parameters)

    for makes in ([make(worn, 1.5), make(hot, 30.0)], [make(hot, 30.0), make(worn, 1.5)]):
        both = combine(makes, circuit.parameters())
        assert both.branches["r.xsender.rthermistor"] == pytest.approx([1.5 * sender_ohms(115)], rel=1e-12)
    (again,) = combine([make(worn, 1.5)], circuit.parameters()).again
    cooler = again.make({"coolant_celsius": 40.0}, again.rows)
    assert cooler["r.xsender.rthermistor"] == pytest.approx([1.5 * sender_ohms(40)], rel=1e-12)


def test_exchanged_leads_come_apart_and_meet_the_other_gauges() -> None:
    circuit = find("cluster_air_core")
    name = next(part.id for part in circuit.sheet.parts.values() if "crossed" in part.modes)
    part = circuit.sheet.parts[name]
    found = changed(circuit, f"{name}=crossed", 0.0)
    first, second = part.crosses or tuple(circuit.sheet.gauges)[:2]
    assert len(found.branches) == len(found.paths) == 2
    assert all(np.isinf(ohms).all() for ohms in found.branches.values())
    ends = {
        gauge: next(
            circuit.netlist.element(element)
            for element in found.branches
            if circuit.part(element.removeprefix("r")).gauge == gauge
        )
        for gauge in (first, second)
    }
    assert {*found.paths} == {
        (ends[first].node_a, ends[second].node_b),
        (ends[second].node_a, ends[first].node_b),
    }


def test_a_mode_without_a_law_is_named(circuit: Circuit) -> None:
    fault = find_fault(circuit, "fuse=high")
    lawless = replace(fault, mode=replace(fault.mode, severity=Severity()))
    with pytest.raises(
        SheetError, match="nothing says what fuse=high does; give its mode set, ohms or factor"
    ):
        change(circuit, lawless, np.array([1.0]), circuit.parameters())
