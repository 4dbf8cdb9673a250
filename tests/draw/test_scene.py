"""A scene is what the engines say of the same circuit, state, check and faults."""

import pytest

from gaugesim.circuit import Circuit, find
from gaugesim.draw import scene
from gaugesim.errors import GaugesimError
from gaugesim.reading import Situation, respond
from gaugesim.scenario.check import find_check


def test_a_sound_scene_is_the_sound_circuit(any_circuit: Circuit) -> None:
    shown = scene(any_circuit, "key_on_cold")
    expected = respond(Situation.of(any_circuit, "key_on_cold")).positions
    for gauge, needle in shown.seen.needles.items():
        assert needle.position == pytest.approx(expected[gauge][0])
    assert not shown.faults
    assert not shown.marks


def test_check_and_given_values_reach_the_circuit() -> None:
    circuit = find("temp_two_coil")
    shown = scene(circuit, "running_warm", "ground_sender_lead", given={"coolant_celsius": 50})
    situation = Situation.of(
        circuit, "running_warm", find_check(circuit, "ground_sender_lead"), {"coolant_celsius": 50}
    )
    assert shown.seen.needles["temperature"].position == pytest.approx(
        respond(situation).positions["temperature"][0]
    )
    assert "held to the engine block" in shown.title


@pytest.mark.parametrize(
    ("fault", "words", "marked"),
    [
        ("sender_connector=high@47", "connector on the sender is corroded", {"rsender_connector"}),
        ("sender=120", "sender is 120 ohm", {"r.xsender.rthermistor"}),
        ("sender_wire=to_ground", "sender wire is chafed through to ground", {"sender_lead:body"}),
        (
            "movement=stuck",
            "needle of the gauge is stuck",
            {"r.xtemperature.rfixed", "r.xtemperature.rsensing"},
        ),
        (
            "process=real_high",
            "coolant temperature really is high: the gauge is right "
            "(thermostat shut, flow blocked, coolant low)",
            {"r.xsender.rthermistor"},
        ),
    ],
)
def test_a_fault_has_words_and_a_place(fault: str, words: str, marked: set[str]) -> None:
    shown = scene(find("temp_two_coil"), faults=[fault])
    assert shown.fault_words == words
    assert set(shown.marks) == marked


def test_a_mistake_is_reported_by_name() -> None:
    with pytest.raises(GaugesimError, match="did you mean sender_connector"):
        scene(find("temp_two_coil"), faults=["sender_conector=open"])
