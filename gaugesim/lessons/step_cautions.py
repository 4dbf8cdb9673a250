"""What to beware of in a step of practice, and which places stand open."""

from __future__ import annotations

from collections.abc import Iterator

from gaugesim.advice.hazard import CAUTION
from gaugesim.advice.remedy import repair_cautions
from gaugesim.diagnosis import caution_texts
from gaugesim.lessons.course import Course, Done
from gaugesim.scenario.caution import check_cautions
from gaugesim.sheet import Place

COMPUTED = "This is practice on a computed vehicle."


def cautions(course: Course, done: Done) -> tuple[str, ...]:
    """The cautions of a step."""
    circuit, knowledge = course.task.circuit, done.before
    listed = [] if done.option is None else [*check_cautions(circuit, done.option.check, done.option.state)]
    names = [caution.id for caution in listed]
    for repair in done.repairs:
        names += [CAUTION] if knowledge.work.would_burn(repair.name, knowledge.weight) else []
        names += [caution.id for caution in repair_cautions(circuit, repair)]
    return caution_texts(circuit, (name for name in names if name in circuit.sheet.cautions))


def opened_places(course: Course) -> Iterator[Place]:
    """Places that have been opened."""
    for place in course.task.circuit.sheet.places.values():
        if place.setup_minutes and place.id in course.knowledge.opened:
            yield place
