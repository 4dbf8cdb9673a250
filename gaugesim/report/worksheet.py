"""Worksheets for a class on paper, and the key to them for the instructor."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from gaugesim.draw import Dial, draw_dials, draw_schematic, scene, schematic
from gaugesim.draw.style import new_page
from gaugesim.lessons.class_sheets import Row, Worksheet, worksheet
from gaugesim.lessons.class_tasks import Candidate, Class, Key, Tried
from gaugesim.lessons.course import Done
from gaugesim.lessons.debriefing import LEAST_SEARCH
from gaugesim.lessons.score import PART_SHARE, REPAIRED_MARKS, VERDICT_SHARE, marks
from gaugesim.lessons.step_cautions import COMPUTED
from gaugesim.lessons.task import Task
from gaugesim.reading.words import needle_word
from gaugesim.report.elements import filled, image, page, part
from gaugesim.scenario.order_of_work import sequence_words
from gaugesim.vocabulary import spoken

# rows of the table for what was done
EMPTY_ROWS = 13
# a page of its own for the schematic, so that its letters can be read
SCHEMATIC_INCHES = (7.3, 9.9)
# how a sheet is marked, as the program marks a course
MARKING = (
    f"{REPAIRED_MARKS:.0f} for a vehicle that works again and {100 - REPAIRED_MARKS:.0f} for the way to it; "
    f"each part bought on a guess takes {100 * PART_SHARE:.0f} % of what is left of these, a verdict by "
    f"guess up to {100 * VERDICT_SHARE:.0f} %, minutes lost what the key says. A vehicle left broken gets no "
    f"more than {REPAIRED_MARKS:.0f}, one in which something was burnt none."
)
# states that go without saying, as the words of a check imply them
USUAL_STATES = ("key_on_cold", "key_off")


@dataclass(frozen=True)
class Paper:
    """A sheet and the key to it, all but which of a class's it is.

    Attributes
    ----------
    words : str
        Of the gauge.
    """

    circuit: str
    words: str
    seed: int
    level: int
    sheet: Markup
    key: Markup


def try_paper(wanted: Class, candidate: Candidate, taken: frozenset[Key]) -> Tried[Paper]:
    """Make a sheet of a candidate, if it has a task whose key is not taken."""
    task, hopeful = wanted.task(candidate)
    if task is None:
        return Tried(hopeful=hopeful)
    if candidate.keys(task.fault, task.text)[candidate.rule] in taken:
        return Tried(task.fault, task.text)
    return Tried(task.fault, task.text, paper(worksheet(task)))


def paper(sheet: Worksheet) -> Paper:
    """Put a sheet and its key into HTML."""
    task = sheet.task
    words = task.circuit.sheet.gauges[task.gauge].words
    return Paper(task.circuit.id, words, task.seed, task.level, _sheet(sheet), _key(sheet))


def worksheet_pages(papers: Sequence[Paper]) -> tuple[str, str]:
    """Sheets to hand out, and the key to them.

    Parameters
    ----------
    papers : sequence of Paper
        One at least, all of one circuit and gauge.

    Returns
    -------
    page : str
        HTML that loads nothing; each sheet begins on a new page of A4, and nothing in it gives a fault away.
    key : str
        HTML that loads nothing: what to read out, and the reasoning.
    """
    return (
        _class_page("Worksheets", "Sheet", papers, [paper.sheet for paper in papers]),
        _class_page("Key to the worksheets", "Key to sheet", papers, [paper.key for paper in papers]),
    )


def _class_page(title: str, heading: str, papers: Sequence[Paper], bodies: Sequence[Markup]) -> str:
    first = papers[0]
    of_what = f"{title}: {first.words} ({first.circuit})"
    return _paper("class.html", of_what, heading=heading, papers=[*zip(papers, bodies, strict=True)])


def results_page(rows: Sequence[Sequence[str]], summary: Sequence[str]) -> str:
    """What a class has done, as one page. HTML that loads nothing.

    Parameters
    ----------
    rows : sequence of sequence of str
        Heads first.
    summary : sequence of str
        Sentences on the whole class.
    """
    cells = [[cell or "\N{NO-BREAK SPACE}" for cell in row] for row in rows[1:]]
    return _paper("results.html", "Results of a class", summary=summary, heads=rows[0], rows=cells)


def _paper(template: str, title: str, **values: object) -> str:
    return page(template, part("worksheet.css"), "", title=title, **values)


def _circuit(task: Task) -> Markup:
    """The schematic, the same for all sheets."""

    def drawn() -> Markup:
        picture = schematic(scene(task.circuit, gauge=task.gauge), task.gauge)
        return image(
            lambda: draw_schematic(picture, new_page(*SCHEMATIC_INCHES), values=False),
            f"Schematic of {task.circuit.id}",
        )

    return task.circuit.recall(("schematic for paper", task.gauge), {}, drawn)


def _dials(sheet: Worksheet) -> Markup:
    task = sheet.task
    gauge = task.circuit.sheet.gauges[task.gauge]
    shown = []
    for words, position in sheet.needles:
        stands = gauge.stops[0] if position is None else position
        word = "dead" if position is None else spoken(needle_word(gauge, position))
        often = " at times" if task.vehicle.intermittent else ""
        shown.append(Dial(gauge.id, words, gauge.marks, gauge.stops, stands, None, None, f"{word}{often}"))
    needles = "; ".join(f"{dial.words}: needle {dial.word}" for dial in shown)
    return image(lambda: draw_dials(shown), f"Dials: {needles}")


def _sheet(sheet: Worksheet) -> Markup:
    return filled(
        "worksheet.html",
        task=sheet.task,
        told=_sentences(sheet.task.told),
        dials=_dials(sheet),
        empty_rows=EMPTY_ROWS,
        marking=MARKING,
        circuit=_circuit(sheet.task),
        cautions=(*sheet.cautions, COMPUTED),
        places="; ".join(f"{words} {minutes:g}" for words, minutes in sheet.places if minutes),
        rows=[_row(sheet, number, row) for number, row in enumerate(sheet.rows, start=1)],
    )


def _sentences(texts: Iterable[str]) -> list[str]:
    return [f"{text[:1].upper()}{text[1:]}." for text in texts]


def _row(sheet: Worksheet, number: int, row: Row) -> tuple[str, ...]:
    circuit, check, state = sheet.task.circuit, row.option.check, row.option.state
    cautions = ", ".join(map(str, row.cautions))
    where = "" if state in USUAL_STATES else f" ({circuit.sheet.states[state].words})"
    words = f"{check.words}{where}. {sequence_words(circuit, check)}".rstrip()
    return f"{number}", words, f"{row.minutes:g}", " and ".join(row.places), cautions, ""


def _key(sheet: Worksheet) -> Markup:
    task = sheet.task
    numbers = {row.option.id: str(number) for number, row in enumerate(sheet.rows, start=1)}
    search = max(task.difficulty.search_minutes, LEAST_SEARCH)
    lost = [search * share for share in (0.0, 0.25, 0.5, 1.0, 2.0, 4.0)]
    way = [marks(True, 1.0, search, value, 0.0, 0.0).score - REPAIRED_MARKS for value in lost]
    return filled(
        "key.html",
        task=task,
        fault=_sentences([task.vehicle.fault.words])[0],
        why=_sentences(sheet.why),
        how=task.difficulty,
        path=_path(sheet, numbers),
        decisive=_decisive(sheet),
        readings=[
            (
                number,
                f"{row.option.check.id} @ {row.option.state}",
                _truthful(row.shown.words, task.vehicle.misleads(row.option.check, row.shown)),
                _lost_first(row),
            )
            for number, row in zip(numbers.values(), sheet.rows, strict=True)
        ],
        marking=MARKING,
        minutes_lost=("Minutes lost", *(f"{value:.0f}" for value in lost)),
        way_marks=[("Marks for the way", *(f"{value:.0f}" for value in way))],
    )


def _path(sheet: Worksheet, numbers: dict[str, str]) -> Sequence[Sequence[str]]:
    true = [entry.fault == sheet.task.fault for entry in sheet.task.work.hypotheses]
    clock = 0.0
    rows = []
    for step in sheet.planner.steps:
        clock += step.minutes
        if step.option is None and not step.result:
            continue
        number = numbers[step.option.id] if step.option else "-"
        rows.append((number, *_step(step, sheet.task, true), f"{clock:g}"))
    return rows


def _lost_first(row: Row) -> str:
    if row.lost_first is None:
        return "all"
    return f"{row.lost_first:.1f}" if row.lost_first >= 0.05 else "none"


def _truthful(words: str, misleads: str) -> str:
    """What was seen, and what the class must not take for the truth."""
    return f"{words} ({misleads})" if misleads else words


def _step(step: Done, task: Task, true: Sequence[bool]) -> tuple[str, str, str, str]:
    """What was done, why then, what came of it, and how likely the fault was after it."""
    action = step.before.action
    why = f"{action.expected_minutes:.0f} min to the end; no step takes less" if action else "-"
    after = float(step.after.weight[list(true)].sum())
    now = f"{100 * after:.0f} %"
    if step.option is not None and step.shown is not None:
        words = f"{step.option.check.words} ({step.option.state.replace('_', ' ')})"
        misleads = task.vehicle.misleads(step.option.check, step.shown)
        return words, why, _truthful(step.shown.words, misleads), now
    names = "; ".join(repair.words for repair in step.repairs)
    return f"Mend: {names}", why, spoken(step.result), "found" if step.result == "cured" else now


def _decisive(sheet: Worksheet) -> str:
    key = sheet.decisive
    if key is None:
        return ""
    numbers = {row.option.id: number for number, row in enumerate(sheet.rows, start=1)}
    return (
        f"Decisive is check {numbers[f'{key.check}@{key.state}']}: it shows {key.shown}, which is "
        f"{100 * key.expected_true:.0f} % likely with this fault and {100 * key.expected_others:.0f} % with "
        f"the others together, and raises it from {100 * key.before:.0f} to {100 * key.after:.0f} %."
    )
