"""Worksheets for a class on paper, and the key to them for the instructor."""

from __future__ import annotations

import html
from collections.abc import Iterable, Sequence
from string import Template

from gaugesim.draw import Dial, draw_dials, draw_schematic, scene, schematic
from gaugesim.draw.style import new_page
from gaugesim.practice.beware import COMPUTED
from gaugesim.practice.course import Done
from gaugesim.practice.debrief import LEAST_SEARCH
from gaugesim.practice.score import PART_SHARE, REPAIRED_MARKS, VERDICT_SHARE, marks
from gaugesim.practice.task import Task
from gaugesim.practice.worksheet import Row, Worksheet
from gaugesim.reading.words import needle_word, spoken
from gaugesim.report.elements import content_policy, image, items, part
from gaugesim.scenario.sequence import in_order

# rows of the table for what was done
EMPTY_ROWS = 13
# a page of its own for the schematic, so that its letters can be read
SCHEMATIC_INCHES = (7.3, 9.9)
# how a sheet is marked, as the program marks a course
MARKING = (
    f"{REPAIRED_MARKS:.0f} for a vehicle that works again and {100 - REPAIRED_MARKS:.0f} for the way to it; "
    f"each part replaced for nothing takes {100 * PART_SHARE:.0f} % of what is left of these, a verdict by "
    f"guess up to {100 * VERDICT_SHARE:.0f} %, minutes lost what the key says. A vehicle left broken gets no "
    f"more than {REPAIRED_MARKS:.0f}, one in which something was burnt none."
)
# states that go without saying, as the words of a check imply them
USUAL_STATES = ("key_on_cold", "key_off")


def worksheet_pages(sheets: Iterable[Worksheet], count: int) -> tuple[str, str]:
    """Sheets to hand out, and the key to them.

    Parameters
    ----------
    sheets : iterable of Worksheet
        One at least, all of one circuit and gauge. None is kept: each takes tens of megabytes.
    count : int
        How many they are [1].

    Returns
    -------
    page : str
        HTML that loads nothing; each sheet begins on a new page of A4, and nothing in it gives a fault away.
    key : str
        HTML that loads nothing: what to read out, and the reasoning.
    """
    circuit, of_what, page, key = "", "", [], []
    for sheet in sheets:
        circuit = circuit or _circuit(sheet)
        of_what = f"{_gauge_words(sheet)} ({sheet.task.circuit.id})"
        page.append(_sheet(sheet, count, circuit))
        key.append(_key(sheet, count))
    return (
        paper_page(f"Worksheets: {of_what}", "".join(page)),
        paper_page(f"Key to the worksheets: {of_what}", "".join(key)),
    )


def paper_page(title: str, body: str) -> str:
    """A page for paper.

    Returns
    -------
    str
        HTML that loads nothing.
    """
    style = part("worksheet.css")
    return Template(part("worksheet.html")).substitute(
        policy=content_policy(style, ""), title=html.escape(title), style=style, body=body
    )


def _gauge_words(sheet: Worksheet) -> str:
    return sheet.task.circuit.sheet.gauges[sheet.task.gauge].words


def _circuit(sheet: Worksheet) -> str:
    task = sheet.task
    picture = schematic(scene(task.circuit, gauge=task.gauge), task.gauge)
    return image(
        lambda: draw_schematic(picture, new_page(*SCHEMATIC_INCHES), values=False),
        f"Schematic of {task.circuit.id}",
    )


def _dials(sheet: Worksheet) -> str:
    task = sheet.task
    gauge = task.circuit.sheet.gauges[task.gauge]
    shown = []
    for words, position in sheet.needles:
        stands = gauge.stops[0] if position is None else position
        word = "dead" if position is None else spoken(needle_word(gauge, position))
        often = " at times" if task.vehicle.intermittent else ""
        shown.append(Dial(gauge.id, words, gauge.marks, gauge.stops, stands, None, None, f"{word}{often}"))
    told = "; ".join(f"{dial.words}: needle {dial.word}" for dial in shown)
    return image(lambda: draw_dials(shown), f"Dials: {told}")


def _head(sheet: Worksheet, count: int, what: str) -> str:
    task = sheet.task
    return (
        f'<div class="head"><h1>{what} {sheet.number} of {count}: {html.escape(_gauge_words(sheet))}</h1>'
        f'<span class="name">task {task.seed}, level {task.level}</span></div>'
    )


def _sheet(sheet: Worksheet, count: int, circuit: str) -> str:
    task = sheet.task
    places = "; ".join(f"{words} {minutes:g}" for words, minutes in sheet.places if minutes)
    return (
        f'<section class="case">{_head(sheet, count, "Sheet")}'
        "<p>Name: ______________________________ Date: ______________</p>"
        f"{_first(sheet)}"
        f'<div class="symptom"><div><h2>The owner tells</h2><ul>{items(_sentences(task.told))}</ul></div>'
        f"{_dials(sheet)}</div>"
        "<h2>What was done, and why</h2>"
        '<table class="answer"><thead><tr><th>No.</th><th>Suspects before it</th>'
        "<th>Expected</th><th>Read</th><th>What that excludes</th><th>Clock</th></tr></thead><tbody>"
        f"{'<tr><th></th><td></td><td></td><td></td><td></td><td></td></tr>' * EMPTY_ROWS}</tbody></table>"
        "<p>Fault (part and how it failed): ______________________________________ "
        "Minutes in all: __________</p>"
        f'<p class="small">Marks: {html.escape(MARKING)} '
        "Vehicle ______ Way ______ In all ______</p>"
        f'<div class="schematic"><h2>Circuit</h2>{circuit}</div>'
        '<div class="table"><h2>Cautions</h2>'
        f'<ol class="cautions">{items((*sheet.cautions, COMPUTED))}</ol>'
        "<h2>Checks that may be asked for</h2>"
        f'<p class="small">Minutes to open a place, paid once: {html.escape(places)}. '
        "Engine not started unless a check says so.</p>"
        f"{_table(sheet)}"
        "</div></section>"
    )


def _first(sheet: Worksheet) -> str:
    """What cannot wait until the gauge has been worked out."""
    words = [danger.words for danger in sheet.task.consultation.first]
    return "".join(f"<p><strong>{html.escape(text)}</strong></p>" for text in words)


def _sentences(texts: Iterable[str]) -> list[str]:
    return [f"{text[:1].upper()}{text[1:]}." for text in texts]


def _table(sheet: Worksheet) -> str:
    states = sheet.task.circuit.sheet.states

    def cells(number: int, row: Row) -> tuple[str, ...]:
        cautions = ", ".join(map(str, row.cautions))
        state = row.option.state
        words = f"{row.option.check.words}{'' if state in USUAL_STATES else f' ({states[state].words})'}."
        order = in_order(sheet.task.circuit, row.option.check)
        words += f" {order}" if order else ""
        return f"{number}", words, f"{row.minutes:g}", " and ".join(row.places), cautions, ""

    return rows_table(
        ("No.", "Check", "Min.", "Place", "Cautions", "Reading"),
        [cells(number, row) for number, row in enumerate(sheet.rows, start=1)],
    )


def rows_table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table.

    Returns
    -------
    str
        HTML; an empty cell is one to write into.
    """
    top = "".join(f"<th>{html.escape(head)}</th>" for head in heads)
    body = "".join(
        "<tr>"
        + "".join(
            f'<td class="blank">{text}</td>' if not text else f"<td>{html.escape(text)}</td>" for text in row
        )
        + "</tr>"
        for row in rows
    )
    return f"<table><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def _key(sheet: Worksheet, count: int) -> str:
    task = sheet.task
    how = task.difficulty
    numbers = {row.option.id: str(number) for number, row in enumerate(sheet.rows, start=1)}
    readings = rows_table(
        ("No.", "Check and state", "Reading", "Min. lost if first"),
        [
            (
                str(number),
                f"{row.option.check.id} @ {row.option.state}",
                _truthful(row.shown.words, task.vehicle.misleads(row.option.check, row.shown)),
                _lost_first(row),
            )
            for number, row in enumerate(sheet.rows, start=1)
        ],
    )
    return (
        f'<section class="case">{_head(sheet, count, "Key to sheet")}'
        f"<p><strong>{html.escape(_sentences([task.vehicle.fault.words])[0])}</strong> "
        f"({html.escape(task.fault)})</p>"
        f"<h2>Why the needle stands there</h2><ul>{items(_sentences(sheet.why))}</ul>"
        f"<p>After the complaint {how.suspects} repairs are in question ({how.bits:.1f} bit); a good plan "
        f"takes {how.expected_minutes:.0f} minutes on average, {how.search_minutes:.0f} of them to find "
        "it.</p>"
        f"<h2>The planner's way on this vehicle</h2>{_path(sheet, numbers)}"
        f"{_decisive(sheet)}"
        f"<h2>To read out when a check is asked for</h2>{readings}"
        f"<h2>Marking</h2><p>{html.escape(MARKING)} Minutes lost are those of checks and replacements "
        "beyond what the planner needs from there; the last column above has those of each check if it "
        f"is made first.</p>{_minutes_marks(sheet)}"
        '<p class="small">Any other check: <code>gaugesim practice '
        f"{html.escape(task.circuit.id)} --gauge {task.gauge} --seed {task.seed} --level {task.level}"
        f"</code>{' with --class and the word of the class' if task.class_key else ''}</p>"
        "</section>"
    )


def _path(sheet: Worksheet, numbers: dict[str, str]) -> str:
    true = [entry.fault == sheet.task.fault for entry in sheet.task.work.hypotheses]
    clock = 0.0
    rows = []
    for step in sheet.planner.steps:
        clock += step.minutes
        if step.option is None and not step.result:
            continue
        number = numbers[step.option.id] if step.option else "-"
        rows.append((number, *_step(step, sheet.task, true), f"{clock:g}"))
    return rows_table(("No.", "Step", "Why", "Came of it", "The fault then", "Clock"), rows)


def _lost_first(row: Row) -> str:
    if row.lost_first is None:
        return "all"
    return f"{row.lost_first:.1f}" if row.lost_first >= 0.05 else "none"


def _minutes_marks(sheet: Worksheet) -> str:
    """Marks for the way by the minutes that were lost on it."""
    search = max(sheet.task.difficulty.search_minutes, LEAST_SEARCH)
    lost = [search * share for share in (0.0, 0.25, 0.5, 1.0, 2.0, 4.0)]
    return rows_table(
        ("Minutes lost", *(f"{value:.0f}" for value in lost)),
        [
            (
                "Marks for the way",
                *(
                    f"{marks(True, 1.0, search, value, 0.0, 0.0).score - REPAIRED_MARKS:.0f}"
                    for value in lost
                ),
            )
        ],
    )


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
    text = (
        f"Decisive is {key.check} ({key.state.replace('_', ' ')}): it shows {key.shown}, which is "
        f"{100 * key.expected_true:.0f} % likely with this fault and {100 * key.expected_others:.0f} % with "
        f"the others together, and raises it from {100 * key.before:.0f} to {100 * key.after:.0f} %."
    )
    return f"<p>{html.escape(text)}</p>"
