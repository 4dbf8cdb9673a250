"""What to beware of in a task, and which places stand open."""

from __future__ import annotations

from collections.abc import Iterator

from gaugesim.diagnose import caution_texts
from gaugesim.practice.course import Course, Done
from gaugesim.practice.task import Task
from gaugesim.scenario.caution import check_cautions, mending_cautions
from gaugesim.sheet import Place

ADVISES = (
    "This is practice on a computed vehicle. Work on a real one follows the maker's procedure, local rules, "
    "and a licence where one is asked."
)


def always_cautions(task: Task) -> tuple[str, ...]:
    """Cautions that hold whatever is done."""
    names = [name for name in ("not_a_gauge",) if name in task.circuit.sheet.cautions]
    return caution_texts(task.circuit, names)


def cautions(course: Course, done: Done) -> tuple[str, ...]:
    """The cautions of a step."""
    circuit = course.task.circuit
    found = [] if done.option is None else [*check_cautions(circuit, done.option.check, done.option.state)]
    mended = [circuit.sheet.parts[part] for repair in done.repairs for part in sorted(repair.parts)]
    found += mending_cautions(circuit, mended)
    return caution_texts(circuit, (caution.id for caution in found))


def opened_places(course: Course) -> Iterator[Place]:
    """Places that have been opened."""
    for place in course.task.circuit.sheet.places.values():
        if place.setup_minutes and place.id in course.known.opened:
            yield place
