"""Looks as steps of the plan: told once, asked for once, and cheaper than any check that tells no more."""

from functools import cache

import numpy as np
import pytest

from gaugesim import case as cases
from gaugesim.advice.answer_entries import entry_of
from gaugesim.advice.check_advice import needle_place
from gaugesim.advice.danger import engine_runs
from gaugesim.advice.jobs import Option
from gaugesim.advice.look_outcomes import LookedAt
from gaugesim.advice.next_step import AS_SOON
from gaugesim.advice.suspects import Suspects
from gaugesim.advice.telling import information
from gaugesim.case import Seen
from gaugesim.circuit import Circuit, available, find
from gaugesim.consultation import Consultation, consult
from gaugesim.evidence.bind import observations
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.look_entries import any_answer
from gaugesim.evidence.weigh import marginal
from gaugesim.planning.problem import CHECK
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids, looks
from gaugesim.scenario.kinds import LOOKS
from gaugesim.sheet import GAUGE_KINDS

# a gauge alone, several with a regulator, several in a boat
CIRCUITS = {"temp_opposed_coil": "temperature", "cluster_bimetal_5v": "fuel", "boat_panel": "temperature"}
NEEDLES = ("reads_high", "dead", "pegged_low", "half", "pegged_high")


@cache
def complaint(circuit: str, needle: str = "reads_high", *more: str) -> Consultation:
    seen: list[dict] = [{"state": "running_warm", "needle": needle}, *({"engine": word} for word in more)]
    return consult(cases.parse({"circuit": circuit, "gauge": CIRCUITS[circuit], "seen": seen}))


def every_look(circuit: Circuit, gauge: str) -> list[tuple[str, str]]:
    return [*looks(circuit, gauge)]


def test_every_kind_is_offered_somewhere() -> None:
    gauges = [(circuit, gauge) for circuit in map(find, CIRCUITS) for gauge in circuit.sheet.gauges]
    offered = {name.partition(":")[0] for circuit, gauge in gauges for name, _ in every_look(circuit, gauge)}
    assert offered == {*LOOKS}


@pytest.mark.parametrize("circuit", CIRCUITS)
def test_an_answer_is_an_entry_that_anybody_may_tell_and_is_not_asked_for_again(circuit: str) -> None:
    now = complaint(circuit)
    offered = [option for option in now.job.options if option.check.kind.is_look]
    assert offered
    for option in offered:
        table, fields = entry_of(now.circuit, option.check, option.state, option.classes[0])
        then = now.with_answer(table, **fields)
        assert isinstance(then.case.entries[-1], Seen)
        assert option.id not in {f"{name}@{state}" for name, state in left(then)}, option.id


def left(now: Consultation) -> list[tuple[str, str]]:
    """The looks that are not left out, without working out what they would show."""
    every = every_look(now.circuit, now.gauge)
    return [(name, state) for name, state in every if not now._left_out(name, state)]


def test_a_look_written_as_a_check_means_what_was_told() -> None:
    circuit = find("temp_opposed_coil")
    cells = Cells(circuit, 2)
    told, checked = (
        observations(cases.parse({"circuit": circuit.id, table: [entry]}), cells, "temperature")
        for table, entry in (
            ("seen", {"state": "key_on_cold", "needle": "half", "moves": "never"}),
            (
                "measured",
                {"check": "watch_needle", "state": "key_on_cold", "needle": "half", "moves": "never"},
            ),
        )
    )
    assert [one.sentence for one in told] == [one.sentence for one in checked]
    for one, other in zip(told, checked, strict=True):
        assert np.array_equal(one.likelihood, other.likelihood)


@pytest.mark.parametrize("name", ["see_consumer:panel_lamps", "feel_heat", "switch_lights"])
def test_what_is_no_needle_is_written_as_seen(name: str) -> None:
    wrong = {"circuit": "temp_opposed_coil", "measured": [{"check": name, "moves": "jumps"}]}
    with pytest.raises(cases.CaseError, match=r"write it as \[\[seen\]\] with"):
        _ = consult(cases.parse(wrong)).diagnosis


@pytest.mark.parametrize("circuit", CIRCUITS)
def test_the_plan_expects_of_a_look_what_telling_it_weighs(circuit: str) -> None:
    """The rows of a told entry, added up over the same cells; only draws at the stops set them apart."""
    now = complaint(circuit)
    entry = now.diagnosis.posteriors[0]
    suspects = Suspects(entry, now.diagnosis)
    steady = np.array([fault.singles[0].mode.id != "intermittent" for fault in suspects.faults])
    for name, state in every_look(now.circuit, now.gauge):
        check = find_check(now.circuit, name, now.gauge)
        classes, table = LookedAt(suspects).table(check, state)
        case = cases.Case(now.case.path, (circuit,), now.gauge, (any_answer(now.circuit, check, state),))
        question = observations(case, entry.cells, now.gauge)[0].observable
        assert question.classes == classes
        rows = marginal(entry.cells, question, np.arange(len(classes)))[suspects.rows[1:]]
        told = suspects.added_up(rows)
        far = 0.5 * np.abs(told - table)[steady].sum(axis=1)
        assert suspects.weight[steady] @ far < 0.1 * suspects.weight[steady].sum(), (name, state)


def as_a_look(now: Consultation, option: Option) -> float:
    """What a check's change of the needle tells by itself [bit]."""
    part = now.job.suspects[0]
    alone = part.needle_alone(option.check, option.state).copy()
    if alone.shape != option.table.shape:  # a needle that stays is seen where it is known to stand
        alone[:, option.classes.index(needle_place(now.job, option))] += alone[:, -1]
        alone = alone[:, :-1]
    changed = 0.5 * np.abs(option.table - alone).sum(axis=1)
    return information(now.job.weight, np.stack([changed, 1 - changed], axis=1))


@pytest.mark.parametrize("number", range(len(available())))
def test_no_check_is_proposed_that_changes_nothing_against_looking(number: int) -> None:
    """On every circuit, the complaints in turn."""
    needle, circuit = NEEDLES[number % len(NEEDLES)], find(available()[number])
    seen = [{"state": "running_warm", "needle": needle}]
    now = consult(
        cases.parse({"circuit": circuit.id, "gauge": next(iter(circuit.sheet.gauges)), "seen": seen})
    )
    for option in now.job.options:
        if option.check.reads == "needle" and not option.check.kind.is_look:
            assert as_a_look(now, option) > 0.01, option.id


def test_a_jumper_across_a_sound_ground_is_no_way_to_look_at_a_cold_needle() -> None:
    now = complaint("temp_opposed_coil")
    option = now.next_option
    assert option is not None
    assert option.check.kind.id != "jumper_across"
    assert "watch_needle@key_on_cold" in {one.id for one in now.job.options}
    told = now.with_answer("seen", state="key_on_cold", needle="low")
    assert "watch_needle@key_on_cold" not in {one.id for one in told.job.options}
    # nor does it come back as a wire across a joint that hardly anything speaks against
    jumpers = [one for one in told.job.options if one.check.kind.id == "jumper_across"]
    assert all(as_a_look(told, one) > 0.01 for one in jumpers)


@pytest.mark.parametrize(
    "circuit", [name for name in available() if "temperature" in find(name).sheet.gauges]
)
def test_what_reads_high_when_warm_begins_with_a_look(circuit: str) -> None:
    seen = [{"state": "running_warm", "needle": "reads_high"}]
    option = consult(cases.parse({"circuit": circuit, "gauge": "temperature", "seen": seen})).next_option
    assert option is not None
    assert option.check.kind.is_look
    assert option.check.places in ((), ("dash",))


@pytest.mark.parametrize("circuit", ["temp_opposed_coil", "boat_panel"])
def test_no_look_asks_a_hot_engine_to_run_or_to_turn(circuit: str) -> None:
    cool, hot = complaint(circuit), complaint(circuit, "reads_high", "signs_of_heat")
    running = {pair for pair in every_look(cool.circuit, cool.gauge) if runs(cool, *pair)}
    assert running
    assert running & {*left(cool)}
    assert not running & {*left(hot)}
    assert not any(runs(hot, option.check.id, option.state) for option in hot.job.options)


def runs(now: Consultation, check: str, state: str) -> bool:
    return check == "crank" or engine_runs(now.circuit, state)


def test_nobody_fills_or_empties_a_tank_for_a_look() -> None:
    circuit = find("fuel_two_coil_0_90")
    states = {state for _, state in looks(circuit, "fuel")}
    assert states
    assert not any(state.startswith("tank") for state in states)


@pytest.mark.parametrize("word", ["coolant_low", "coolant_full"])
def test_coolant_that_is_low_speaks_for_what_lets_it_be_low(word: str) -> None:
    before, after = complaint("temp_opposed_coil"), complaint("temp_opposed_coil", "reads_high", word)
    share = [
        sum(one.probability for one in now.diagnosis.ranking if one.mode in ("real_high", "uncovered"))
        for now in (before, after)
    ]
    assert (share[1] > share[0]) == (word == "coolant_low")


def test_of_checks_that_lead_as_soon_to_the_end_the_look_comes_first() -> None:
    """Taking the lead off and a glance at the needle differ by seconds in most of an hour."""
    job = complaint("boat_panel")
    best = job.action.alternatives[0].expected_minutes
    assert not job.job.options[job.action.alternatives[0].step.number].check.kind.is_look
    as_soon = [one for one in job.action.alternatives if one.expected_minutes <= best * (1 + AS_SOON)]
    assert len(as_soon) > 1
    assert job.way.check is not None
    assert job.job.options[job.way.check].check.kind.is_look
    assert job.way.check in {one.step.number for one in as_soon}


@pytest.mark.parametrize("circuit", [*CIRCUITS])
def test_of_looks_that_lead_as_soon_to_the_end_the_most_telling_comes_first(circuit: str) -> None:
    now = complaint(circuit)
    assert now.way.check is not None
    weight = now.job.weight / now.job.weight.sum()
    checks = [each for each in now.action.alternatives if each.step.kind == CHECK]
    soon = checks[0].expected_minutes * (1 + AS_SOON)
    tells = {
        each.step.number: information(weight, now.job.options[each.step.number].table)
        for each in checks
        if each.expected_minutes <= soon and now.job.options[each.step.number].check.kind.is_look
    }
    assert len(tells) > 1
    assert tells[now.way.check] == max(tells.values())


@pytest.mark.parametrize("name", available())
def test_nobody_is_sent_to_uncover_a_winding(name: str) -> None:
    circuit = find(name)
    uncovered = {check.partition(":")[2] for check in check_ids(circuit) if check.startswith("look_at:")}
    assert uncovered
    assert not any(circuit.sheet.parts[part].kind in GAUGE_KINDS for part in uncovered)
