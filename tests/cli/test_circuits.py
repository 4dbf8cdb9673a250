"""``gaugesim circuits``: the list, and one of them as a card."""

from typing import Any

import pytest

from gaugesim import circuit as circuits
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import all_faults, find_fault

SHIPPED = circuits.available()
KEYS = {"id", "words", "movement", "gauges", "default_state", "states", "checks", "faults", "parts"}


def test_the_list_holds_every_shipped_circuit(ask: Any) -> None:
    answer = ask("circuits")
    assert list(answer) == ["circuits"]
    assert [entry["id"] for entry in answer["circuits"]] == list(SHIPPED)
    for entry in answer["circuits"]:
        assert set(entry) >= KEYS


@pytest.mark.parametrize("name", SHIPPED)
def test_contract(ask: Any, name: str) -> None:
    circuit = circuits.find(name)
    (entry,) = ask("circuits", name)["circuits"]
    assert entry["id"] == name
    assert entry["words"] == circuit.sheet.words
    assert entry["gauges"] == list(circuit.sheet.gauges)
    assert entry["default_state"] in [state["id"] for state in entry["states"]]
    for state in entry["states"]:
        assert set(state) == {"id", "words", "set"}
        assert all(isinstance(value, float) for value in state["set"].values())
        assert set(state["set"]) <= set(circuit.netlist.parameters)
    assert entry["checks"] == list(check_ids(circuit))
    assert all(find_check(circuit, check).id == check for check in entry["checks"])
    assert len(set(entry["faults"])) == len(entry["faults"]) == len(all_faults(circuit))
    assert all(find_fault(circuit, fault).id == fault for fault in entry["faults"])
    assert [part["id"] for part in entry["parts"]] == list(circuit.sheet.parts)
    for part in entry["parts"]:
        assert part["place"] in [place["id"] for place in entry["places"]]
        assert {f"{part['id']}={mode}" for mode in part["modes"]} <= set(entry["faults"])
        if part["element"] is not None:
            assert 0 <= part["low"] <= part["ohms"] <= part["high"]


def test_a_path_is_a_circuit_too(ask: Any, netlists: Any) -> None:
    assert ask("circuits", str(netlists / "temp_two_coil.cir")) == ask("circuits", "temp_two_coil")


def test_the_list_for_a_person(tell: Any) -> None:
    lines = tell("circuits").splitlines()
    assert [line for line in lines if line in SHIPPED] == list(SHIPPED)
    assert all(len(line) <= 80 for line in lines)


@pytest.mark.parametrize("name", ["temp_bridge", "cluster_bimetal_5v", "boat_panel"])
def test_the_card_names_parts_places_states_and_checks(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    from gaugesim.cli import main

    circuit = circuits.find(name)
    state = circuit.sheet.default_state
    assert main(["circuits", name, "--state", state]) == 0
    out = capsys.readouterr().out
    for part in circuit.sheet.parts:
        assert f" {part}\n" in out
    for place in circuit.sheet.places.values():
        used = any(part.place == place.id for part in circuit.sheet.parts.values())
        assert place.words.upper() in out or not used
    for entry in circuit.sheet.states:
        assert f"  {entry} " in out
    words = {word.rstrip(",:") for word in out.split()}
    for check in check_ids(circuit):
        assert check in words or find_check(circuit, check).reads in ("jump", "look")


def test_the_card_says_what_differs_between_states(capsys: pytest.CaptureFixture[str]) -> None:
    from gaugesim.cli import main

    assert main(["circuits", "temp_opposed_coil"]) == 0
    out, err = capsys.readouterr()
    assert "    unplug_sender: low stop; key_off: undriven\n" in out
    assert "    drop_across:fuse: under 0.1 V\n" in out
    assert err == "gaugesim: working out what a sound circuit shows at each check\n"
