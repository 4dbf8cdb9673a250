"""The debrief of a course of practice, for a person."""

from __future__ import annotations

from gaugesim.cli.advice_text import percent
from gaugesim.cli.output import WIDTH, paragraph, wrapped
from gaugesim.cli.practice_text import done_words
from gaugesim.cli.shown_cautions import Warned
from gaugesim.lessons.commands import prediction_right
from gaugesim.lessons.course import BURNT, CHECKED, REPLACED, VERDICT, Course
from gaugesim.lessons.debriefing import Debrief
from gaugesim.lessons.judge import Decision
from gaugesim.lessons.teach import hints_given
from gaugesim.planning.problem import CHECK
from gaugesim.vocabulary import spoken


def debrief_lines(debriefing: Debrief) -> list[str]:
    """The debrief."""
    course, task = debriefing.course, debriefing.course.task
    lines = ["", "DEBRIEF", *paragraph(f"The fault: {task.vehicle.fault.words} ({task.fault}).")]
    lines += paragraph(_verdict(debriefing))
    lines += [
        *paragraph(f"Score {debriefing.score:.0f} of 100{_lost(debriefing)}."),
        *paragraph(
            f"Decisions lost {debriefing.regret_minutes:.1f} minutes where a good search needs "
            f"{debriefing.search_minutes:.1f}."
        ),
        "",
        "Your path (lost: minutes expected to be lost by the decision, luck left out)",
    ]
    judged = {decision.number: decision for decision in debriefing.decisions}
    lines += _path(course, judged)
    lines += ["", "The planner's path on the same vehicle", *_path(debriefing.planner, {})]
    lines += ["", *_remarks(debriefing)]
    return lines


def _lost(debriefing: Debrief) -> str:
    """What marks were lost for."""
    lost = [f"{reason} -{marks:.0f}" for reason, marks in debriefing.marks.lost.items() if marks >= 0.5]
    return f" ({', '.join(lost)})" if lost else ""


def _verdict(debriefing: Debrief) -> str:
    course = debriefing.course
    last = course.steps[-1].action
    if course.burnt and course.steps[-1].shown:
        return f"It ends here: {course.steps[-1].shown.words}."
    if last.kind != VERDICT:
        return "No verdict was given."
    how = (
        "right"
        if debriefing.fault_right
        else "the right part, in another way"
        if debriefing.part_right
        else "not what it was"
    )
    return f"Your verdict {last.what}: {how}."


def _path(course: Course, judged: dict[int, Decision]) -> list[str]:
    lines = []
    clock = 0.0
    for index, step in enumerate(course.steps):
        clock += step.minutes
        if step.action.kind not in (CHECKED, REPLACED, VERDICT, BURNT):
            continue
        came = step.shown.words if step.shown else spoken(step.result) if step.result else ""
        if step.shown is not None and step.option is not None and not step.cured_before:
            misled = course.task.vehicle.misleads(step.option.check, step.shown)
            came += f" ({misled})" if misled else ""
        lost = judged.get(index)
        end = f"  lost {lost.regret:.1f}" if lost else ""
        head = f"  {clock:6.1f}  "
        text = f"{done_words(step)}{': ' + came if came else ''}"
        rows = wrapped(text, " " * 10, head)
        if end and len(rows[-1]) + len(end) <= WIDTH:
            rows[-1] += end
        elif end:
            rows.append(" " * 8 + end)
        lines += rows
    return lines


def better_words(debriefing: Debrief, decision: Decision) -> str:
    """What the planner would have done instead. Empty where nothing was left to gain."""
    rest = debriefing.course.knowledge.rest
    is_check = decision.best_kind == CHECK
    return " and ".join(name if is_check else rest.repair(name).short for name in decision.best)


def _remarks(debriefing: Debrief) -> list[str]:
    course = debriefing.course
    lines: list[str] = []

    def called(decision: Decision) -> str:
        return done_words(course.steps[decision.number])

    if debriefing.redundant:
        lines += paragraph(f"Checks that could tell nothing: {', '.join(map(called, debriefing.redundant))}.")
    if debriefing.unwarranted:
        lines += paragraph(
            f"Not warranted by what was known: {', '.join(map(called, debriefing.unwarranted))}."
        )
    first = debriefing.first_loss
    if first is not None and first.best:
        lines += paragraph(
            f"First costly decision: {called(first)}; better was: {better_words(debriefing, first)}, "
            f"{first.best_minutes:.0f} minutes to the end on average "
            f"instead of {first.expected_minutes:.0f}."
        )
    if debriefing.decisive is not None:
        key = debriefing.decisive
        mind = Warned().named(course.task.circuit, key.cautions)
        lines += paragraph(
            f"Decisive check: {key.check} @ {key.state}. {key.words}{mind}. It shows {key.shown}: "
            f"{percent(key.expected_true).strip()} likely with this fault, "
            f"{percent(key.expected_others).strip()} with the others together; this raised it from "
            f"{percent(key.before).strip()} to {percent(key.after).strip()}."
        )
    predictions = [right for step in course.steps if (right := prediction_right(step)) is not None]
    if predictions:
        named = [step for step in course.steps if step.action.suspects]
        parts = {*(entry.partition("=")[0] for entry in course.task.fault.split("+"))}
        true = {course.knowledge.rest.repair(part).name for part in parts}
        kept = sum(bool(true & {*step.action.suspects}) for step in named)
        lines += paragraph(
            f"Predictions right: {sum(predictions)} of {len(predictions)}; the faulty part was among the "
            f"suspects named {kept} of {len(named)} times."
        )
    planner = debriefing.planner
    lines.append(f"Hints taken: {hints_given(course)}. Time: {course.minutes:g} minutes, ")
    lines[-1] += f"planner {planner.minutes:g}. Parts: {course.price:g}, planner {planner.price:g}."
    return lines
