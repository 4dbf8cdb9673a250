"""Tasks that several tests look at."""

from collections.abc import Callable
from functools import cache

import pytest

from gaugesim.circuit import Circuit, find
from gaugesim.lessons.course import Course, LearnerAction, perform
from gaugesim.lessons.task import Task, set_task


@cache
def circuit(name: str) -> Circuit:
    """A circuit, read once, as it remembers the tasks that were set on it."""
    return find(name)


@pytest.fixture(scope="session")
def loose() -> Task:
    """Stud B of the gauge with opposed coils is loose."""
    task = set_task(circuit("temp_opposed_coil"), "temperature", 35, 1)
    assert task.fault == "stud_bias=open"
    return task


@pytest.fixture
def act() -> Callable[..., Course]:
    """Does several things one after another."""

    def run(task: Task, *entries: LearnerAction) -> Course:
        course = Course(task)
        for action in entries:
            course = perform(course, action)
        return course

    return run
