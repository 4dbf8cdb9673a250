"""What travels in the page: sums, words, cautions, and lines that a case file takes."""

import json
import tomllib
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from page_rule import Number, Tap, answers, standing
from report_cases import CASES, random_taps

from gaugesim.advice.progress import cured, proven
from gaugesim.advice.suspects import BEARING
from gaugesim.case import parse
from gaugesim.diagnosis import Diagnosis, candidates, diagnose
from gaugesim.report.elements import script_json
from gaugesim.report.entries import open_ended
from gaugesim.report.tables import PageData
from gaugesim.scenario.check import find_check


def on_page(data: PageData, taps: Sequence[Tap]) -> dict[str, float]:
    """What the page makes of some taps: probability of each fault, of all candidate circuits together."""
    page: dict[str, float] = {}
    for suspect, p in zip(data.suspects, standing(data, taps).probability, strict=True):
        page[suspect.fault] = page.get(suspect.fault, 0.0) + p
    return page


def in_full(found: Diagnosis) -> dict[str, float]:
    """The same of a diagnosis."""
    full = {suspect.fault: suspect.probability for suspect in found.ranking}
    return {**full, "none_of_these": found.none_of_these}


def apart(data: PageData, taps: Sequence[Tap], found: Diagnosis) -> float:
    """Half the sum of their differences."""
    page, full = on_page(data, taps), in_full(found)
    return sum(abs(page.get(name, 0.0) - full.get(name, 0.0)) for name in {*page, *full}) / 2


@pytest.mark.parametrize("case", CASES)
def test_every_table_is_whole(make, case: str) -> None:
    made = make(case)
    assert len(made.data.checks) > 20
    assert made.data.suspects[-1].fault == "none_of_these"
    assert sum(suspect.probability for suspect in made.data.suspects) == pytest.approx(1, abs=1e-5)
    for check in made.data.checks:
        likelihood = np.array(check.likelihood)
        assert likelihood.shape == (len(check.outcomes), len(made.data.suspects))
        assert likelihood.sum(axis=0) == pytest.approx(1, abs=1e-5)
        assert len({outcome.words for outcome in check.outcomes}) == len(check.outcomes)
        assert check.sound


@pytest.mark.parametrize("case", CASES)
def test_every_outcome_is_an_entry_of_a_case(make, case: str) -> None:
    made = make(case)
    for check in made.data.checks:
        for outcome in check.outcomes:
            added = parse(tomllib.loads(f"{made.data.case}\n{outcome.entry}")).entries
            before = parse(tomllib.loads(made.data.case)).entries
            assert len(added) == len(before) + 1
            [entry] = [
                one for one in added if getattr(one, "check", getattr(one, "part", "")) in outcome.entry
            ][-1:]
            if hasattr(entry, "check"):
                found = find_check(made.job.circuit, entry.check, made.job.diagnosis.gauge)
                assert check.id.startswith(f"{found.id}@")


@pytest.mark.parametrize("case", CASES)
def test_what_is_copied_out_can_be_diagnosed_and_agrees(make, case: str) -> None:
    """The page reckons with the planner's rounded likelihoods, so it agrees with a diagnosis only nearly."""
    made = make(case)
    taps, now = [], standing(made.data)
    for _ in range(2):
        # what the likeliest fault would most probably show
        table = np.array(made.data.checks[now.next_check].likelihood)
        taps.append((now.next_check, int(np.argmax(table[:, int(np.argmax(now.probability))]))))
        now = standing(made.data, taps)
    entries = [made.data.checks[check].outcomes[outcome].entry for check, outcome in taps]
    read = parse(tomllib.loads("\n".join([made.data.case, *entries])))
    found = diagnose(read, candidates(read, None))
    assert apart(made.data, taps, found) < 0.15
    page, full = on_page(made.data, taps), in_full(found)
    assert max(page, key=page.__getitem__) in sorted(full, key=full.__getitem__)[-3:]


@pytest.mark.parametrize("case", CASES)
def test_the_page_begins_with_what_diagnose_says(make, case: str) -> None:
    made = make(case)
    read = parse(tomllib.loads(made.data.case))
    found = diagnose(read, candidates(read, None))
    full = {suspect.fault: suspect.probability for suspect in found.ranking}
    page: dict[str, float] = {}
    for suspect in made.data.suspects[:-1]:
        page[suspect.fault] = page.get(suspect.fault, 0.0) + suspect.probability
    # of each circuit a fault may be left out that does not bear on the plan
    least = BEARING * len(found.circuits)
    assert page == pytest.approx({name: full[name] for name in page}, rel=1e-3, abs=least)
    assert made.data.suspects[-1].probability == pytest.approx(1 - sum(page.values()), abs=1e-3)


@pytest.mark.parametrize("case", CASES)
def test_an_outcome_leads_where_the_command_says(make, case: str) -> None:
    """One figure is told of what a check's outcome leads to."""
    made = make(case)
    told, check = made.consultation.next_check, made.data.plan.check
    words = [outcome.words for outcome in made.data.checks[check].outcomes]
    for outcome in told.outcomes:
        page = on_page(made.data, [(check, words.index(outcome.words))])
        for fault, _, p in outcome.leads_to:
            assert page[fault] == pytest.approx(p, abs=1e-3)


@pytest.mark.parametrize("case", CASES)
def test_a_number_says_what_a_diagnosis_makes_of_it(make, case: str) -> None:
    made = make(case)
    read = parse(tomllib.loads(made.data.case))
    cells = np.array([cell.weight for cell in made.data.cells])
    of = np.array([cell.suspect for cell in made.data.cells])
    assert np.bincount(of[of >= 0], cells[of >= 0]) == pytest.approx(1, abs=1e-4)
    leading = int(np.argmax([suspect.probability for suspect in made.data.suspects[:-1]]))
    for reads in ("volts", "ohms", "needle"):
        check = next(k for k, one in enumerate(made.data.checks) if one.number and one.number.kind == reads)
        number = made.data.checks[check].number
        # what the likeliest suspect shows
        middle = next(
            value
            for cell, value in zip(made.data.cells, number.middle, strict=True)
            if cell.suspect == leading and value is not None
        )
        tap = Number(check, float(f"{np.exp(middle) - number.floor if number.floor else middle:.3g}"))
        entries = [made.data.case, f"{number.entry}{max(tap.value, 0.0)}\n"]
        found = diagnose(parse(tomllib.loads("\n".join(entries))), candidates(read, None))
        # the page takes answers one by one: what numbers of before tell of this make, only a diagnosis knows
        by_word = apart(made.data, answers(made.data, [tap]), found)
        assert apart(made.data, [tap], found) < max(0.2, by_word + 0.02), (reads, tap)


@pytest.mark.parametrize("case", CASES)
def test_a_repair_is_an_entry_with_its_proof(make, case: str) -> None:
    made = make(case)
    for repair in made.data.repairs:
        text = f'{made.data.case}\n[[replaced]]\npart = "{repair.part}"\nresult = "cured"\n'
        text += f"stage = {made.data.stage}\n"
        assert repair.proof
        for need in repair.proof:
            text += f"\n{need.entry}stage = {made.data.stage + 1}\n"
        read = parse(tomllib.loads(text))
        assert cured(read) == repair.part
        assert len(proven(read)) == len(repair.proof)
        assert min(repair.unchanged) < 0.2 < max(repair.unchanged)


def test_random_work_stays_a_case(make) -> None:
    random = np.random.default_rng(22)
    data = make("all_read_high").data
    for _ in range(50):
        taps = random_taps(data, random)
        text = "\n".join(
            [data.case, *(data.checks[check].outcomes[outcome].entry for check, outcome in taps)]
        )
        assert len(parse(tomllib.loads(text)).entries) == len(parse(tomllib.loads(data.case)).entries) + len(
            taps
        )


def test_a_case_with_listed_measurements_takes_more() -> None:
    text = (
        'circuit = "temp_*"  # mine\n'
        'measured = [{check = "unplug_sender", needle = [0.1, 0.2]}, {check = "sender_ohms", ohms = 40}]\n'
        "[[seen]]\nneedle = 'half'\n"
    )
    opened = open_ended(text)
    assert tomllib.loads(opened) == tomllib.loads(text)
    assert "# mine" in opened
    more = parse(tomllib.loads(f'{opened}\n[[measured]]\ncheck = "sender_ohms"\nohms = "open"\n'))
    assert len(more.entries) == 4
    assert open_ended(opened) == opened


def test_json_cannot_leave_its_element(make) -> None:
    data = replace(make("stuck_at_half").data, case="# </script><!-- & -->")
    text = script_json(data)
    assert not set("<>&") & set(text)
    assert json.loads(text)["case"] == data.case


@pytest.mark.parametrize("case", CASES)
def test_the_complaint_is_what_was_said(make, case: str) -> None:
    """A sentence for each answer, and none for what follows from silence."""
    made = make(case)
    observations = made.consultation.diagnosis.posteriors[0].observations
    assert any(each.implied for each in observations)
    told = [each.subject.removesuffix(",").lower() for each in observations if not each.implied]
    assert [line.rsplit(": ", 1)[0].lower() for line in made.data.complaint] == told
