"""The generator: vehicles solved anew, and answers drawn as people and meters give them."""

from collections.abc import Sequence

import numpy as np
import pytest
from invariants import anew as by_hand

from gaugesim.arrays import Floats
from gaugesim.case import Seen
from gaugesim.circuit import Circuit, available, find
from gaugesim.evaluation.ailments import draw_unlisted, listed_ailments
from gaugesim.evaluation.answers import draw_answers
from gaugesim.evaluation.block import CaseBlock, generate
from gaugesim.evaluation.fleet import Ailment, Fleet
from gaugesim.evaluation.interview import draw_interview
from gaugesim.evaluation.resemblance import told_from_listed
from gaugesim.evaluation.worlds import WORLDS, disturb, draw_ailments
from gaugesim.evidence.bind import asked
from gaugesim.evidence.cells import Cells
from gaugesim.reading import Engine, Situation, respond
from gaugesim.scenario.fault import all_faults
from gaugesim.scenario.scenarios import Scenarios
from gaugesim.scenario.tolerance import DEVIATIONS_95
from gaugesim.solve.network import Network


def one_of_each(circuit: Circuit, wide: float = 1.0) -> Fleet:
    """Every fault of a circuit on a vehicle of its own, in the middle of its severity."""
    faults = all_faults(circuit)
    middle = np.full((len(faults), 2), 0.5)
    return Fleet(
        circuit, listed_ailments(circuit, faults, np.arange(len(faults)), middle, middle[:, 0]), [1], wide
    )


@pytest.mark.parametrize("name", available())
def test_without_tolerances_a_vehicle_shows_what_its_cell_shows(name: str) -> None:
    """Whole networks against small corrections of one solution: the two paths meet where they must."""
    circuit = find(name)
    fleet, cells = one_of_each(circuit, 0.0), Cells(circuit, slices=1)
    for state in ("running_warm", "key_on_cold"):
        situation = fleet.situation(state)
        shown, expected = fleet.response(situation), cells.response(cells.situation(state))
        for gauge in circuit.sheet.gauges:
            # the first cell of each fault is in the middle of its severity
            rows = np.searchsorted(cells.fault, np.arange(-1, fleet.size))
            np.testing.assert_allclose(
                shown.positions[gauge][: len(rows)],
                expected.positions[gauge][rows],
                atol=1e-6,
                err_msg=gauge,
            )


def test_tolerances_are_those_of_the_sheet() -> None:
    """A sound fleet's parameters scatter as the sheet says: 95 of 100 within the tolerance."""
    circuit = find("fuel_two_coil_0_90")
    count = 4000
    fleet = Fleet(circuit, [Ailment(np.arange(count), None, ())], [5])
    part = circuit.sheet.parts["sender"]
    drawn = fleet.parameters(fleet.situation("running_warm"))[part.parameter]
    sound = circuit.parameter_values(circuit.parameters("running_warm"))[part.parameter]
    inside = np.abs(np.log(drawn / sound)) < np.log1p(part.tolerance)
    # of 4000, 3 standard errors are 1.03 %
    assert inside.mean() == pytest.approx(0.95, abs=0.0104)
    doubled = Fleet(circuit, [Ailment(np.arange(count), None, ())], [5], 2.0)
    wide = doubled.parameters(doubled.situation("running_warm"))[part.parameter]
    np.testing.assert_allclose(np.log(wide / sound), 2 * np.log(drawn / sound), rtol=1e-9)


def test_one_warm_day_is_the_same_in_two_states() -> None:
    """A process value that two states share is drawn once for a vehicle: its needle stands alike in both."""
    circuit = find("temp_two_coil")
    fleet = Fleet(circuit, [Ailment(np.arange(200), None, ())], [5])
    off, on = (
        fleet.position(fleet.situation(state), "temperature").mean[1:]
        for state in ("lights_off", "running_warm")
    )
    assert np.std(off - on) < 0.2 * np.std(off)


def test_a_gauge_is_as_accurate_as_its_sheet_says() -> None:
    circuit = find("temp_two_coil")
    count = 3000
    fleet = Fleet(circuit, [Ailment(np.arange(count), None, ())], [5])
    situation = fleet.situation("running_warm")
    true = respond(situation, fleet.scenarios(situation), by_whole_networks(situation)).positions[
        "temperature"
    ][1:]
    off = fleet.position(situation, "temperature").mean[1:] - true
    accuracy = circuit.sheet.gauges["temperature"].accuracy
    assert np.std(off) == pytest.approx(accuracy / DEVIATIONS_95, rel=0.05)


def by_whole_networks(situation: Situation) -> Engine:
    """An engine built from the tests' own stamping of networks."""

    def engine(
        network: Network, outputs: Sequence[int], scenarios: Scenarios, lamp_ohms: Floats | None
    ) -> Floats:
        batch = by_hand.stamped(situation, network, situation.check.setup, scenarios, lamp_ohms)
        solution, _, _, which = by_hand.solve_distinct(batch)
        return solution.currents[which][:, list(outputs)]

    return engine


def test_answers_come_as_often_as_their_probability() -> None:
    """Two faults, one of them intermittent, a thousand vehicles each: shares within four standard errors."""
    circuit = find("temp_two_coil")
    cells = Cells(circuit)
    index = {fault.id: i for i, fault in enumerate(cells.faults)}
    count = 1500
    steady, loose = index["sender_connector=open"], index["sender_connector=intermittent"]
    which = np.repeat([steady, loose], count)
    random = np.random.default_rng(3)
    fleet = Fleet(
        circuit,
        listed_ailments(
            circuit, cells.faults, which, random.random((2 * count, 2)), random.random(2 * count)
        ),
        [3],
        0.0,
    )
    for seed in range(3):
        interview = draw_interview(circuit, np.random.default_rng(seed))
        questions = interview.observables(fleet)
        answers = draw_answers(fleet, questions, random)
        for question, answer, about in zip(questions, answers, interview.observables(cells), strict=True):
            if question.is_number:
                continue
            shares = np.stack(
                [
                    np.bincount(part, minlength=len(question.classes)) / count
                    for part in (answer[:count], answer[count:])
                ]
            )
            acting = np.array([1 + fleet.intermittent[0]])
            resting = fleet.resting[:1]
            expected = np.stack([question.slipped[1], question.by_duty(acting, resting)[:, 0].mean(axis=0)])
            error = np.sqrt(expected * (1 - expected) / count)
            assert np.all(np.abs(shares - expected) < 4.5 * error + 1e-9), question.statement.subject
            assert about.classes == question.classes


def test_numbers_scatter_as_the_meter_does() -> None:
    circuit = find("temp_two_coil")
    count = 4000
    fleet = Fleet(circuit, [Ailment(np.arange(count), None, ())], [3], 0.0)
    for seed in range(20):
        interview = draw_interview(circuit, np.random.default_rng(seed), numbers=1.0)
        questions = interview.observables(fleet)
        volts = [k for k, question in enumerate(questions) if question.unit == "volts"]
        if volts:
            break
    question = questions[volts[0]]
    answer = np.asarray(draw_answers(fleet, questions, np.random.default_rng(1))[volts[0]])
    assert question.noise is not None
    off = (answer - question.shown.mean[1:]) / question.noise[1:]
    # slips aside, the middle half of a normal distribution lies within 0.674 deviations
    assert np.mean(np.abs(off) < 0.674) == pytest.approx(0.485, abs=0.03)


def test_unlisted_faults_change_what_no_fault_of_the_sheet_changes() -> None:
    circuit = find("temp_two_coil")
    ailments = draw_unlisted(circuit, 23, np.random.default_rng(1)).ailments()
    assert all(one.entry is None for one in ailments)
    assert np.concatenate([one.vehicles for one in ailments]).tolist() == list(range(23))
    joined = {frozenset((element.node_a, element.node_b)) for element in circuit.netlist.elements}
    parameters = circuit.parameters("running_warm")
    for one in ailments:
        change = one.makes[0](parameters)
        assert len(change.paths) == 2
        assert all(frozenset(nodes) not in joined for nodes in change.paths)
        (name, ohms), *_ = change.branches.items()
        factor = ohms / circuit.values(parameters)[name]
        assert np.all(np.maximum(factor, 1 / factor) > 4.9)


def test_some_of_the_vehicles_with_unlisted_faults_are_the_same_vehicles() -> None:
    circuit = find("temp_two_coil")
    drawn = draw_unlisted(circuit, 30, np.random.default_rng(1))
    chosen = np.array([17, 3, 29, 4, 11, 22])
    shown = [
        fleet.reading(fleet.situation("running_warm", "volts_at:stud_sender")).mean[1:]
        for fleet in (Fleet(circuit, some.ailments(), [2], 0.0) for some in (drawn, drawn.take(chosen)))
    ]
    np.testing.assert_allclose(shown[1], shown[0][chosen], rtol=1e-9)
    assert len(np.unique(shown[1])) > 1


def test_vehicles_that_show_what_no_listed_fault_shows_come_first() -> None:
    """Blocks with an unlisted fault; a listed one is told from what is listed about never, slips aside."""
    circuit = find("temp_bridge")
    some = generate(CaseBlock(circuit, "unlisted_fault", 8, 1, 1))
    assert some.tried == 80
    assert 0 < some.unlike < 80
    cells = some.cells
    questions = draw_interview(circuit, np.random.default_rng(5), (12, 14), 1.0)
    which = np.arange(len(cells.faults))
    fleet = Fleet(
        circuit,
        listed_ailments(
            circuit, cells.faults, which, np.full((len(which), 2), 0.5), np.full(len(which), 0.5)
        ),
        [1],
        0.0,
    )
    apart = told_from_listed(questions.observables(cells), questions.observables(fleet), len(which))
    assert not apart.any()


@pytest.mark.parametrize("world", ["priors_off", "two_faults"])
def test_worlds_draw_what_they_say(world: str) -> None:
    cells = Cells(find("boat_two_station"), slices=1)
    ailments, faults = draw_ailments(WORLDS[world], cells, 300, np.random.default_rng(2))
    assert sorted(np.concatenate([one.vehicles for one in ailments]).tolist()) == list(range(300))
    count = (faults >= 0).sum(axis=1)
    assert np.all(count == {"priors_off": 1, "two_faults": 2}[world])


def test_no_tank_holds_less_than_nothing() -> None:
    """However wide the tolerances: a level that nobody knows stays in its tank."""
    circuit = find("boat_panel")
    fleet = Fleet(circuit, [Ailment(np.arange(500), None, ())], [1], wide=3.0)
    levels = fleet.parameters(fleet.situation("lights_on"))["fuel_level"]
    assert levels.min() == 0
    assert levels.max() == 1
    assert np.all(np.isfinite(fleet.position(fleet.situation("lights_on"), "fuel").mean))


def test_a_biased_meter_and_a_made_up_answer() -> None:
    circuit = find("temp_two_coil")
    fleet = Fleet(circuit, [Ailment(np.arange(50), None, ())], [3])
    questions = draw_interview(circuit, np.random.default_rng(4), (6, 6), 1.0).observables(fleet)
    answers = draw_answers(fleet, questions, np.random.default_rng(1))
    biased = disturb(WORLDS["biased_meter"], questions, answers, np.random.default_rng(1))
    wrong = disturb(WORLDS["wrong_reading"], questions, answers, np.random.default_rng(1))
    for question, before, after in zip(questions, answers, biased, strict=True):
        if question.unit == "volts":
            np.testing.assert_allclose(after, 1.04 * before)
        elif question.unit == "log ohms":
            np.testing.assert_allclose(np.exp(after), 1.04 * np.exp(before))
        else:
            np.testing.assert_array_equal(after, before)
    changed = np.stack([after != before for before, after in zip(answers, wrong, strict=True)])
    assert np.all(changed.sum(axis=0) <= 1)
    assert changed.any()
    loose = disturb(WORLDS["loose_talk"], questions, answers, np.random.default_rng(1))
    silent = disturb(WORLDS["silent_owner"], questions, answers, np.random.default_rng(1))
    for question, before, after, unsaid in zip(questions, answers, loose, silent, strict=True):
        share = float(np.mean(after != before))
        assert share == 0 if question.statement.implied else 0 < share < 0.5
        np.testing.assert_array_equal(unsaid, 0 if question.statement.implied else before)
    assert any(question.statement.implied for question in questions)


def test_slight_faults_are_the_slightest() -> None:
    """A joint of more ohms than the slight world allows is in the model's own, and not in that one."""
    circuit = find("temp_two_coil")
    cells = Cells(circuit, slices=1)
    worst = {}
    for world in ("model", "slight_faults"):
        ailments, _ = draw_ailments(WORLDS[world], cells, 4000, np.random.default_rng(2))
        found = next(one for one in ailments if one.entry is not None and one.entry.id == "stud_feed=high")
        (ohms,) = found.makes[0](circuit.parameters("running_warm")).branches.values()
        worst[world] = float(np.max(ohms))
    assert worst["slight_faults"] < 0.5 * worst["model"]


def test_a_scale_of_another_make_and_a_needle_that_does_not_rest() -> None:
    """Positions of the same vehicle differ as their world says; a needle without current as well."""
    circuit = find("temp_two_coil")
    sound = [Ailment(np.arange(200), None, ())]
    plain, other = (
        fleet.position(fleet.situation("running_warm"), "temperature").mean[1:]
        for fleet in (Fleet(circuit, sound, [3], bent=bent) for bent in (0.0, 0.12))
    )
    assert 0.05 < float(np.std(other - plain)) < 0.2
    for restless in (False, True):
        fleet = Fleet(circuit, sound, [3], restless=restless)
        cold, off = (
            fleet.position(fleet.situation("key_off", check), "temperature").mean[1:] for check in ("", "tap")
        )
        assert np.array_equal(cold, off) != restless


def test_what_lasts_is_there_nearly_always() -> None:
    circuit = find("temp_two_coil")
    faults = [fault for fault in all_faults(circuit) if fault.id == "sender_wire=intermittent"]
    which, shares = np.zeros(300, dtype=int), np.full((300, 2), 0.5)
    fleet = Fleet(circuit, listed_ailments(circuit, faults, which, shares, shares[:, 0]), [1], 0.0)
    entry = Seen("told", 1, state="running_warm", needle="half")
    ((question, _, _),) = asked(entry, fleet, "temperature")
    sound = int(np.argmax(question.slipped[0]))
    right = [
        float(np.mean(draw_answers(fleet, [question], np.random.default_rng(1), lasting)[0] == sound))
        for lasting in (False, True)
    ]
    assert right[1] < 0.6 * right[0]
