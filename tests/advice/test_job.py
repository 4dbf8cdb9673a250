"""A planning problem out of a diagnosis."""

import numpy as np
import pytest

from gaugesim import case as cases
from gaugesim.advice.check_advice import advice_on, expected_readings, minutes_of
from gaugesim.advice.jobs import Job, job, opened_places
from gaugesim.advice.next_step import way
from gaugesim.advice.telling import information
from gaugesim.consultation import consult
from gaugesim.diagnosis import diagnose
from gaugesim.sheet import ENGINE


def test_tables_and_weights_are_probabilities(any_job: Job) -> None:
    assert np.isclose(any_job.weight.sum(), 1.0, atol=1e-12)
    assert any_job.options
    for option in any_job.options:
        assert option.table.shape == (len(any_job.hypotheses), len(option.classes)), option.id
        assert np.all(option.table >= 0), option.id
        assert np.allclose(option.table.sum(axis=1), 1.0, atol=1e-9), option.id


def test_every_option_tells_something_and_none_tells_more_than_there_is(any_job: Job) -> None:
    entropy = -float((any_job.weight * np.log2(any_job.weight)).sum())
    for option in any_job.options:
        bits = information(any_job.weight, option.table)
        assert 0.0 <= bits <= entropy + 1e-9, option.id


def test_a_repair_mends_each_hypothesis_and_costs_at_least_a_minute(any_job: Job) -> None:
    problem = any_job.problem
    assert len(problem.repair_of) == len(any_job.hypotheses)
    for hypothesis, repair in zip(any_job.hypotheses, problem.repair_of, strict=True):
        assert any_job.repairs[repair] == hypothesis.repair
    assert np.all(problem.repair_minutes >= 1.0)


def test_outcomes_average_to_what_is_believed_now(any_job: Job) -> None:
    for option in any_job.options[:20]:
        chances = any_job.weight @ option.table
        after = sum(p * any_job.after(option, k) for k, p in enumerate(chances) if p > 0)
        assert np.allclose(after, any_job.weight, atol=1e-12), option.id


def test_set_up_is_counted_once_a_place(workboat: Job) -> None:
    behind = next(option for option in workboat.options if "behind_panel" in option.check.places)
    place = workboat.circuit.sheet.places["behind_panel"]
    assert minutes_of(workboat, behind) == behind.minutes + place.setup_minutes


def test_a_place_where_something_was_measured_is_open() -> None:
    entries = {"circuit": "temp_opposed_coil", "measured": [{"check": "volts_at:stud_bias", "volts": "none"}]}
    found = diagnose(cases.parse(entries))
    assert "behind_panel" in opened_places(found, found.posteriors[0].cells.circuit)
    work = job(found)
    inside = next(option for option in work.options if option.check.places == ("behind_panel",))
    assert minutes_of(work, inside) == inside.minutes


def test_advice_says_what_each_outcome_would_mean(any_job: Job) -> None:
    number = way(any_job).check
    assert number is not None
    told = advice_on(any_job, any_job.options[number])
    assert told.bits > 0
    assert 0.9 < sum(outcome.probability for outcome in told.outcomes) <= 1.0 + 1e-9
    for outcome in told.outcomes:
        assert outcome.leads_to, outcome.words
        assert sum(p for *_, p in outcome.leads_to) <= 1.0 + 1e-9


def test_cautions_of_check_place_and_state_travel_with_the_advice(workboat: Job) -> None:
    sheet = workboat.circuit.sheet
    for option in workboat.options:
        told, state = advice_on(workboat, option), sheet.states[option.state]
        names = [name for place in option.check.places for name in sheet.places[place].cautions]
        for caution in (sheet.cautions[name] for name in (*names, *state.cautions)):
            # what a cold engine does not do is not warned of
            holds = ENGINE.index(caution.engine) <= ENGINE.index(state.engine)
            assert (caution.words in told.cautions) == holds, option.id


def test_a_suspect_of_several_circuits_is_expected_once() -> None:
    """By Bayes' rule over the candidates: what is expected of it is what they show together."""
    seen = [{"state": "running_warm", "needle": "half"}, {"state": "key_on_cold", "needle": "half"}]
    consultation = consult(cases.parse({"circuit": "temp_*", "gauge": "temperature", "seen": seen}))
    work, option = consultation.job, consultation.next_option
    assert option is not None
    told = expected_readings(work, option, 0.0)
    assert len({each.fault for each in told}) == len(told) < len(work.hypotheses)
    assert sum(each.suspected for each in told) == pytest.approx(1)
    chances = work.weight @ option.table
    assert sum(each.suspected * each.probability for each in told) >= chances.max() - 1e-9


@pytest.mark.parametrize("places", [("half", "half"), ("half", "low")])
def test_where_it_was_before_is_that_place_if_it_is_known(places: tuple[str, str]) -> None:
    """A check has no outcome of its own for a needle that stays then, and chances still sum to 1."""
    seen = [
        {"state": state, "needle": word}
        for state, word in zip(("running_warm", "key_on_cold"), places, strict=True)
    ]
    work = consult(cases.parse({"circuit": "temp_opposed_coil", "seen": seen})).job
    stays = [option for option in work.options if "undriven" in option.classes]
    assert bool(stays) == (len({*places}) > 1)
    for option, outcomes in zip(work.options, work.problem.outcomes, strict=True):
        assert option.table.sum(axis=1) == pytest.approx(1)
        assert outcomes.shape == (len(work.hypotheses), len(option.classes))
