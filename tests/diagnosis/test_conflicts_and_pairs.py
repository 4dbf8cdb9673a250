"""Readings that contradict each other, faults that come and go, two faults at once."""

import math

import pytest
from diagnosis.reports import report

from gaugesim.case import parse
from gaugesim.circuit import Circuit, find
from gaugesim.diagnosis import Diagnosis, diagnose
from gaugesim.evidence.cells import SECOND_FAULT, pair_prior
from gaugesim.scenario.fault import Pair, all_faults, find_fault

COLD = [{"state": "running_warm", "needle": "pegged_low"}]
KEY_ON = "key_on_cold"


@pytest.fixture(scope="module")
def circuit() -> Circuit:
    return find("temp_two_coil")


def ranked(circuit: Circuit, **entries: list[dict]) -> Diagnosis:
    return diagnose(parse({"circuit": circuit.id, **entries}), [circuit])


def readings(circuit: Circuit, faults: str, *checks: str) -> list[dict]:
    return [
        report(circuit, faults, check, "key_off" if check.startswith("ohms") else KEY_ON) for check in checks
    ]


@pytest.mark.parametrize(
    ("wrong", "meter", "answer", "leader"),
    [
        ("volts_at:sender_lead", "voltmeter at the sender lead", 11.9, "stud_sender=open"),
        ("ohms_across:stud_sender", "ohmmeter across the nut on stud S", 0.0, "stud_sender=open"),
    ],
)
def test_the_one_wrong_reading_is_to_be_repeated(
    circuit: Circuit, wrong: str, meter: str, answer: float, leader: str
) -> None:
    """Five readings of one open nut, one of them misread: that one is named, and what leads without it."""
    checks = (
        "volts_at:sender_lead",
        "drop_across:stud_sender",
        "ohms_across:stud_sender",
        "volts_at:stud_feed",
        "sender_lead_volts",
    )
    entries = readings(circuit, "stud_sender=open", *checks)
    sound = ranked(circuit, seen=COLD, measured=entries)
    assert sound.conflicts == ()
    assert sound.ranking[0].fault == leader
    number = checks.index(wrong)
    kind = "ohms" if wrong.startswith("ohms") else "volts"
    entries[number] = {**entries[number], kind: answer}
    found = ranked(circuit, seen=COLD, measured=entries)
    named = {conflict.where: conflict for conflict in found.conflicts}
    first = named[f"case.toml: measured[{number + 1}]"]
    assert meter in first.sentence
    assert first.leader == leader
    assert 0.0 < first.probability < 0.1


def test_a_rare_fault_is_no_contradiction(circuit: Circuit) -> None:
    """An unlikely fault that explains all of it: surprising together, but nothing is to be repeated."""
    rare = min(
        (fault for fault in all_faults(circuit) if fault.mode.id == "open"), key=lambda fault: fault.weight
    )
    checks = (f"ohms_across:{rare.part.id}", f"drop_across:{rare.part.id}", "volts_at:stud_feed")
    found = ranked(circuit, measured=readings(circuit, rare.id, *checks))
    assert found.ranking[0].fault == rare.id
    assert found.conflicts == ()


def test_without_a_second_observation_there_is_no_conflict(circuit: Circuit) -> None:
    odd = [{"check": "volts_at:body", "state": KEY_ON, "volts": 6.0}]
    assert ranked(circuit, measured=odd).conflicts == ()


def test_a_conflict_says_which_other_fault_would_lead(circuit: Circuit) -> None:
    """A nut seen loose, the voltages of an open one, and a sender measured open by mistake."""
    entries = readings(circuit, "stud_sender=open", "volts_at:sender_lead", "drop_across:stud_sender")
    measured = [*entries, {"check": "ohms_across:sender_connector", "ohms": "open"}]
    found = ranked(circuit, seen=COLD, measured=measured)
    told = {conflict.where: conflict for conflict in found.conflicts}
    conflict = told["case.toml: measured[3]"]
    assert conflict.leader == "stud_sender=open"
    assert conflict.leader_words == "nut on stud S (sender) is loose and makes no contact"
    # without it a pair is no longer needed
    assert conflict.changes_leader == (found.ranking[0].fault != "stud_sender=open")


def test_a_needle_that_jumps_is_an_intermittent_fault() -> None:
    """Half, with a jump: the nut makes contact now and then, it is not one that never does."""
    circuit = find("temp_opposed_coil")
    half = {"state": "running_warm", "needle": "half"}
    steady = ranked(circuit, seen=[half])
    jumping = ranked(circuit, seen=[{**half, "moves": "jumps"}])
    assert steady.ranking[0].fault == "stud_bias=open"

    def times(found: Diagnosis) -> float:
        by = {suspect.fault: suspect.probability for suspect in found.ranking}
        return by["stud_bias=intermittent"] / by["stud_bias=open"]

    assert jumping.ranking[0].mode == "intermittent"
    assert times(jumping) > 5 > 1 > times(steady)
    # one right reading hardly acquits it: it keeps its place before the fault that is always there
    right = ranked(circuit, seen=[{**half, "often": "sometimes"}, {"state": KEY_ON, "needle": "normal"}])
    assert times(right) > 5


def test_moving_the_part_finds_it(circuit: Circuit) -> None:
    """The needle jumps when the connector is moved: its intermittent fault gains most."""
    sometimes = [{"state": "running_warm", "needle": "pegged_low", "often": "sometimes"}]
    moved = {"check": "wiggle:sender_connector", "state": KEY_ON}
    before = ranked(circuit, seen=sometimes)
    jumps = ranked(circuit, seen=sometimes, measured=[{**moved, "moves": "jumps"}])
    steady = ranked(circuit, seen=sometimes, measured=[{**moved, "moves": "never"}])

    def chance(found: Diagnosis) -> float:
        return next(
            each.probability for each in found.ranking if each.fault == "sender_connector=intermittent"
        )

    assert jumps.ranking[0].fault == "sender_connector=intermittent"
    assert chance(steady) < chance(before) < chance(jumps)


def test_the_prior_of_a_pair_by_hand(circuit: Circuit) -> None:
    """One in twenty with a fault has a second; the nuts of one gauge go together more often."""
    total = sum(fault.weight for fault in all_faults(circuit))
    nut, other, fuse = (
        find_fault(circuit, name) for name in ("stud_sender=open", "stud_ground=open", "fuse=open")
    )
    shares = {fault.id: fault.weight / total for fault in (nut, other, fuse)}
    group = circuit.sheet.groups["studs"]
    assert {"stud_sender", "stud_ground"} <= {*group.parts}
    together = pair_prior(circuit, Pair(nut, other), total)
    by_hand = SECOND_FAULT * 2 * shares[nut.id] * shares[other.id] * group.factor
    assert together == pytest.approx(by_hand, rel=1e-12)
    apart = pair_prior(circuit, Pair(nut, fuse), total)
    assert apart == pytest.approx(SECOND_FAULT * 2 * shares[nut.id] * shares[fuse.id], rel=1e-12)


@pytest.mark.parametrize(
    ("first", "second"), [("stud_sender", "stud_ground"), ("stud_sender", "sender_ground")]
)
def test_two_faults_that_only_both_explain(circuit: Circuit, first: str, second: str) -> None:
    checks = (
        f"ohms_across:{first}",
        f"ohms_across:{second}",
        f"drop_across:{first}",
        f"drop_across:{second}",
    )
    both = f"{first}=open+{second}=open"
    found = ranked(circuit, seen=COLD, measured=readings(circuit, both, *checks))
    leader = found.ranking[0]
    assert {*leader.fault.split("+")} == {*both.split("+")}
    assert leader.probability > 0.5
    # both are mended
    minutes = sum(circuit.sheet.parts[part].repair_minutes for part in (first, second))
    assert leader.repair_minutes == pytest.approx(minutes)


def test_one_fault_that_explains_all_needs_no_second(circuit: Circuit) -> None:
    """Occam: a pair whose second part shows nothing stays far behind."""
    entries = readings(circuit, "sender=open", "ohms_across:sender_connector", "sender_lead_volts")
    found = ranked(circuit, seen=COLD, measured=[*entries, {"check": "sender_ohms", "ohms": "open"}])
    pairs = sum(suspect.probability for suspect in found.ranking if "+" in suspect.fault)
    assert found.ranking[0].fault == "sender=open"
    assert pairs < 0.1
    assert not math.isclose(pairs, 0.0)
