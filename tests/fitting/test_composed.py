"""A movement that no shipped circuit has with the wanted sender: a circuit is composed of both."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gaugesim import circuit as circuits
from gaugesim.circuit import Circuit
from gaugesim.fitting import fit, parse_points, write
from gaugesim.fitting.comparison import shipped_gauges
from gaugesim.reading import Situation, respond
from gaugesim.scenario.fault import all_faults
from gaugesim.shortcomings import review

MOVEMENTS = [
    "temp_two_coil",
    "temp_three_coil",
    "temp_opposed_coil",
    "temp_bridge",
    "fuel_two_coil_0_90",
    "fuel_four_coil",
]
KEYS = {"temperature": "celsius", "fuel": "level", "oil_pressure": "bar"}
SHIPPED = {(circuit.sheet.gauges[name].topology, name) for circuit, name in shipped_gauges()}
# each movement with one of the senders that it is not shipped with, so that each sender has its turn
PAIRS = [
    (name, wanting[k % len(wanting)])
    for k, name in enumerate(MOVEMENTS)
    if (wanting := [gauge for gauge in KEYS if (circuits.find(name).gauge().topology, gauge) not in SHIPPED])
]


def sender(gauge: str, low: float, high: float) -> list[dict[str, float]]:
    """A sender that goes over the ohms at which the needle was read."""
    if gauge == "temperature":
        return [{"celsius": 120, "ohms": max(low, 5.0)}, {"celsius": 40, "ohms": max(high, 50.0)}]
    full = 1 if gauge == "fuel" else 10
    return [{KEYS[gauge]: full * k / 4, "ohms": low + (high - low) * k / 4} for k in range(5)]


def test_there_are_such_pairs() -> None:
    assert len(PAIRS) >= 5
    assert {gauge for _, gauge in PAIRS} == {*KEYS}


@pytest.mark.parametrize(("name", "gauge"), PAIRS)
def test_any_movement_is_written_with_any_sender(
    name: str,
    gauge: str,
    measure: Callable[..., dict[str, Any]],
    stands: Callable[[Circuit, str, float], float],
    tmp_path: Path,
) -> None:
    original = circuits.find(name)
    data = measure(original, original.gauge().id, coils=True, sweep=True)
    ohms = [one["ohms"] for one in data["needle"]]
    data |= {"gauge": gauge, "sender": sender(gauge, min(ohms), max(ohms))}
    found = fit(parse_points(data))
    assert found.movement == original.gauge().topology
    write(found, "mine", tmp_path)
    mine = circuits.find("mine", tmp_path)
    assert mine.sheet.gauges[gauge].topology == original.gauge().topology
    for one in data["needle"]:
        assert stands(mine, gauge, one["ohms"]) == pytest.approx(
            stands(original, original.gauge().id, one["ohms"]), abs=0.02
        )
    # and it is a sound circuit in every other way, with the movement's own parts to fail
    assert review(mine) == ()
    prefix = f"{gauge}_" if f"{gauge}_movement" in mine.sheet.parts else ""
    own = {part.id for part in mine.sheet.parts.values()}
    for part in original.sheet.parts.values():
        if part.kind in ("coil", "series_resistor") or part.id in ("stud_bias", "stud_tap"):
            assert f"{prefix}{part.id}" in own
    assert len({fault.id for fault in all_faults(mine)}) == len(all_faults(mine))


def test_the_half_stuck_needle_of_a_loose_stud_comes_along(
    measure: Callable[..., dict[str, Any]], tmp_path: Path
) -> None:
    """Stud B open: exactly half, whatever the sender (so it is with opposed coils, by how they work)."""
    original = circuits.find("temp_opposed_coil")
    data = measure(original, "temperature", coils=True, sweep=True)
    write(fit(parse_points({**data, "gauge": "fuel"})), "mine", tmp_path)
    mine = circuits.find("mine", tmp_path)
    from gaugesim.scenario.fault import parse_fault
    from gaugesim.scenario.scenarios import stack

    seen = []
    for level in (0.0, 0.5, 1.0):
        situation = Situation.of(mine, "key_on_cold", given={"fuel_level": level})
        _, change = parse_fault(mine, "stud_bias=open", situation.parameters)
        seen.append(float(respond(situation, stack([change])).positions["fuel"][0]))
    assert seen == pytest.approx([0.5, 0.5, 0.5], abs=0.03)
