"""The ranking: it adds up over candidate circuits, its groups and its reasons are what they say they are."""

import math

import numpy as np
import pytest

from gaugesim.case import parse, read
from gaugesim.circuit import find
from gaugesim.diagnosis import Diagnosis, complained_of, diagnose, fault_name
from gaugesim.diagnosis.result import Reason
from gaugesim.errors import CaseError
from gaugesim.evidence import bayes as rule
from gaugesim.paths import shipped_netlists

CASES = shipped_netlists() / "cases"
TOLD_APART = 1.5


@pytest.fixture(scope="module")
def which() -> Diagnosis:
    return diagnose(read(CASES / "which_movement.toml"))


@pytest.fixture(scope="module")
def stuck() -> Diagnosis:
    return diagnose(read(CASES / "stuck_at_half.toml"))


def test_the_ranking_adds_up_over_the_circuits(which: Diagnosis) -> None:
    """P(fault) = sum of P(circuit) P(fault | circuit), by part and mode."""
    by_hand: dict[str, float] = {}
    for entry in which.posteriors:
        circuit = entry.cells.circuit
        gauge = complained_of(which.case, circuit)
        for fault, p in zip(entry.cells.faults, entry.fault.tolist(), strict=True):
            name = fault_name(circuit, fault, gauge)
            by_hand[name] = by_hand.get(name, 0.0) + which.circuits[circuit.id] * p
    assert {suspect.fault: suspect.probability for suspect in which.ranking} == pytest.approx(
        by_hand, rel=1e-9
    )
    assert len(which.posteriors) == 4
    assert sum(by_hand.values()) + which.none_of_these == pytest.approx(1.0, abs=1e-9)


def test_circuits_are_as_probable_as_they_make_what_was_seen(which: Diagnosis) -> None:
    """Equal priors: P(circuit) is its evidence over the sum of all, each from a diagnosis of its own."""
    evidence = {}
    for name in which.circuits:
        alone = diagnose(which.case, [find(name)])
        assert alone.circuits == {name: 1.0}
        evidence[name] = math.exp(alone.posteriors[0].log_evidence)
    total = sum(evidence.values())
    assert which.circuits == pytest.approx({name: e / total for name, e in evidence.items()}, rel=1e-9)


def test_a_circuit_that_lacks_what_was_measured_is_no_candidate() -> None:
    """Stud B is on the gauge with four studs alone."""
    entries = {"measured": [{"check": "volts_at:stud_bias", "volts": 12.4}]}
    found = diagnose(parse({"circuit": "temp_*", **entries}))
    assert set(found.circuits) == {"temp_opposed_coil"}
    with pytest.raises(CaseError, match=r"measured\[1\]"):
        diagnose(parse({"circuit": "temp_two_coil", **entries}))


def test_a_gauge_drops_its_name() -> None:
    entries = {"seen": [{"state": "running_warm", "gauge": "fuel", "needle": "pegged_low"}]}
    found = diagnose(parse({"circuit": "cluster_air_core", "gauge": "fuel", **entries}))
    names = {suspect.part for suspect in found.ranking}
    assert {"sender", "temperature_sender", "oil_pressure_sender"} <= names
    assert "fuel_sender" not in names


def test_what_a_group_has_in_common(stuck: Diagnosis) -> None:
    """Nothing that was seen is three times likelier under the first of a group than under another."""
    entry = stuck.posteriors[0]
    explained = entry.explained
    place = {
        fault_name(entry.cells.circuit, fault, stuck.gauge): i for i, fault in enumerate(entry.cells.faults)
    }
    assert stuck.groups
    for group in stuck.groups:
        rows = explained[:, [place[name] for name in group]]
        assert (rows.max(axis=1) / rows[:, 0]).max() < TOLD_APART
        assert (rows[:, 0] / rows.min(axis=1)).max() < TOLD_APART
    members = [name for group in stuck.groups for name in group]
    assert len(members) == len(set(members))
    # dead supplies look alike from the dial; a nut does not
    grouped = {name: i for i, group in enumerate(stuck.groups) for name in group}
    assert grouped["fuse=open"] == grouped["feed_wire=open"]
    assert grouped.get("stud_bias=open") != grouped["fuse=open"]


def test_a_reading_breaks_a_group_up(stuck: Diagnosis) -> None:
    """12.5 V behind the fuse: the fuse is sound, and what comes after it is not told apart by that."""
    seen = [{"state": state, "needle": "low"} for state in ("key_on_cold", "running_warm")]
    reading = {"check": "volts_at:fuse_out", "state": "key_on_cold", "volts": 12.5}
    found = diagnose(parse({"circuit": "temp_opposed_coil", "seen": seen, "measured": [reading]}))
    grouped = {name: i for i, group in enumerate(found.groups) for name in group}
    assert grouped["feed_wire=open"] == grouped["panel_connector_feed=open"]
    assert grouped.get("fuse=open") != grouped["feed_wire=open"]


def test_every_observation_counts_for_groups() -> None:
    """A feed pin that looks loose leaves those that make the panel dead; what needles told still holds."""
    seen = [{"state": state, "needle": "half"} for state in ("key_on_cold", "running_warm")]
    looked = [{"part": "panel_connector_feed", "found": "loose"}]
    dead = ("fuse=open", "feed_wire=open")

    def grouped(**entries: list[dict]) -> dict[str, int]:
        found = diagnose(parse({"circuit": "temp_opposed_coil", "seen": seen, **entries}))
        return {name: i for i, group in enumerate(found.groups) for name in group}

    before, after = grouped(), grouped(inspected=looked)
    assert len({before[name] for name in (*dead, "panel_connector_feed=open")}) == 1
    assert len({after[name] for name in dead}) == 1
    assert after.get("panel_connector_feed=open") != after["fuse=open"]
    assert after.get("stud_bias=open") != after["fuse=open"]


def test_reasons_are_ratios(stuck: Diagnosis) -> None:
    """How many times likelier: against the others, each as the other observations leave it."""
    entry = stuck.posteriors[0]
    explained = entry.explained
    leader = stuck.ranking[0]
    i = int(np.argmax(entry.fault))
    others = np.arange(len(entry.fault)) != i
    told = {(reason.subject, reason.seen): reason.times for reason in leader.reasons}
    for row, observation in zip(explained, entry.observations, strict=True):
        if observation.implied:
            continue
        rest = entry.fault[others] / row[others]
        by_hand = row[i] / float(rest @ row[others] / rest.sum())
        assert told[observation.subject, observation.seen] == pytest.approx(by_hand, rel=1e-9)
    sizes = [abs(math.log(reason.times)) for reason in leader.reasons]
    assert sizes == sorted(sizes, reverse=True)


def test_what_speaks_against_a_fault_says_what_it_would_show() -> None:
    """A sender that is open and a lead that, grounded, brings the needle nowhere."""
    grounded = {"check": "ground_sender_lead", "state": "key_on_cold", "needle": "pegged_low"}
    reading = {"check": "sender_lead_volts", "state": "key_on_cold", "volts": 0.02}
    seen = [{"state": "running_warm", "needle": "pegged_low"}]
    case = parse({"circuit": "temp_two_coil", "seen": seen, "measured": [grounded, reading]})
    found = diagnose(case)
    told = {suspect.fault: [reason.sentence for reason in suspect.reasons] for suspect in found.ranking}
    sentences = [sentence.partition(":")[0] for sentence in told["stud_sender=open"]]
    assert (
        "the voltmeter at the lead off the temperature sender (key on, engine not started and cold) "
        "showed 0.02 V, as this fault would have it"
    ) in sentences
    replaced = [{"part": "sender", "result": "cured_for_a_while"}]
    found = diagnose(parse({"circuit": "temp_two_coil", "seen": seen, "replaced": replaced}))
    suspect = next(each for each in found.ranking if each.fault == "sender=open")
    told_against = [reason.sentence.partition(":")[0] for reason in suspect.reasons if reason.times < 1]
    assert told_against == [
        "replacing the sender gave a cure for a while; with this fault it would give a cure"
    ]


@pytest.mark.parametrize(
    ("seen", "times", "said"),
    [
        ("at half", 3.0, "the needle was at half, as this fault would have it: 3.0 times likelier"),
        # what it would rather be is no reason for the fault
        ("low", 3.0, "the needle was low, which this fault allows: 3.0 times likelier"),
        ("low", 0.25, "the needle was low; with this fault it would be at half: 4.0 times less likely"),
    ],
)
def test_a_reason_says_what_speaks_for_the_fault_or_against_it(seen: str, times: float, said: str) -> None:
    assert Reason("the needle", "at half", seen, times).sentence == said


def test_places_are_those_of_the_likeliest_craft_and_others_are_said_to_be_elsewhere() -> None:
    seen = [{"state": "tank_half", "needle": "pegged_high"}]
    found = diagnose(parse({"circuit": ["boat_panel", "fuel_four_coil"], "gauge": "fuel", "seen": seen}))
    likeliest, other = (entry.cells.circuit for entry in found.posteriors)
    assert likeliest.sheet.craft != other.sheet.craft
    own, theirs = (
        {fault_name(one, fault, "fuel") for fault in entry.cells.faults}
        for one, entry in zip((likeliest, other), found.posteriors, strict=True)
    )
    words = {place.words for place in likeliest.sheet.places.values()}
    assert theirs - own
    for suspect in found.ranking:
        ends = {"boat": ", in a boat", "land": ", on land"}[other.sheet.craft]
        assert (suspect.place_words in words) == (suspect.fault in own)
        assert suspect.place_words.endswith(ends) == (suspect.fault not in own)


def test_every_kind_of_observation_makes_a_sentence() -> None:
    """One of each, read as a sentence: subject, verb, what was seen."""
    found = diagnose(
        parse(
            {
                "circuit": "temp_two_coil",
                "seen": [
                    {"state": "running_warm", "needle": "pegged_low", "moves": "never"},
                    {"between": ["key_on_cold", "running_warm"], "needle": "same"},
                    {"consumer": "panel_lamps", "looks": "normal"},
                    {"engine": "no_signs_of_heat"},
                ],
                "measured": [
                    {"check": "lamp_at:stud_feed", "lamp": "bright"},
                    {"check": "sender_ohms", "ohms": "open"},
                    {"check": "wiggle:sender_connector", "moves": "jumps"},
                ],
                "inspected": [{"part": "sender_connector", "found": "sound"}],
                "replaced": [{"part": "sender", "result": "no_change"}],
            }
        )
    )
    told = [entry.sentence for entry in found.posteriors[0].observations if not entry.implied]
    implied = [entry.sentence for entry in found.posteriors[0].observations if entry.implied]
    assert implied == ["the engine was running"]
    assert told == [
        "the temperature needle (engine running and warm, lights off) was on the low stop",
        "the temperature needle, over all that was tried, was not moving",
        "the temperature needle (from key on, engine not started and cold to engine running and warm, "
        "lights off) was staying",
        "panel lamps (key on, engine stopped but warm, lights on) looked normal",
        "the engine showed no signs of heat",
        "the test lamp at stud I (feed) (engine running and warm, lights off) showed bright",
        "the ohmmeter at the temperature sender showed open",
        "the temperature needle with a push and a pull at the connector on the sender (engine running and "
        "warm, lights off) was jumping",
        "connector on the sender looked sound",
        "replacing the sender gave no change",
    ]


def test_none_of_these_takes_what_nothing_explains() -> None:
    """Voltages that no fault brings about side by side, at more and more places."""
    usual = diagnose(parse({"circuit": "temp_two_coil"}))
    assert usual.none_of_these == pytest.approx(rule.NONE_PRIOR, rel=1e-9)
    odd = [
        {"check": f"volts_at:{point}", "state": "key_on_cold", "volts": volts}
        for point, volts in (
            ("battery_positive", 12.5),
            ("fuse_out", 7.3),
            ("panel_feed", 12.4),
            ("body", 3.1),
            ("stud_feed", 2.0),
            ("stud_ground", 9.0),
        )
    ]
    few, more, many = (
        diagnose(parse({"circuit": "temp_two_coil", "measured": odd[:count]})).none_of_these
        for count in (4, 5, 6)
    )
    # two of the first four may be slips, so it is far likelier than before rather than certain
    assert few > 5 * rule.NONE_PRIOR
    # three slips are too many to believe in, four are out of the question
    assert more > 0.5
    assert many > 0.99
