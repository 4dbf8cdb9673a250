"""Tasks of a class: different ones as far as there are, each what its seed gives, whoever works them out."""

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import pytest
from lessons.conftest import circuit

from gaugesim.errors import CaseError
from gaugesim.lessons.class_tasks import Candidate, Class, Key, Tried, choose_tasks
from gaugesim.lessons.complaints import complaint, likely_complaints
from gaugesim.lessons.draws import draw_vehicle
from gaugesim.lessons.task import Task, set_task


def of_class(level: int, count: int, seed: int = 1) -> Class:
    return Class(circuit("temp_two_coil"), "temperature", seed, level, count)


def tried(wanted: Class, tries: list[tuple[Candidate, Task | None]], candidate: Candidate) -> Tried[Task]:
    task, hopeful = wanted.task(candidate)
    tries.append((candidate, task))
    return Tried(hopeful=hopeful) if task is None else Tried(task.fault, task.text, task, hopeful)


def tasks(wanted: Class, tries: list[tuple[Candidate, Task | None]]) -> list[Task]:
    return [*choose_tasks(wanted, lambda candidate, _: tried(wanted, tries, candidate))]


@pytest.mark.parametrize(("level", "count"), [(1, 10), (3, 3), (5, 3)])
def test_a_class_gets_as_many_as_it_asks_for_each_what_its_seed_gives(level: int, count: int) -> None:
    wanted, tries = of_class(level, count), []
    found = tasks(wanted, tries)
    assert len({task.seed for task in found}) == len(found) == count
    for task in found[-2:]:
        alone = set_task(wanted.circuit, wanted.gauge, task.seed, level)
        assert (alone.fault, alone.text, alone.draw) == (task.fault, task.text, task.draw)
    # no fault comes again before every seed was tried for another
    times = Counter(task.fault for task in found)
    if max(times.values()) > 1:
        others = {task.fault for candidate, task in tries if task is not None and candidate.rule == "fault"}
        assert others == {*times}


def told(candidate: Candidate, taken: frozenset[Key]) -> Tried[int]:
    """An attempt that takes no time; every third fails, and every seventh complaint is hopeless."""
    assert (str(candidate.seed),) not in taken
    if candidate.seed % 3 == 0:
        return Tried(hopeful=candidate.seed % 7 != 0)
    return Tried(candidate.fault or f"{candidate.seed % 5}", candidate.told, candidate.seed)


@pytest.mark.parametrize("level", [2, 4])
def test_what_is_chosen_does_not_depend_on_who_works_it_out(level: int) -> None:
    with ThreadPoolExecutor(3) as pool:
        several: Sequence[int] = [*choose_tasks(of_class(level, 60), told, pool)]
    assert several == [*choose_tasks(of_class(level, 60), told)]
    assert len({*several}) == 60
    assert several != [*choose_tasks(of_class(level, 60, seed=2), told)]


def test_all_that_differ_come_before_any_comes_again() -> None:
    found = [*choose_tasks(of_class(4, 12), told)]
    assert {seed % 5 for seed in found[:5]} == {*range(5)}


def test_a_class_has_a_size() -> None:
    for count in (0, 61):
        with pytest.raises(CaseError, match="give 1 to 60"):
            tasks(of_class(1, count), [])


def test_what_is_likely_told_is_nearly_always_told() -> None:
    made = circuit("temp_two_coil")
    vehicles = [draw_vehicle(made, "temperature", seed, 2, 0) for seed in range(30)]
    agree = [
        complaint(one) == likely for one, likely in zip(vehicles, likely_complaints(vehicles), strict=True)
    ]
    assert sum(agree) >= 27
