"""Learners that follow a rule, from the very good to the very bad."""

from collections.abc import Callable, Iterator

import numpy as np

from gaugesim.lessons.chance import generator
from gaugesim.lessons.course import CHECKED, GAVE_UP, REPLACED, VERDICT, Course, LearnerAction, perform
from gaugesim.lessons.debriefing import planner_step
from gaugesim.lessons.judge import REDUNDANT_BITS
from gaugesim.lessons.task import Task
from gaugesim.planning import Policy, Step
from gaugesim.planning.compacted import all_of, batch_of
from gaugesim.planning.following import REPAIRS_ONLY
from gaugesim.planning.policies import InformationPerMinute
from gaugesim.planning.problem import CHECK, REPAIR, step_minutes

Learner = Callable[[Course], tuple[LearnerAction, ...]]
# after so many steps it is clear how good a learner is
MOST_STEPS = 30


def entries(course: Course, step: Step) -> tuple[LearnerAction, ...]:
    known = course.knowledge
    if step.kind == CHECK:
        option = known.work.options[step.number]
        return (LearnerAction(CHECKED, option.check.id, option.state),)
    return tuple(LearnerAction(REPLACED, name) for name in known.entries_of(step))


def planner(course: Course) -> tuple[LearnerAction, ...]:
    return planner_step(course)


def following(policy: Policy) -> Learner:
    """Checks as the rule says, then repairs by what they are likely to bring for their minutes."""

    def choose(course: Course) -> tuple[LearnerAction, ...]:
        known = course.knowledge
        compact = all_of(known.rest.problem)
        number = int(policy.choose(compact, batch_of(known.rest.problem, known.state))[0])
        if number != REPAIRS_ONLY:
            return entries(course, compact.step(number))
        return entries(course, likeliest_repair(course))

    return choose


def likeliest_repair(course: Course) -> Step:
    known = course.knowledge
    problem = known.rest.problem
    chance = np.bincount(problem.repair_of, known.weight, problem.repairs)
    minutes = [step_minutes(problem, known.state, Step(REPAIR, r)) for r in range(problem.repairs)]
    return Step(REPAIR, int(np.argmax(chance / np.array(minutes))))


def at_random(course: Course) -> tuple[LearnerAction, ...]:
    """Any check not yet made, or any part not yet replaced."""
    known = course.knowledge
    luck = generator("at random", *course.task.vehicle.key, len(course.steps))
    steps = [Step(CHECK, number) for number in sorted(known.state.remaining)]
    steps += [Step(REPAIR, r) for r in range(known.rest.problem.repairs)]
    return entries(course, steps[int(luck.integers(len(steps)))])


# a workshop's usual routine, whatever the complaint; what a circuit has not got is left out
ROUTINE = (
    "look_at:fuse",
    "volts_at:panel_feed",
    "unplug_sender",
    "ground_sender_lead",
    "sender_ohms",
    "sender_lead_volts",
    "wiggle:sender_connector",
    "drop_across:sender_ground",
    "wiggle:panel_connector_sender",
)
SURE = 0.95
# nobody buys a part that is less likely than this
LIKELY_AT_ALL = 0.03


def fixed_order(course: Course) -> tuple[LearnerAction, ...]:
    """The routine, without what can tell nothing, until one repair is as good as sure."""
    known = course.knowledge
    chance = np.bincount(known.rest.problem.repair_of, known.weight)
    if chance.max() < SURE * chance.sum():
        for name in ROUTINE:
            named = own(name, course.task)
            options = [option for option in known.work.options if option.check.id in named]
            # nothing is grounded while the lead may be live
            options = [option for option in options if not known.would_burn(option.id)]
            if options and known.bits_of(options[0]) > REDUNDANT_BITS:
                return (LearnerAction(CHECKED, options[0].check.id, options[0].state),)
    return entries(course, likeliest_repair(course))


def own(name: str, task: Task) -> set[str]:
    """What a check of the routine is called, on the gauge's own parts where a circuit has several gauges."""
    kind, sign, target = name.partition(":")
    return {name, f"{kind}:{task.gauge}_{target}" if sign else f"{kind}:{task.gauge}"}


def parts_swapping(course: Course) -> tuple[LearnerAction, ...]:
    """The likeliest part that is sold, whatever it takes, while one is likely; then joints and wires."""
    rest = course.knowledge.rest
    chance = np.bincount(rest.problem.repair_of, course.knowledge.weight, rest.problem.repairs)
    sold = np.array([all(rest.repair(name).price > 0 for name in one.split("+")) for one in rest.repairs])
    first = sold & (chance > LIKELY_AT_ALL * chance.sum())
    return entries(course, Step(REPAIR, int(np.argmax(np.where(first, 1 + chance, chance)))))


def giving_up(_: Course) -> tuple[LearnerAction, ...]:
    return (LearnerAction(GAVE_UP),)


LEARNERS: dict[str, Learner] = {
    "planner": planner,
    "information per minute": following(InformationPerMinute(careful=True)),
    "fixed order": fixed_order,
    "parts swapping": parts_swapping,
    "random": at_random,
    "giving up": giving_up,
}

# whom an instructor gives more marks, on any circuit and level
INSTRUCTORS_ORDER = ("planner", "fixed order", "parts swapping", "random", "giving up")


def courses(task: Task, learner: Learner) -> Iterator[Course]:
    """A task as a learner goes about it, after each step, and with the verdict or giving up at the end."""
    course = Course(task)
    while not (course.cured or course.over) and len(course.steps) < MOST_STEPS:
        for action in learner(course):
            course = perform(course, action)
        yield course
    if not course.over:
        yield perform(course, LearnerAction(VERDICT, task.fault) if course.cured else LearnerAction(GAVE_UP))


__all__ = ["INSTRUCTORS_ORDER", "LEARNERS", "courses"]
