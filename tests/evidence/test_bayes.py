"""Bayes' rule on small posteriors against sums by hand, from the sheet and the constants alone.

None of the sums below uses the arrays of the package: they walk over the faults of a sheet with plain floats.
"""

import itertools
import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from gaugesim import vocabulary
from gaugesim.case import parse
from gaugesim.circuit import Circuit, find
from gaugesim.evidence import bayes as rule
from gaugesim.evidence import bind
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.bayes import Posterior, posterior
from gaugesim.evidence.bind import observations
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.in_draws import AnswersInDraws
from gaugesim.evidence.prediction import Prediction
from gaugesim.sheet import FOUND, Mode
from gaugesim.vocabulary import RESULT

CONNECTOR = {"part": "sender_connector", "found": "corroded"}
NEW_SENDER = {"part": "sender", "result": "cured_for_a_while"}
# contacts that the work on a sender disturbs
DISTURBED = ("sender_connector", "sender_ground")


@pytest.fixture(autouse=True)
def nothing_implied(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sums below are of what is told alone; what a complaint implies has tests of its own."""
    monkeypatch.setattr(bind, "implied", lambda case, rows, gauge: ())


@pytest.fixture(scope="module")
def circuit() -> Circuit:
    return find("temp_two_coil")


@pytest.fixture(scope="module")
def cells(circuit: Circuit) -> Cells:
    return Cells(circuit, slices=3)


def weighed(cells: Cells, **entries: list[dict]) -> Posterior:
    case = parse({"circuit": cells.circuit.id, **entries})
    return posterior(cells, observations(case, cells, "temperature"))


def of_the_sheet(circuit: Circuit) -> Iterator[tuple[str, Mode, float]]:
    """Part, mode and prior share of every fault, read off the sheet."""
    whole = sum(part.weight for part in circuit.sheet.parts.values() if part.modes)
    for part in circuit.sheet.parts.values():
        modes = sum(mode.weight for mode in part.modes.values())
        for mode in part.modes.values():
            yield part.id, mode, part.weight / whole * mode.weight / modes


def slipped(chance: float, classes: int, slip: float = like.SLIP) -> float:
    return (1 - slip) * chance + slip / classes


def found_corroded(part: str, mode: Mode) -> float:
    """P(sender connector looks corroded | fault)."""
    if part != "sender_connector":
        sound = vocabulary.FOUND.row("sound")
        return slipped(sound["corroded"] / sum(sound.values()), len(FOUND))
    looks = mode.found
    rest = (1 - sum(like.FOUND_SHARES[: len(looks)])) / len(FOUND)
    named = dict(zip(looks, like.FOUND_SHARES, strict=False)).get("corroded", 0.0)
    whole = rest * len(FOUND) + sum(like.FOUND_SHARES[: len(looks)])
    looked = (rest + named) / whole
    # who tested the part found its fault, whatever it looks like
    seen = {
        word: (rest + dict(zip(looks, like.FOUND_SHARES, strict=False)).get(word, 0.0)) / whole
        for word in FOUND
    }
    # one that comes and goes may rest while it is tested
    missed = mode.at_times * like.TESTED_RESTING + (1 - mode.at_times) * like.TESTED_SOUND
    told = (1 - missed) * (looked + 1e-3) / sum(seen[word] + 1e-3 for word in FOUND if word != "sound")
    tested = like.TESTED[""]
    return slipped((1 - tested) * looked + tested * told, len(FOUND))


def cured_for_a_while(part: str, mode: str) -> float:
    """P(a new sender cures for a while | fault)."""
    if part == "sender":
        table = RESULT.row("right")
    elif part in DISTURBED and mode in ("open", "high", "intermittent"):
        table = RESULT.row("disturbed")
    else:
        table = RESULT.row("wrong")
    return slipped(table["cured_for_a_while"], 4)


def test_two_answers_by_hand(cells: Cells, circuit: Circuit) -> None:
    """Prior times both likelihoods, over their sum with "none of these"."""
    found = weighed(cells, inspected=[CONNECTOR], replaced=[NEW_SENDER])
    joint, listed = {}, []
    usual = [0.0, 0.0]
    for part, mode, prior in of_the_sheet(circuit):
        chances = found_corroded(part, mode), cured_for_a_while(part, mode.id)
        joint[f"{part}={mode.id}"] = (1 - rule.NONE_PRIOR) * prior * chances[0] * chances[1]
        listed.append((prior, chances))
        usual = [total + prior * chance for total, chance in zip(usual, chances, strict=True)]
    other = [
        (1 - like.SURPRISE) * average + like.SURPRISE / classes
        for average, classes in zip(usual, (len(FOUND), 4), strict=True)
    ]
    # some listed fault tells what to expect, but in an unknown share of the entries it is otherwise
    none = rule.NONE_PRIOR * sum(
        prior / 16 * math.prod((1 - share) * a + share * b for a, b in zip(chances, other, strict=True))
        for prior, chances in listed
        for share in ((k + 0.5) / 16 for k in range(16))
    )
    whole = sum(joint.values()) + none
    assert found.none_of_these == pytest.approx(none / whole, rel=1e-12)
    assert found.log_evidence == pytest.approx(math.log(whole), rel=1e-12)
    assert [fault.id for fault in cells.faults] == list(joint)
    np.testing.assert_allclose(found.fault, [value / whole for value in joint.values()], rtol=1e-12)
    assert max(joint, key=lambda name: joint[name]).startswith("sender_connector=")


def test_nothing_seen_leaves_the_prior(cells: Cells, circuit: Circuit) -> None:
    found = weighed(cells)
    priors = [(1 - rule.NONE_PRIOR) * prior for _, _, prior in of_the_sheet(circuit)]
    np.testing.assert_allclose(found.fault, priors, rtol=1e-12)
    assert found.none_of_these == pytest.approx(rule.NONE_PRIOR, rel=1e-12)


def test_all_probability_is_somewhere(cells: Cells) -> None:
    found = weighed(
        cells,
        seen=[{"state": "running_warm", "needle": "low"}],
        measured=[{"check": "sender_lead_volts", "volts": 12.3}, {"check": "sender_ohms", "ohms": "high"}],
    )
    assert found.cell.sum() + found.none_of_these == pytest.approx(1.0, abs=1e-12)
    assert found.fault.sum() == pytest.approx(found.cell.sum(), abs=1e-12)
    assert found.cell[0] == 0.0  # the sound circuit is no suspect
    np.testing.assert_allclose(found.by_fault(found.within), 1.0, rtol=1e-12)


def test_an_intermittent_fault_is_a_mean_over_duties(cells: Cells) -> None:
    """Low twice and right once: a sum over when it acted; what was seen at rest shares its tolerances."""
    words = ("low", "pegged_low", "normal")
    seen = [{"state": "running_warm", "needle": word} for word in words]
    found = weighed(cells, seen=seen)
    entries = found.observations
    at_rest = []  # of each entry in each draw of the tolerances
    for entry in entries:
        observable = entry.observable
        assert observable.tabulate is not None
        values = observable.shown.in_draws()[0]
        flat = Prediction(values, (), np.zeros((0, len(values))), np.zeros(len(values), dtype=bool))
        table = observable.tabulate(flat)[:, int(entry.answer)]
        slip = observable.statement.slip
        at_rest.append((1 - slip) * table + slip * observable.broad)
    for row in np.flatnonzero(cells.intermittent):
        if np.allclose(entries[0].observable.shown.mean[row], entries[0].observable.shown.mean[0]):
            continue  # it shows in nothing, so it does not matter when it acted
        total = 0.0
        for acted in itertools.product((False, True), repeat=len(entries)):
            together = np.ones(len(at_rest[0]))
            acts = 1.0
            for entry, rests, on in zip(entries, at_rest, acted, strict=True):
                acts *= float(entry.likelihood[row]) if on else 1.0
                together = together if on else together * rests
            count = sum(acted)
            chance = np.mean(like.DUTIES**count * (1 - like.DUTIES) ** (len(entries) - count))
            total += float(chance) * acts * float(together.mean())
        # words are looked up in steps
        assert found.log_likelihood[row] == pytest.approx(math.log(total), abs=0.01)


def test_one_right_reading_hardly_acquits_an_intermittent_fault(cells: Cells) -> None:
    """A steady open that reads right has slipped; one that comes and goes was away."""
    right = [{"state": "running_warm", "needle": "normal"}]
    found = weighed(cells, seen=right)
    prior = weighed(cells)
    change = {
        fault.id: after / before
        for fault, after, before in zip(cells.faults, found.fault, prior.fault, strict=True)
    }
    steady, loose = change["sender_connector=open"], change["sender_connector=intermittent"]
    assert loose > 10 * steady


@pytest.mark.parametrize("volts", [0.0, 3.0, 9.0, 12.45])
def test_a_number_by_hand(cells: Cells, volts: float) -> None:
    """A normal density of meter and tolerances together, and a slip that may lie anywhere."""
    found = weighed(cells, measured=[{"check": "volts_at:stud_sender", "volts": volts}])
    (entry,) = found.observations
    shown, noise = entry.observable.shown, entry.observable.noise
    assert noise is not None
    span = like.VOLTS_SPAN[1] - like.VOLTS_SPAN[0]
    # where a probe beside a bad joint may touch either side, it is weighed draw by draw:
    # tests/evidence/test_probed.py
    straight = ~cells.intermittent & ~np.isnan(shown.mean)
    assert straight.sum() > 50
    for row in np.flatnonzero(straight):
        mean = float(shown.mean[row])
        wide = math.hypot(float(noise[row]), float(shown.deviation[row]))
        dense = math.exp(-0.5 * ((volts - mean) / wide) ** 2) / (wide * math.sqrt(2 * math.pi))
        both = (1 - like.SLIP) * dense + like.SLIP / span
        assert found.log_likelihood[row] == pytest.approx(math.log(both), rel=1e-9)


def test_the_same_reading_twice_is_not_two_proofs(cells: Cells) -> None:
    """What a battery that happens to be low adds to both readings counts once: by hand for two numbers."""
    check = {"check": "volts_at:panel_feed", "state": "key_on_cold", "volts": 12.0}
    found = weighed(cells, measured=[check, check])
    first, second = found.observations
    number = next(i for i, fault in enumerate(cells.faults) if fault.id == "sender=open")
    row = int(np.flatnonzero(cells.fault == number)[0])
    shown, noise = first.observable.shown, first.observable.noise
    assert noise is not None
    own, shared = float(noise[row]) ** 2, float(shown.deviation[row]) ** 2
    off = 12.0 - float(shown.mean[row])
    # variance matrix [[own + shared, shared], [shared, own + shared]]: its determinant and inverse by hand
    determinant = own * (own + 2 * shared)
    both = math.exp(-(off**2) * own / determinant) / (2 * math.pi * math.sqrt(determinant))
    wide = math.sqrt(own + shared)
    alone = math.exp(-0.5 * (off / wide) ** 2) / (wide * math.sqrt(2 * math.pi))
    broad = 1 / (like.VOLTS_SPAN[1] - like.VOLTS_SPAN[0])
    slip, sure = like.SLIP, 1 - like.SLIP
    whole = sure**2 * both + 2 * sure * slip * alone * broad + slip**2 * broad**2
    assert shared > 2 * own
    assert found.log_likelihood[row] == pytest.approx(math.log(whole), abs=1e-6)
    assert second.where != first.where


def test_a_word_by_draws_is_the_word_in_closed_form(cells: Cells) -> None:
    """Two routes to the same probability: averaged over draws of the tolerances, and widened by them."""
    found = weighed(cells, seen=[{"state": "running_warm", "needle": "half"}])
    (entry,) = found.observations
    drawn = np.exp(AnswersInDraws([(entry.observable, np.array([entry.answer]))]).log_words()[:, 0])
    closed = entry.likelihood
    likely = closed > 0.05
    assert likely.sum() > 20
    np.testing.assert_allclose(drawn[likely], closed[likely], rtol=0.15, atol=0.02)


def test_that_it_is_always_so_leaves_words_one_vehicles(
    cells: Cells, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is always there is said to be so with one chance, whatever else is said of the same vehicle."""
    monkeypatch.setattr(like, "SLIP_OF_MEMORY", 1e-12)
    seen = [{"state": "key_on_cold", "needle": "half"}, {"state": "running_warm", "needle": "low"}]
    alone = weighed(cells, seen=seen).log_likelihood
    always = weighed(cells, seen=[{**entry, "often": "always"} for entry in seen]).log_likelihood
    steady = ~cells.intermittent & (alone > np.log(1e-4))
    said = 2 * np.log(vocabulary.OFTEN.row("steady")["always"])
    np.testing.assert_allclose(always[steady] - alone[steady], said, atol=1e-6)


def test_a_circuit_needs_no_state_with_the_key_off(circuit: Circuit) -> None:
    states = {name: state for name, state in circuit.sheet.states.items() if name != "key_off"}
    without = Cells(replace(circuit, sheet=replace(circuit.sheet, states=states)), slices=3)
    low = weighed(without, seen=[{"state": "running_warm", "needle": "reads_low"}])
    assert np.isfinite(low.log_evidence)


def test_leaving_one_out_is_the_posterior_without_it(cells: Cells) -> None:
    """Dividing a likelihood out, as conflicts are searched for, is exact where answers share nothing."""
    both = weighed(cells, inspected=[CONNECTOR], replaced=[NEW_SENDER])
    alone = weighed(cells, inspected=[CONNECTOR])
    row = both.explained[1]
    rest = both.fault / row
    np.testing.assert_allclose(rest / rest.sum(), alone.fault / alone.fault.sum(), rtol=1e-12)
    # and the probability of what was left out is the ratio of the evidence with and without it
    chance = both.fault.sum() / rest.sum()
    by_hand = sum(p * q for p, q in zip(alone.fault / alone.fault.sum(), row, strict=True))
    assert chance == pytest.approx(by_hand, rel=1e-12)


def test_words_and_numbers_keep_the_order_of_the_file_out_of_it(cells: Cells) -> None:
    entries = [
        {"check": "volts_at:stud_sender", "volts": 9.0},
        {"check": "sender_lead_volts", "volts": "battery"},
        {"check": "volts_at:panel_feed", "volts": 12.2},
    ]
    forward, backward = weighed(cells, measured=entries), weighed(cells, measured=entries[::-1])
    np.testing.assert_allclose(forward.fault, backward.fault, rtol=1e-9)


@pytest.mark.parametrize("result", ["cured_for_a_while", "no_change"])
def test_a_part_that_was_replaced_is_sound_from_then_on(cells: Cells, result: str) -> None:
    """What is seen at the next stage says of its fault what it says of the sound circuit, if that helped.

    Where it changed nothing the new part is as bad as the old one.
    """
    word = {"state": "running_warm", "needle": "pegged_low"}
    before = weighed(cells, seen=[word], replaced=[{"part": "sender", "result": result}])
    after = weighed(cells, seen=[{**word, "stage": 2}], replaced=[{"part": "sender", "result": result}])
    likelihood = [found.observations[0].likelihood for found in (before, after)]
    for i, fault in enumerate(cells.faults):
        rows = cells.fault == i
        if fault.singles[0].part.id == "sender" and result != "no_change":
            assert set(likelihood[1][rows].tolist()) == {float(likelihood[0][0])}
        else:
            np.testing.assert_array_equal(likelihood[1][rows], likelihood[0][rows])
