"""The sweep command: rows for programs, tables for people."""

import csv
import itertools
from collections.abc import Callable
from typing import Any

import pytest

from gaugesim.circuit import find
from gaugesim.reading import Situation
from gaugesim.reading.exact import with_faults
from gaugesim.scenario.check import find_check
from gaugesim.scenario.fault import all_faults
from gaugesim.solve import nodal
from gaugesim.sweeps import sweep

Run = Callable[..., Any]
CIRCUIT = "fuel_two_coil_0_90"


def sound(ask: Run, *words: str) -> Any:
    return ask("read", CIRCUIT, *words)


def test_rows_of_one_state_and_check_are_what_read_says(ask: Run) -> None:
    answer = ask("sweep", CIRCUIT, "--state", "key_on_cold", "--check", "sender_lead_volts")
    assert answer["circuit"] == CIRCUIT
    assert {row["fault"] for row in answer["rows"]} == {fault.id for fault in all_faults(find(CIRCUIT))}
    for row in answer["rows"][::40]:
        assert (row["state"], row["check"]) == ("key_on_cold", "sender_lead_volts")
        fault = row["fault"] if row["severity"] is None else f"{row['fault']}@{row['severity']}"
        read = ask("read", CIRCUIT, "--state", row["state"], "--check", row["check"], "--fault", fault)
        assert row["needles"] == pytest.approx({"fuel": read["needles"]["fuel"]["position"]}, abs=1e-9)
        assert row["reading"] == pytest.approx(read["reading"]["value"], abs=1e-9)


def test_without_names_every_state_and_check_has_its_rows(ask: Run) -> None:
    rows = ask("sweep", "fuel_two_coil_0_30", "--severities", "1")["rows"]
    circuit = find("fuel_two_coil_0_30")
    assert {row["state"] for row in rows} == set(circuit.sheet.states)
    checks = {row["check"] for row in rows}
    assert None in checks
    assert {"unplug_sender", "sender_ohms", "lamp_at:stud_feed"} <= checks
    assert "lamp_on_sender_lead" not in checks  # no hot lamp at a tank
    lamps = {row["reading"] for row in rows if row["check"] == "lamp_at:stud_feed"}
    assert lamps <= {"bright", "dim", "out", "flashes"}
    assert len(lamps) > 1


def test_a_row_for_each_pair_of_severities(ask: Run) -> None:
    rows = ask("sweep", CIRCUIT, "--pairs", "--severities", "2")["rows"]
    keys = [(row["fault"], *row["severity"]) for row in rows]
    assert len(set(keys)) == len(keys)
    found: dict[str, int] = {}
    for row in rows:
        found[row["fault"]] = found.get(row["fault"], 0) + 1
        assert row["check"] is None
    faults = all_faults(find(CIRCUIT))
    for one, other in itertools.combinations(faults, 2):
        count = found.pop(f"{one.id}+{other.id}", 0)
        if one.part.id != other.part.id:
            assert count >= 1, (one.id, other.id)
    assert not found
    assert "sender_wire=open+sender_wire=to_ground" in {row["fault"] for row in rows}


def test_a_pair_is_what_read_says_of_both(ask: Run) -> None:
    words = ("--state", "lights_on", "--check", "volts_at:stud_sender")
    rows = ask("sweep", CIRCUIT, "--pairs", "--severities", "1", *words)["rows"]
    for row in rows[:: len(rows) // 12]:
        faults = []
        for name, severity in zip(row["fault"].split("+"), row["severity"], strict=True):
            faults += ["--fault", name if severity is None else f"{name}@{severity}"]
        read = ask("read", CIRCUIT, *words, *faults)
        assert row["needles"] == pytest.approx({"fuel": read["needles"]["fuel"]["position"]}, abs=1e-9), row
        assert row["reading"] == pytest.approx(read["reading"]["value"], abs=1e-8), row


def test_the_table_of_pairs_tells_what_hides_what(tell: Run) -> None:
    shown = tell("sweep", "temp_opposed_coil", "--pairs", "--severities", "3")
    assert "COOLANT TEMPERATURE GAUGE: right is" in shown
    # whatever else is wrong, nothing shows beside a blown fuse or a stuck needle
    covers = shown.split("cannot be seen here")[1]
    assert covers.index("movement=stuck") < covers.index("fuse=open")
    # an engine that really is hot hides behind what makes the needle read low, not high
    together = shown.split("Faults beside which")[0]
    assert "sender=drift_up + process=real_high" in together
    assert "sender=drift_down + process=real_high" not in together
    assert max(map(len, shown.splitlines())) <= 80


def test_the_table_of_pairs_has_the_check_with_its_cautions(tell: Run) -> None:
    shown = tell("sweep", CIRCUIT, "--pairs", "--severities", "1", "--check", "sender_lead_volts")
    assert "THE READING: right is" in shown
    assert "\n! " in shown


def test_the_signature_table_speaks_plainly(tell: Run) -> None:
    shown = tell("sweep", CIRCUIT, "--check", "sender_ohms")
    assert "e+0" not in shown
    assert "open ohm" not in shown
    assert "34 ohm to open" in shown
    assert "42 to 350 ohm" in shown
    assert "\n! " in shown


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--state", "lights_onn"], "lights_on"),
        (["--check", "unplug_sendr"], "unplug_sender"),
        (["--severities", "0"], "1 to 1000"),
        (["--pair"], "--pairs"),
        (["--pairs", "--check", "volts_at:nowhere"], "nowhere"),
    ],
)
def test_a_mistake_is_one_line(fail: Run, words: list[str], told: str) -> None:
    status, line = fail("sweep", CIRCUIT, *words)
    assert status == 2
    assert told in line


def test_with_json_a_mistake_prints_nothing_else(fail: Run) -> None:
    status, line = fail("sweep", CIRCUIT, "--pairs", "--json", "--state", "key")
    assert status == 2
    assert "key_off" in line


@pytest.mark.parametrize("words", [("--check", "lamp_at:panel_feed"), ("--pairs", "--severities", "1")])
def test_a_table_with_commas_has_the_rows_of_the_json(ask: Any, tell: Any, words: tuple[str, ...]) -> None:
    command = ("sweep", "boat_two_station", "--state", "key_off", *words)
    rows = ask(*command)["rows"]
    table = list(csv.DictReader(tell(*command, "--csv").splitlines()))
    assert len(table) == len(rows) > 50
    for line, row in zip(table, rows, strict=True):
        assert line["fault"] == row["fault"]
        for gauge, position in row["needles"].items():
            assert line[gauge] == ("" if position is None else repr(position))
        assert line["reading"] == ("" if row["reading"] is None else str(row["reading"]))


def test_a_table_goes_with_no_json(fail: Any) -> None:
    assert "--csv goes with no --json" in fail("sweep", "temp_two_coil", "--csv", "--json")[1]


def test_where_a_fault_makes_the_lead_burn_the_table_says_so(ask, tell) -> None:
    circuit, state, name = find("temp_three_coil"), "running_warm", "ground_sender_lead"
    rows = ask("sweep", circuit.id, "--check", name, "--state", state)["rows"]
    situation = Situation.of(circuit, state, find_check(circuit, name))
    swept = sweep(situation)
    [(lead, most)] = situation.check.leads.limits.items()
    decided = situation.decided(situation.network)
    for row, told in enumerate(rows):
        solution = nodal.solve(with_faults(situation.network, swept.scenarios, row, decided))
        assert (abs(float(solution.current(lead))) > most) == told.get("burns", False), told["fault"]
    assert {row["fault"] for row in rows if "burns" in row} >= {"sender_wire=to_feed"}
    assert "burns: not to be made" in tell("sweep", circuit.id, "--state", state)
