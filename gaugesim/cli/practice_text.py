"""What practice shows: the task, a step, help, the debrief."""

from __future__ import annotations

from gaugesim.circuit import Circuit
from gaugesim.cli.advice_text import advice_lines, danger_lines, percent
from gaugesim.cli.output import dial, paragraph, table, wrapped
from gaugesim.cli.shown_cautions import Warned
from gaugesim.lessons.commands import predicted_words, prediction_right
from gaugesim.lessons.course import REPLACED, Course, Done, possible_checks
from gaugesim.lessons.step_cautions import COMPUTED, cautions, opened_places
from gaugesim.lessons.task import Task
from gaugesim.lessons.teach import Excluded, Hint, explained
from gaugesim.reading import Needle
from gaugesim.scenario.order_of_work import sequence_words
from gaugesim.vocabulary import UNDRIVEN, outcome_words

HELP_LINES = (
    "NUMBER or KIND:TARGET [STATE]   make a check; checks says what there is",
    "look PART                       uncover a part and look at it",
    "replace PART                    replace or mend a part, or the gauge; parts lists them",
    "explain                         what the last reading excludes",
    "hint                            what to do next; hints fade with the level",
    "clock                           minutes, money and places open so far",
    "verdict PART=MODE               name the fault and end; faults [PART] lists them",
    "give up                         end without a verdict",
    "quit                            stop; everything is kept",
)
RESULTS = {
    "no_change": "no change, the complaint is still there",
    "changed": "something has changed, but the complaint is not gone",
    "cured_for_a_while": "the complaint is gone; some days later it is back",
    "cured": "the complaint is gone, and stays gone",
}


def task_lines(task: Task, warned: Warned) -> list[str]:
    """The task as it is set."""
    sheet, how = task.circuit.sheet, task.difficulty
    gauge = f"{sheet.gauges[task.gauge].words.capitalize()}: " if len(sheet.gauges) > 1 else ""
    lines = paragraph(f"{gauge}{sheet.words}")
    lines += danger_lines(task.consultation, warned)
    lines += [f"Task {task.seed}, level {task.level}. The owner tells:"]
    for text in task.told:
        lines += wrapped(text, "    ", "  - ")
    ambiguity = f"{how.suspects} repairs in question ({how.bits:.1f} bit)"
    lines += paragraph(
        f"{ambiguity}; a good plan takes {how.expected_minutes:.0f} minutes on average, "
        f"{how.search_minutes:.0f} of them to find it."
    )
    return lines + warned.new((*task.consultation.cautions, COMPUTED))


def checks_lines(course: Course, word: str = "") -> list[str]:
    """The list of checks.

    Parameters
    ----------
    word : str
        Those with this in their name, state or place, or ``all``; left out, they are counted by place.

    Returns
    -------
    list of str
        With what each takes now, by place; its cautions are told with it when it is made.
    """
    task = course.task
    places = task.circuit.sheet.places
    by_place: dict[str, list[tuple[str, str, str, str]]] = {}
    for index, option in possible_checks(course):
        name, state = option.check.id, option.state
        minutes = option.minutes + course.knowledge.setup_minutes(option.check.places)
        where = " and ".join(places[place].words for place in option.check.places) or "no place of its own"
        if not word and len(option.check.places) > 1:
            where = "with two places open"
        if word.lower() in ("", "all") or word.lower() in f"{name} {state} {where}".lower():
            by_place.setdefault(where, []).append((f"{index}", name, state, f"{minutes:g} min"))
    if not by_place:
        return [f"no check has {word!r} in it; checks alone says what there is"]
    lines = []
    for where, rows in by_place.items():
        if word:
            lines += paragraph(f"{where}:")
            lines += table(rows, "  ", [3, 42, 18, 8])
        else:
            kinds = dict.fromkeys(name.partition(":")[0] for _, name, _, _ in rows)
            lines += paragraph(f"{where}: {len(rows)}")
            lines += wrapped(", ".join(kinds), "    ")
    if not word:
        lines += ["", "checks WORD lists those with that word, such as fuse or volts; or checks all."]
    return lines


def parts_lines(course: Course) -> list[str]:
    """What may be replaced, with minutes as they are now, and price."""
    rows = {}
    for part in course.task.circuit.sheet.parts:
        repair = course.knowledge.rest.repair(part)
        minutes = repair.minutes + course.knowledge.setup_minutes(repair.places)
        price = f"{repair.price:g}" if repair.price else "-"
        rows[repair.name] = (repair.name, f"{minutes:g} min", price)
    return ["What may be replaced, how long it takes now, and the price of parts:", *table([*rows.values()])]


def faults_lines(course: Course, word: str = "") -> list[str]:
    """The faults that a verdict may name.

    Parameters
    ----------
    word : str
        Only of parts with this in their name.
    """
    task = course.task
    rows = []
    for part in task.circuit.sheet.parts.values():
        name = task.circuit.short_name(part.id, task.gauge)
        if part.gauge in ("", task.gauge) and word.lower() in name:
            rows += wrapped(f"{name}={{{'|'.join(part.modes)}}}".replace("|", ", "), "    ", "  ")
    return rows or [f"no part has {word!r} in its name"]


def clock_lines(course: Course) -> list[str]:
    """Minutes, money and open places."""
    sheet = course.task.circuit.sheet
    lines = [f"So far {_bill(course)}."]
    opened = [place.words for place in opened_places(course)]
    if opened:
        lines += wrapped(f"Open: {'; '.join(opened)}. Checks there cost no set-up now.", "  ")
    closed = [
        f"{place.words} {place.setup_minutes:g}"
        for place in sheet.places.values()
        if place.id not in course.knowledge.opened
    ]
    return lines + wrapped(f"Minutes to open: {'; '.join(closed) or 'nothing is left closed'}.", "  ")


def done_words(done: Done) -> str:
    """A step by its name: a check's own, or what is done to a part."""
    if done.option is not None:
        return done.action.what
    if done.action.kind == REPLACED:
        return " and ".join(repair.short for repair in done.repairs)
    return f"{done.action.kind} {done.action.what}"


def before_lines(course: Course, done: Done, warned: Warned) -> list[str]:
    """What a check or replacement is, with its cautions."""
    sheet, action = course.task.circuit.sheet, done.action
    minutes = f"{done.minutes:g} {'minute' if done.minutes == 1 else 'minutes'}"
    if done.option is not None:
        state = sheet.states[done.option.state]
        lines = paragraph(f"{action.what} @ {done.option.state}, {minutes}")
        lines += wrapped(f"{done.option.check.words} ({state.words}).", "  ")
        order = sequence_words(course.task.circuit, done.option.check, done.before.opened)
        lines += wrapped(order, "  ") if order else []
    else:
        price = f", parts for {done.price:g}" if done.price else ""
        lines = paragraph(f"{done_words(done)}, {minutes}{price}")
        for repair in done.repairs:
            lines += wrapped(f"{repair.words}.", "  ")
    if done.opened:
        words = " and ".join(sheet.places[name].words for name in done.opened)
        lines += wrapped(f"Counted in: getting {words}.", "  ")
    return lines + warned.lines(course.task.circuit, cautions(course, done))


def shown_lines(course: Course, done: Done) -> list[str]:
    """What came of a step."""
    lines = []
    if done.shown is not None:
        lines += wrapped(f"{done.shown.words}", "     ", "  => ")
        if done.shown.reads == "needle" and done.option is not None:
            lines += _scale(course, done)
        right = prediction_right(done)
        if right is not None:
            lines += wrapped(f"predicted {predicted_words(done)}: {'right' if right else 'not so'}", "     ")
    elif done.action.kind == REPLACED:
        lines += wrapped(RESULTS[done.result], "     ", "  => ")
        if done.result == "cured":
            lines += wrapped("verdict PART=MODE closes the case.", "     ")
    return [*lines, f"  clock: {_bill(course)}"]


def _bill(course: Course) -> str:
    parts = f", parts for {course.price:g}" if course.price else ""
    return f"{course.minutes:g} {'minute' if course.minutes == 1 else 'minutes'}{parts}"


def _scale(course: Course, done: Done) -> list[str]:
    shown, sheet = done.shown, course.task.circuit.sheet
    assert shown is not None
    assert done.option is not None
    if shown.outcome == UNDRIVEN:
        return []
    own = done.option.check.gauge
    gauge = sheet.gauges[own if own in sheet.gauges else course.task.gauge]
    ends = [mark.label or f"{mark.at:g}" for mark in sorted(gauge.marks, key=lambda mark: mark.position)]
    scale = dial(gauge, Needle(shown.value, None, None, shown.outcome), 41)
    return [f"     {ends[0]} {scale} {ends[-1]}"]


def hint_lines(hint: Hint, circuit: Circuit, warned: Warned) -> list[str]:
    """A hint."""
    if not hint.place:
        return ["No hint: this level has none left, or nothing is left to do."]
    if not hint.worked:
        return paragraph(f"Hint: look for it by {hint.place}.")
    expected = f"from now to the proven repair about {hint.expected_minutes:.0f} minutes"
    if hint.check is not None:
        lines = advice_lines(hint.check, circuit, warned, {})
        return [*lines, *wrapped(f"No other step is expected to take less: {expected}.", "  ")]
    words = "; ".join(repair.words for repair in hint.repairs)
    names = " and ".join(repair.short for repair in hint.repairs)
    lines = paragraph(f"Hint: {names} ({words}). No check is worth its minutes before that: {expected}.")
    return lines + warned.lines(circuit, hint.cautions)


def explain_lines(step: Done | None) -> list[str]:
    """What the last reading excludes."""
    if step is None or step.option is None or step.shown is None:
        return ["There is no reading to explain yet."]
    suspects = explained(step)
    lines = paragraph(f"{step.action.what} showed: {step.shown.words}.")
    if step.cured_before:
        return [*lines, "  The complaint was gone already, so it says nothing of the fault."]
    reads = step.option.check.reads
    if not any(suspect.less_likely for suspect in suspects):
        lines.append("  It excludes nothing: all of these would have shown much the same.")
    for heading, chosen in (
        ("Excluded, or nearly so", [suspect for suspect in suspects if suspect.excluded]),
        ("Less likely", [suspect for suspect in suspects if suspect.less_likely and not suspect.excluded]),
        ("Still in question", [suspect for suspect in suspects if not suspect.less_likely]),
    ):
        if chosen:
            lines.append(f"  {heading}:")
        for suspect in chosen:
            lines += wrapped(_excluded(suspect, reads), "          ", "    - ")
    return lines


def _excluded(suspect: Excluded, reads: str) -> str:
    now = f"{percent(suspect.before).strip()} before, {percent(suspect.after).strip()} now"
    if not suspect.less_likely:
        return f"{suspect.words} ({now})"
    return f"{suspect.words}: most likely {outcome_words(reads, suspect.would_show)} ({now})"
