"""``gaugesim read``: the JSON that others rely on, for every shipped circuit, and the answers themselves."""

import math
from typing import Any

import numpy as np
import pytest

from gaugesim import circuit as circuits
from gaugesim.cli import main
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import all_faults

SHIPPED = circuits.available()
# one gauge and several, pulsed and not, on a boat and on land: every kind of check is there
SOME = ("temp_bridge", "fuel_four_coil", "cluster_bimetal_5v", "boat_panel")
KEYS = ["circuit", "state", "check", "faults", "engine", "needles", "reading", "nodes", "currents"]
UNITS = {"volts": "V", "ohms": "ohm", "lamp": ""}
LAMP_WORDS = ("bright", "dim", "out", "flashes")
NEEDLE_WORDS = (
    "pegged_low", "low", "quarter", "half", "three_quarters", "high", "pegged_high", "undriven",
)  # fmt: skip


def finite(*values: Any) -> bool:
    return all(isinstance(value, float) and math.isfinite(value) for value in values)


def figures(found: Any) -> list[Any]:
    """The numbers of an answer in their order, NaN for none."""
    if isinstance(found, dict):
        return [number for key in sorted(found) for number in figures(found[key])]
    return [math.nan] if found is None else [found] if isinstance(found, float) else []


def check_contract(circuit: circuits.Circuit, answer: dict[str, Any]) -> None:
    assert [key for key in answer if key not in ("pulsing", "cautions")] == KEYS
    assert bool(answer.get("cautions")) <= bool(answer["check"])
    assert 0 < answer.get("pulsing", {"duty": 0.5})["duty"] < 1
    assert answer["circuit"] == circuit.id
    assert answer["state"] in circuit.sheet.states
    assert answer["check"] is None or isinstance(answer["check"], str)
    assert list(answer["needles"]) == list(circuit.sheet.gauges)
    for name, needle in answer["needles"].items():
        assert list(needle) == ["position", "low", "high", "word"]
        assert needle["word"] in NEEDLE_WORDS
        figures = [needle["position"], needle["low"], needle["high"]]
        if needle["word"] == "undriven":
            assert figures == [None] * 3
        else:
            assert finite(*figures)
            low, high = circuit.gauge(name).stops
            assert low <= needle["low"] <= needle["position"] <= needle["high"] <= high
    if answer["reading"] is not None:
        check_reading(answer["reading"])
    assert set(circuit.netlist.nodes) == set(answer["nodes"])
    assert all(volts is None or finite(volts) for volts in answer["nodes"].values())
    elements = [element.name for element in circuit.netlist.elements]
    assert list(answer["currents"])[: len(elements)] == elements
    assert finite(*answer["currents"].values())


def check_reading(reading: dict[str, Any]) -> None:
    assert list(reading)[:5] == ["kind", "value", "unit", "low", "high"]
    assert set(reading) <= {"kind", "value", "unit", "low", "high", "pulses", "open", "volts"}
    assert reading["unit"] == UNITS[reading["kind"]]
    assert reading.get("pulses", True) is True
    assert reading.get("open", True) is True
    if reading["kind"] == "lamp":
        assert {reading["value"], reading["low"], reading["high"]} <= set(LAMP_WORDS)
        assert finite(reading["volts"])
    else:
        assert finite(reading["value"], reading["low"], reading["high"])
        assert reading["low"] <= reading["value"] <= reading["high"]


@pytest.mark.parametrize("name", SHIPPED)
def test_contract_in_every_state(ask: Any, name: str) -> None:
    circuit = circuits.find(name)
    for state in circuit.sheet.states:
        answer = ask("read", name, "--state", state)
        check_contract(circuit, answer)
        assert answer["state"] == state
        assert answer["reading"] is None
        assert answer["check"] is None
        assert (answer["faults"], answer["engine"]) == ([], "nodal")
    assert ask("read", name)["state"] == circuit.sheet.default_state


@pytest.mark.parametrize("name", SOME)
def test_contract_at_every_kind_of_check_with_faults(ask: Any, name: str) -> None:
    circuit = circuits.find(name)
    faults = [fault.id for fault in all_faults(circuit)]
    kinds: dict[str, list[str]] = {}
    for check in check_ids(circuit):
        kinds.setdefault(check.partition(":")[0], []).append(check)
    rng = np.random.default_rng(20)
    for kind, checks in kinds.items():
        check = str(rng.choice(checks))
        fault = str(rng.choice(faults))
        answer = ask("read", name, "--check", check, "--fault", fault)
        check_contract(circuit, answer)
        assert answer["check"] == check
        assert answer["faults"] == [fault]
        wanted = {
            **dict.fromkeys(("volts_at", "drop_across", "drop_between", "sender_lead_volts"), "volts"),
            **{"volts_parted": "volts", "ride": "volts", "ohms_parted": "ohms"},
            **dict.fromkeys(("lamp_at", "lamp_on_sender_lead"), "lamp"),
            **dict.fromkeys(("ohms_across", "ohms_between", "sender_ohms", "head_ohms"), "ohms"),
            **dict.fromkeys(("sender_in_water", "float_by_hand"), "ohms"),
        }.get(kind)
        assert (answer["reading"] or {}).get("kind") == wanted


def test_a_set_value_beats_the_state(ask: Any) -> None:
    """The sheet's own mark: 0.5 at 73 degC."""
    answer = ask("read", "temp_opposed_coil", "--state", "key_on_cold", "--set", "coolant_celsius=73")
    assert answer["needles"]["temperature"]["position"] == pytest.approx(0.5, abs=0.02)
    assert answer["needles"]["temperature"]["word"] == "half"
    upper = ask("read", "temp_opposed_coil", "--state", "key_on_cold", "--set", "COOLANT_CELSIUS=73")
    assert upper == answer


def test_values_take_suffixes_and_signs(ask: Any) -> None:
    def position(value: str) -> float:
        answer = ask("read", "temp_two_coil", "--set", f"sender_wire={value}")
        return float(answer["needles"]["temperature"]["position"])

    assert position("0.1k") == position("100") != position("60m")
    cold = ask("read", "temp_two_coil", "--set", "coolant_celsius=-20")
    assert cold["needles"]["temperature"]["word"] == "pegged_low"


def test_a_value_out_of_range_is_noted(capsys: pytest.CaptureFixture[str]) -> None:
    from gaugesim.cli import main

    assert main(["read", "temp_two_coil", "--set", "coolant_celsius=300", "--json"]) == 0
    err = capsys.readouterr().err
    assert (
        err == "gaugesim: coolant_celsius=300 is outside -40 to 130 celsius: the answer is arithmetic only\n"
    )


def test_of_two_faults_in_one_part_the_later_holds(ask: Any) -> None:
    both = ask("read", "temp_two_coil", "--fault", "sender_wire=5", "--fault", "sender_wire=70")
    one = ask("read", "temp_two_coil", "--fault", "sender_wire=70")
    assert both["faults"] == ["sender_wire=5", "sender_wire=70"]
    assert both["needles"] == one["needles"]


def test_a_fault_is_the_typical_one_or_as_severe_as_it_is_said_to_be(ask: Any) -> None:
    severity = circuits.find("temp_two_coil").part("sender_connector").modes["high"].severity
    typical = ask("read", "temp_two_coil", "--fault", "sender_connector=high")
    same = ask("read", "temp_two_coil", "--fault", f"sender_connector=high@{severity.typical:g}")
    worse = ask("read", "temp_two_coil", "--fault", f"sender_connector=high@{10 * severity.typical:g}")
    assert typical["needles"] == same["needles"] != worse["needles"]
    assert worse["faults"] == [f"sender_connector=high@{10 * severity.typical:g}"]


def test_an_open_on_the_ohmmeter(ask: Any) -> None:
    reading = ask("read", "temp_two_coil", "--check", "ohms_across:fuse", "--fault", "fuse=open")["reading"]
    assert reading == {"kind": "ohms", "value": 1e9, "unit": "ohm", "low": 1e9, "high": 1e9, "open": True}
    sound = ask("read", "temp_two_coil", "--check", "ohms_across:fuse")["reading"]
    assert "open" not in sound
    assert sound["value"] == pytest.approx(circuits.find("temp_two_coil").values({})["rfuse"], abs=1e-9)


def test_a_part_alone_leaves_the_rest_without_voltage(ask: Any) -> None:
    answer = ask("read", "temp_opposed_coil", "--check", "sender_ohms")
    ends = {"sender_terminal", "sender_body"}
    assert {node for node, volts in answer["nodes"].items() if volts is not None} <= ends
    assert answer["currents"]["rfuse"] == 0


def test_a_regulator_pulses(ask: Any) -> None:
    """RMS 5 V out of 12.3 V is a mean of 5²/12.3 = 2.0 V, less what the ground wire lifts."""
    answer = ask("read", "cluster_bimetal_5v", "--state", "key_on_cold", "--check", "volts_at:regulator_out")
    assert answer["reading"]["pulses"] is True
    feed = answer["nodes"]["foil_feed_near"]
    assert answer["reading"]["value"] == pytest.approx(25 / feed, rel=0.02)
    assert answer["nodes"]["foil_feed_far"] == pytest.approx(answer["reading"]["value"], rel=1e-3)
    lamp = ask("read", "cluster_bimetal_5v", "--state", "key_on_cold", "--check", "lamp_at:regulator_out")
    assert lamp["reading"]["value"] == "flashes"


def test_a_lamp_has_a_word_and_volts(ask: Any) -> None:
    reading = ask("read", "temp_two_coil", "--check", "lamp_at:fuse_out")["reading"]
    assert reading["value"] == reading["low"] == reading["high"] == "bright"
    assert 11 < reading["volts"] < 15
    dark = ask("read", "temp_two_coil", "--check", "lamp_at:fuse_out", "--fault", "fuse=open")["reading"]
    assert dark["value"] == "out"


def test_a_sender_in_known_water_does_not_feel_the_engine(ask: Any) -> None:
    words = ["read", "temp_two_coil", "--check", "sender_in_water:90"]
    assert ask(*words)["reading"] == ask(*words, "--fault", "process=real_high")["reading"]


@pytest.mark.ngspice
def test_both_engines_answer_alike(ask: Any) -> None:
    """tests/invariants compares them under every check and fault."""
    words = ["read", "boat_panel", "--check", "volts_at:panel_ground", "--fault", "panel_ground=high"]
    nodal, spice = ask(*words), ask(*words, "--engine", "ngspice")
    assert spice["engine"] == "ngspice"
    check_contract(circuits.find("boat_panel"), spice)
    for key in ("needles", "reading", "nodes", "currents"):
        assert figures(nodal[key]) == pytest.approx(figures(spice[key]), rel=1e-6, abs=1e-6, nan_ok=True)


@pytest.mark.parametrize("name", ["cluster_bimetal_5v", "cluster_bimetal_10v"])
def test_means_of_a_pulsing_circuit_are_told_with_the_duty(ask: Any, tell: Any, name: str) -> None:
    circuit = circuits.find(name)
    answer = ask("read", name)
    told = answer["pulsing"]
    assert (told["nodes"], told["currents"]) == ("mean", "mean")
    unit = circuit.sheet.regulator
    assert unit is not None
    design = circuit.parameter_values(circuit.parameters())[unit.design_volts]
    heater = circuit.netlist.element(unit.heater)
    mean = abs(answer["nodes"][heater.node_a] - answer["nodes"].get(heater.node_b, 0.0))
    # a heater that feels the square: D V^2 = design^2, so the mean D V is design times the root of D; what
    # little feeds it while the contact is open makes less than one part of a hundred
    power = 2 if unit.convention == "rms" else 1
    assert mean == pytest.approx(design * told["duty"] ** (1 - 1 / power), rel=1e-2)
    assert f"means: the regulator is on {100 * told['duty']:.0f} % of the time" in tell("read", name)
    assert "pulsing" not in ask("read", name, "--at", "3")
    assert "pulsing" not in ask("read", "temp_two_coil")


@pytest.mark.parametrize("name", SHIPPED)
def test_a_person_sees_needles_first(tell: Any, name: str) -> None:
    circuit = circuits.find(name)
    out = tell("read", name, "--state", "key_on_cold", "--fault", "feed_wire=open")
    lines = out.splitlines()
    assert lines[0] == circuit.sheet.words
    scales = [line for line in lines if "|" in line]
    assert len(scales) == 2 * len(circuit.sheet.gauges)  # as it is, and as it would be if it were sound
    assert all(len(line) <= 80 for line in scales)
    assert "Fault: feed wire to the panel" in out
    for point in circuit.sheet.points.values():
        assert point.node == "0" or point.id in out


def test_why_is_added_and_leads_from_the_supply_to_the_needle(ask: Any, tell: Any) -> None:
    words = ("read", "temp_opposed_coil", "--fault", "stud_bias=open", "--why")
    answer = ask(*words)
    assert list(answer) == [*KEYS, "why"]
    own = answer["why"]["gauges"]["temperature"]
    assert own["position"] == answer["needles"]["temperature"]["position"]
    for arrow in own["arrows"]:
        assert arrow["amperes"] == answer["currents"][arrow["element"]]
    assert sum(arrow["x"] for arrow in own["arrows"]) == pytest.approx(own["total"]["x"])
    assert answer["why"]["sound"]["gauges"]["temperature"]["position"] != own["position"]
    said = tell(*words)
    for step in own["steps"]:
        assert step["title"] in said
        assert step["lines"][0].split()[0] in said
    assert said.index("Supply") < said.index("Currents") < said.index("Fields") < said.index("4. Needle")
    assert said.index("4. Needle") < said.index("! Engine running")


@pytest.mark.parametrize(("name", "value"), [("temp_two_coil", "60"), ("fuel_two_coil_0_90", "60")])
def test_a_sender_set_and_a_sender_of_so_many_ohms_are_told_apart(
    name: str, value: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["read", name, "--set", f"sender={value}"]) == 0
    said = capsys.readouterr().err
    assert f"--set sender={value} sets the .param sender, from which the ohms of part sender follow" in said
    assert f"--fault sender={value} makes the part itself {value} ohm" in said
    # of a wire both are the same, and nothing is said
    assert main(["read", name, "--set", "feed_wire=2"]) == 0
    assert capsys.readouterr().err == ""
