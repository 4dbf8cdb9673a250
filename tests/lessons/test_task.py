"""Tasks: the same for a class, as hard as their level asks, with readings of the hidden vehicle."""

import gc
import weakref
from dataclasses import replace

import numpy as np
import pytest
from lessons.conftest import circuit

from gaugesim.advice.check_advice import needle_place
from gaugesim.errors import CaseError
from gaugesim.evidence.handling import SOUND_LOOKS
from gaugesim.lessons.chance import generator
from gaugesim.lessons.complaints import complaint
from gaugesim.lessons.course import find_option, numbered_checks
from gaugesim.lessons.debriefing import planner_course
from gaugesim.lessons.draws import UPPER_LEVEL, draw_vehicle
from gaugesim.lessons.task import LOOKED_AT, RANGES, Task, set_task
from gaugesim.lessons.vehicle import FaultyVehicle
from gaugesim.reading import Situation, see
from gaugesim.scenario.check import find_check
from gaugesim.scenario.fault import find_fault, parse_faults
from gaugesim.scenario.scenarios import stack

OPPOSED = "temp_opposed_coil"


def vehicle(fault: str, seed: int = 0, severity: float = 0.0, name: str = OPPOSED) -> FaultyVehicle:
    made = circuit(name)
    gauge = made.gauge().id
    return FaultyVehicle(made, gauge, ("test", seed), find_fault(made, fault, gauge), (severity,))


def test_the_same_seed_gives_the_same_task_to_everybody() -> None:
    """On circuits that were read apart, as in two processes."""
    from gaugesim.circuit import find

    first, second = (set_task(replace(find(OPPOSED)), "temperature", 11, 2) for _ in range(2))
    assert (first.fault, first.text, first.draw) == (second.fault, second.text, second.draw)
    assert first.difficulty == second.difficulty
    check = find_check(first.circuit, "sender_lead_volts")
    assert first.vehicle.show(check, "key_on_cold") == second.vehicle.show(check, "key_on_cold")


def test_a_task_that_is_over_is_forgotten() -> None:
    """One takes tens of megabytes, and a class sets many in one process."""
    made = circuit(OPPOSED)
    over = []
    for seed in (1, 2, 3):
        task = set_task(made, "temperature", seed, 1)
        planner_course(task)
        over.append((weakref.ref(task), weakref.ref(task.work)))
        del task
    gc.collect()
    assert [task() is None for task, _ in over] == [True, True, False]
    # two with the same complaint share one
    assert len({id(work()) for _, work in over if work() is not None}) == 1


def test_neighbouring_seeds_have_nothing_to_do_with_one_another() -> None:
    numbers = np.array([generator("x", seed).random() for seed in range(2000)])
    assert abs(np.corrcoef(numbers[:-1], numbers[1:])[0, 1]) < 0.07
    assert abs(numbers.mean() - 0.5) < 0.03
    names = [draw_vehicle(circuit(OPPOSED), "temperature", seed, 1, 0).fault.id for seed in range(60)]
    assert len(set(names)) > 20


def test_upper_levels_have_faults_that_come_and_go_and_two_at_once() -> None:
    drawn = {
        level: [draw_vehicle(circuit(OPPOSED), "temperature", seed, level, 0) for seed in range(30)]
        for level in (1, 3, UPPER_LEVEL, 5)
    }
    for level, vehicles in drawn.items():
        kinds = {(len(one.fault.singles), one.intermittent) for one in vehicles}
        assert kinds == ({(1, False)} if level < UPPER_LEVEL else {(1, True), (2, False)})


def test_a_class_meets_two_faults_at_once_as_well_as_one_that_comes_and_goes() -> None:
    tasks = [set_task(circuit(OPPOSED), "temperature", seed, UPPER_LEVEL) for seed in range(8)]
    assert 1 < sum(len(task.vehicle.fault.singles) == 2 for task in tasks) < 7
    assert all(RANGES[UPPER_LEVEL].distance(task.difficulty) == 0 for task in tasks)


@pytest.mark.parametrize("level", [1, 2, 3, 4])
def test_a_task_is_as_hard_as_its_level_asks(level: int) -> None:
    task = set_task(circuit(OPPOSED), "temperature", 2, level)
    assert RANGES[level].distance(task.difficulty) == 0
    assert task.difficulty.suspects > 1
    assert task.draw < LOOKED_AT


def test_levels_rise() -> None:
    for lower, upper in ((1, 2), (2, 3), (4, 5)):
        for low, high in (
            (RANGES[lower].bits, RANGES[upper].bits),
            (RANGES[lower].minutes, RANGES[upper].minutes),
        ):
            assert low[0] < high[0]
            assert low[1] <= high[1]


def test_there_is_no_sixth_level() -> None:
    with pytest.raises(CaseError, match="level 6 does not exist"):
        set_task(circuit(OPPOSED), "temperature", 0, 6)


def test_nobody_complains_of_a_fault_that_does_not_show() -> None:
    assert complaint(vehicle("panel_connector_feed=high", severity=0.01)) is None
    text = complaint(vehicle("stud_bias=open"))
    assert text is not None
    assert 'needle = "half"' in text
    assert "stud_bias" not in text


def test_an_intermittent_fault_is_told_as_one() -> None:
    text = complaint(vehicle("stud_bias=intermittent"))
    assert text is not None
    assert 'often = "sometimes"' in text


@pytest.mark.parametrize(
    ("fault", "check", "state"),
    [
        ("stud_bias=open", "sender_lead_volts", "key_on_cold"),
        ("sender_connector=open", "volts_at:sender_lead", "key_on_cold"),
        ("fuse=open", "ohms_across:fuse", "key_off"),
        ("stud_sender=open", "unplug_sender", "running_warm"),
    ],
)
def test_readings_lie_where_the_circuit_says(fault: str, check: str, state: str) -> None:
    """Most of thirty vehicles within nine tenths of all vehicles, give or take the meter."""
    made = circuit(OPPOSED)
    rule = find_check(made, check)
    situation = Situation.of(made, state, rule)
    _, together = parse_faults(made, [fault], situation.parameters)
    expected = see(situation, stack([together]))
    inside = 0
    for seed in range(30):
        shown = vehicle(fault, seed).show(rule, state)
        if expected.reading is None:
            needle = expected.needles["temperature"]
            assert needle.low is not None
            assert needle.high is not None
            assert shown.value is not None
            inside += needle.low - 0.03 <= shown.value <= needle.high + 0.03
        else:
            low, high = float(expected.reading.low), float(expected.reading.high)
            assert shown.value is not None
            slack = 0.05 + 0.02 * abs(high)
            inside += low - slack <= shown.value <= high + slack
    assert inside >= 24


def test_meters_err_and_vehicles_differ() -> None:
    made = circuit(OPPOSED)
    rule = find_check(made, "sender_lead_volts")
    values = {vehicle("stud_sender=high", seed, 10.0).show(rule, "key_on_cold").value for seed in range(8)}
    assert len(values) > 4


def test_whatever_is_asked_of_a_dead_vehicle_is_answered_in_the_words_of_the_check(loose: Task) -> None:
    """A needle that nothing drives stays under a check, and is seen there if it is known where."""
    dead = vehicle("fuse=open")
    seen, stayed = set(), set()
    assert needle_place(loose.work, loose.work.options[0]) == "half"
    for name, state in numbered_checks(loose):
        option = find_option(loose, name, state)
        shown = dead.show(option.check, option.state, needle_place(loose.work, option))
        assert shown.outcome in option.classes, option.id
        seen.add(shown.outcome)
        if dead.show(option.check, option.state).outcome == "undriven":
            stayed.add((shown.outcome, shown.value, shown.words))
    assert "undriven" not in seen
    assert stayed == {("half", 0.5, "needle at half")}


def test_a_mended_part_looks_and_works_as_new() -> None:
    made = circuit(OPPOSED)
    sick = vehicle("stud_bias=open")
    well = sick.without(["stud_bias"])
    warm = "running_warm"
    stands = [float(one.response(warm)[1].positions["temperature"][0]) for one in (sick, well)]
    sound = see(Situation.of(made, warm)).needles["temperature"]
    assert sound.low is not None
    assert sound.high is not None
    assert stands[0] == pytest.approx(0.5, abs=0.05)
    assert sound.low - 0.05 < stands[1] < sound.high + 0.05
    look = find_check(made, "look_at:stud_bias")
    found = [
        vehicle("stud_bias=open", seed).without(["stud_bias"]).show(look, "key_off").outcome
        for seed in range(40)
    ]
    assert found.count("sound") > 40 * SOUND_LOOKS[0] - 6


def test_an_intermittent_fault_acts_at_one_time_and_not_at_another() -> None:
    acts = [
        vehicle("stud_bias=intermittent", seed).acts("unplug_sender", "key_on_cold") for seed in range(200)
    ]
    assert 40 < sum(acts) < 100
    assert all(vehicle("stud_bias=open", seed).acts("unplug_sender") for seed in range(20))
