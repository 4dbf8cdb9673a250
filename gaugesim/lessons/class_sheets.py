"""A worksheet: a task for paper, and what the key to it needs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugesim.advice.check_advice import needle_place
from gaugesim.advice.jobs import Option
from gaugesim.diagnosis import caution_texts
from gaugesim.lessons.chance import generator
from gaugesim.lessons.complaints import told_states
from gaugesim.lessons.course import Course, find_option, numbered_checks
from gaugesim.lessons.debriefing import Decisive, decisive_check, planner_course
from gaugesim.lessons.knowledge import number_of
from gaugesim.lessons.task import Task
from gaugesim.lessons.vehicle import Shown
from gaugesim.planning.problem import CHECK
from gaugesim.reading import why
from gaugesim.reading.reason_words import in_short
from gaugesim.scenario.caution import check_cautions
from gaugesim.sheet import Caution

# checks in a table: those that tell most for their minutes, only so many of one kind, and some others
TELLING, OTHERS, OF_A_KIND = 8, 4, 2


@dataclass(frozen=True)
class Row:
    """A check in the table of a sheet.

    Attributes
    ----------
    minutes : float
        Without opening places [min].
    cautions : tuple of int
        Numbers of the sheet's cautions, from 1.
    shown : Shown
        What it shows on this vehicle; for the key.
    lost_first : float or None
        Minutes expected to be lost by making it first, None for all of its own; for the key [min].
    """

    option: Option
    minutes: float
    places: tuple[str, ...]
    cautions: tuple[int, ...]
    shown: Shown
    lost_first: float | None


@dataclass(frozen=True, eq=False)
class Worksheet:
    """One sheet.

    Attributes
    ----------
    needles : tuple of (str, float or None)
        For each state the owner tells of its words, and where the needle stood; None where nothing drove it.
    places : tuple of (str, float)
        What it takes to open each place, in words and minutes.
    why : tuple of str
        For each of those states, what the fault does to the needle; for the key.
    """

    task: Task
    needles: tuple[tuple[str, float | None], ...]
    rows: tuple[Row, ...]
    cautions: tuple[str, ...]
    places: tuple[tuple[str, float], ...]
    planner: Course
    decisive: Decisive | None
    why: tuple[str, ...]


def worksheet(task: Task) -> Worksheet:
    """Make a task into a sheet."""
    sheet = task.circuit.sheet
    planner = planner_course(task)
    options = _chosen(task, planner)
    action = (planner.steps[0].before if planner.steps else Course(task).knowledge).action
    alternatives = action.alternatives if action else ()
    lost: dict[int | None, float] = {
        # no more than it takes, as in `judge`
        choice.step.number: min(max(choice.expected_minutes - action.expected_minutes, 0.0), choice.minutes)
        for choice in alternatives
        if action and choice.step.kind == CHECK
    }
    names = (caution.id for option in options for caution in _cautions(task, option))
    always = (*(danger.words for danger in task.consultation.first), *task.consultation.cautions)
    cautions = tuple(dict.fromkeys((*always, *caution_texts(task.circuit, names))))
    rows = tuple(
        Row(
            option,
            option.minutes,
            tuple(sheet.places[name].words for name in option.check.places),
            tuple(sorted(cautions.index(caution.words) + 1 for caution in _cautions(task, option))),
            task.vehicle.show(option.check, option.state, needle_place(task.work, option)),
            lost.get(number_of(task.work, option)),
        )
        for option in options
    )
    needles, reasons = [], []
    for state in told_states(task.circuit, task.gauge):
        position = float(task.vehicle.response(state)[1].positions[task.gauge][0])
        needles.append((sheet.states[state].words, None if np.isnan(position) else position))
        situation, scenarios = task.vehicle.row(state)
        if scenarios is not None:
            reasons.append(f"{sheet.states[state].words}: {in_short(why(situation, scenarios), task.gauge)}")
    places = tuple((place.words, place.setup_minutes) for place in sheet.places.values())
    return Worksheet(
        task, tuple(needles), rows, cautions, places, planner, decisive_check(planner), tuple(reasons)
    )


def _cautions(task: Task, option: Option) -> tuple[Caution, ...]:
    return check_cautions(task.circuit, option.check, option.state)


def _chosen(task: Task, planner: Course) -> tuple[Option, ...]:
    """Checks for the table, in the order of the circuit's list: it must not say which of them are good."""
    knowledge = Course(task).knowledge
    # what is no option of the work tells nothing on this complaint
    own = {(option.check.id, option.state): option for option in task.work.options}
    keys = [key for key in numbered_checks(task) if not knowledge.would_burn(f"{key[0]}@{key[1]}")]
    worth = {
        key: knowledge.bits_of(own[key]) / (own[key].minutes + knowledge.setup_minutes(own[key].check.places))
        for key in keys
        if key in own
    }
    best: list[tuple[str, str]] = []
    for key in sorted(worth, key=lambda key: -worth[key]):
        kind = own[key].check.kind
        if len(best) < TELLING and sum(own[each].check.kind == kind for each in best) < OF_A_KIND:
            best.append(key)
    path = [(step.option.check.id, step.option.state) for step in planner.steps if step.option is not None]
    rest = [key for key in keys if key not in best and key not in path]
    luck = generator(*task.vehicle.key, "table")
    others = [rest[int(k)] for k in luck.permutation(len(rest))[:OTHERS]]
    chosen = {*best, *path, *others}
    return tuple(find_option(task, *key) for key in keys if key in chosen)
