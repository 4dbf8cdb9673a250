"""A course of practice for programs."""

from __future__ import annotations

from typing import Any

from gaugesim.lessons.commands import prediction_right
from gaugesim.lessons.course import HINT, Course
from gaugesim.lessons.debriefing import Debrief
from gaugesim.lessons.step_cautions import COMPUTED, cautions, opened_places
from gaugesim.lessons.teach import Hint, hint, hints_given
from gaugesim.notebook import picked
from gaugesim.scenario.order_of_work import sequence


def course_data(course: Course, debriefing: Debrief | None) -> dict[str, Any]:
    """A course for a program.

    Parameters
    ----------
    debriefing : Debrief or None
        None while the task is not over.

    Returns
    -------
    dict
        Nothing in it gives the hidden fault away before the debrief.
    """
    task = course.task
    return {
        "circuit": task.circuit.id,
        **picked(task, "gauge seed level"),
        "complaint": list(task.told),
        "difficulty": picked(task.difficulty, "bits suspects expected_minutes search_minutes"),
        **picked(course, "minutes price"),
        "opened": [place.id for place in opened_places(course)],
        "hints": hints_given(course),
        **picked(course, "cured over"),
        "steps": [_step_data(course, index) for index in range(len(course.steps))],
        "first": [danger.words for danger in task.consultation.first],
        "cautions": [*task.consultation.cautions, COMPUTED],
        "debrief": None if debriefing is None else debrief_data(debriefing),
    }


def _step_data(course: Course, index: int) -> dict[str, Any]:
    step = course.steps[index]
    action, shown = step.action, step.shown
    result: dict[str, Any] = {"do": action.kind, "what": action.what, "minutes": step.minutes}
    if step.option is not None:
        check = step.option.check
        steps = sequence(course.task.circuit, check, step.before.opened)
        result |= {"state": step.option.state, "words": check.words, "steps": list(steps)}
    if step.price:
        result["price"] = step.price
    if step.opened:
        result["opened"] = list(step.opened)
    if shown is not None:
        result["shown"] = picked(shown, "reads outcome value words")
    if step.result:
        result["result"] = step.result
    if action.suspects or action.predicted:
        result |= {
            "suspects": list(action.suspects),
            "predicted": action.predicted,
            "right": prediction_right(step),
        }
    if action.kind == HINT:
        advice = hint(Course(course.task, course.steps[:index]))
        result["hint"] = hint_words(advice)
    names = cautions(course, step)
    if names:
        result["cautions"] = list(names)
    return result


def hint_words(advice: Hint) -> list[str]:
    """A hint in sentences."""
    if not advice.place:
        return ["This level has no hint left, or nothing is left to do."]
    if not advice.worked:
        return [f"Look for it by {advice.place}."]
    expected = f"From now to the proven repair about {advice.expected_minutes:.0f} minutes."
    if advice.check is not None:
        told_check = f"{advice.check.words} ({advice.check.state_words})."
        outcomes = [f"{outcome.words}: {outcome.probability:.0%}" for outcome in advice.check.outcomes]
        return [told_check, *advice.cautions, *outcomes, expected]
    return [*(repair.words for repair in advice.repairs), *advice.cautions, expected]


def debrief_data(debriefing: Debrief) -> dict[str, Any]:
    """A debrief for a program."""
    course = debriefing.course
    key = debriefing.decisive
    return {
        "fault": course.task.fault,
        "words": course.task.vehicle.fault.words,
        **picked(debriefing, "part_right fault_right score regret_minutes search_minutes loss"),
        "marks_lost": {reason.replace(" ", "_"): lost for reason, lost in debriefing.marks.lost.items()},
        "decisions": [
            {
                "step": decision.number,
                "do": course.steps[decision.number].action.kind,
                "what": course.steps[decision.number].action.what,
                **picked(decision, "regret expected_minutes best best_kind best_minutes bits"),
                **picked(decision, "redundant unwarranted wasted doubt"),
            }
            for decision in debriefing.decisions
        ],
        "redundant": [decision.number for decision in debriefing.redundant],
        "unwarranted": [decision.number for decision in debriefing.unwarranted],
        "decisive": key
        and picked(key, "check state words cautions shown expected_true expected_others before after"),
        "planner": {
            **picked(debriefing.planner, "minutes price"),
            "steps": [
                _step_data(debriefing.planner, index) for index in range(len(debriefing.planner.steps))
            ],
        },
    }
