"""A class: tasks handed out as save files, and one table of those that came back."""

from __future__ import annotations

import argparse
import csv
import io
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from gaugesim.circuit import find
from gaugesim.cli.output import note, print_json, table, wrapped
from gaugesim.cli.practice_debrief import better_words
from gaugesim.cli.practice_sheets import TAKEN, seed_of
from gaugesim.cli.practice_text import done_words
from gaugesim.cli.workers import processes_for
from gaugesim.errors import CaseError
from gaugesim.files import refuse_taken, write_files
from gaugesim.lessons.chance import class_key
from gaugesim.lessons.class_tasks import MOST_SHEETS
from gaugesim.lessons.course import GAVE_UP, Course
from gaugesim.lessons.debriefing import Debrief
from gaugesim.lessons.results import FINISHED, Returned, commonest, returned, save_files
from gaugesim.lessons.save import Saved, save_text, saved
from gaugesim.lessons.score import LOST_FOR
from gaugesim.lessons.task import set_task
from gaugesim.lessons.teach import hints_given
from gaugesim.vocabulary import spoken

Table = Sequence[Mapping[str, Any]]
# a spreadsheet takes a cell that begins so for a formula
_FORMULA = ("=", "+", "-", "@")


def same_class(content: Saved, word: str | None, path: Path) -> None:
    """See that a save file is of the class whose word was given.

    Parameters
    ----------
    word : str or None
        None if none was given.

    Raises
    ------
    CaseError
        If it is of another.
    """
    if word is not None and class_key(word) != content.class_key:
        problem = "holds a task of another class" if content.class_key else "holds a task of no class"
        raise CaseError(problem, str(path), "leave --class out to go on with it")


def hand_out(arguments: argparse.Namespace) -> int:
    """Write save files to begin with.

    Raises
    ------
    CaseError
        If something is missing, or would be written over.
    """
    count = arguments.hand_out
    if not arguments.circuit or arguments.to is None:
        missing = "--to" if arguments.circuit else "CIRCUIT"
        raise CaseError(f"{missing} is missing", "", "--hand-out needs CIRCUIT and --to FOLDER")
    if not 1 <= count <= MOST_SHEETS:
        raise CaseError(f"--hand-out {count} is no number of tasks", "", f"give 1 to {MOST_SHEETS}")
    circuit = find(arguments.circuit, arguments.netlists)
    gauge = circuit.gauge(arguments.gauge).id
    seed, level, own = seed_of(arguments), arguments.level or 1, class_key(arguments.class_word or "")
    name = str(Path(arguments.circuit).resolve()) if arguments.circuit.endswith(".cir") else circuit.id
    paths = [arguments.to / f"task_{number:02d}.json" for number in range(1, count + 1)]
    arguments.to.mkdir(parents=True, exist_ok=True)
    refuse_taken(paths, False, "name another --to")
    contents = {}
    for number, path in enumerate(paths):
        task = set_task(circuit, gauge, seed + number, level, own)
        note(f"task {number + 1} of {count}")
        contents[path] = save_text(saved(Course(task), name, bool(arguments.predict))).encode()
    write_files(contents)
    if arguments.json:
        print_json({"files": [str(path) for path in paths], "circuit": circuit.id, "seed": seed})
    else:
        note(f"wrote {count} tasks of level {level} into {arguments.to}; each begins with --file")
    return 0


def show_results(arguments: argparse.Namespace) -> int:
    """Tell what a class has done."""
    files = [path for path in (arguments.csv, arguments.page) if path is not None]
    refuse_taken(files, arguments.replace, TAKEN)
    own = class_key(arguments.class_word or "")
    paths = save_files(arguments.results)
    rows = []
    with processes_for(len(paths)) as executor:
        work = partial(_row, own=own, netlists=arguments.netlists)
        for row in executor.map(work, paths) if executor else map(work, paths):
            rows.append(row)
            note(f"file {len(rows)} of {len(paths)}: {row['name']}")
    if arguments.csv is not None:
        write_csv(arguments.csv, rows, arguments.replace)
    summary = summary_lines(rows)
    if arguments.page is not None:
        from gaugesim.report import results_page

        page = results_page(_shown(rows), summary).encode()
        write_files({arguments.page: page}, arguments.replace, TAKEN)
    if arguments.json:
        turn, count = commonest(row["wrong_turn"] for row in rows)
        print_json({"results": rows, "lost": _lost_for(rows), "wrong_turn": {"words": turn, "times": count}})
    else:
        print("\n".join([*table(_shown(rows)), "", *(line for text in summary for line in wrapped(text))]))
    return 0


def _row(path: Path, own: str, netlists: Path | None) -> dict[str, Any]:
    return result_row(returned(path, own, netlists))


def result_row(file: Returned) -> dict[str, Any]:
    """A save file as a row of the table. The same keys for every file; None where there is nothing to say."""
    course, debriefing, turn = file.course, file.debrief, file.wrong_turn
    lost = debriefing.marks.lost if debriefing else {}
    return {
        "name": file.name,
        "state": file.state,
        "circuit": course.task.circuit.id if course else None,
        "seed": course.task.seed if course else None,
        "level": course.task.level if course else None,
        "score": debriefing.score if debriefing else None,
        "minutes": course.minutes if course else None,
        "price": course.price if course else None,
        "hints": hints_given(course) if course else None,
        "verdict": _verdict(debriefing) if debriefing else None,
        **{f"lost_{reason}": lost.get(words) for reason, words in LOST_FOR.items()},
        "wrong_turn": done_words(course.steps[turn.number]) if course and turn else "",
        "better": better_words(debriefing, turn) if debriefing and turn else "",
        "problem": file.problem,
    }


def _verdict(debriefing: Debrief) -> str:
    last = debriefing.course.steps[-1].action
    if debriefing.course.burnt:
        return "burnt it"
    if last.kind == GAVE_UP:
        return "gave up"
    return "right" if debriefing.fault_right else "right part" if debriefing.part_right else "wrong"


def _shown(rows: Table) -> list[tuple[str, ...]]:
    """The table for the eye: what was lost most, and nothing that a row says twice."""
    heads = ("name", "score", "min.", "verdict", "broken", "parts", "guess", "minutes", "burnt")
    lines: list[tuple[str, ...]] = [(*heads, "first wrong turn")]
    for row in rows:
        if row["state"] != FINISHED:
            lines.append((row["name"], "-", "", row["state"], *[""] * 6))
            continue
        lost = [row[f"lost_{reason}"] for reason in LOST_FOR]
        lines.append(
            (
                row["name"],
                f"{row['score']:.0f}",
                f"{row['minutes']:g}",
                row["verdict"],
                *(f"-{value:.0f}" if value >= 0.5 else "" for value in lost),
                row["wrong_turn"],
            )
        )
    return lines


def _lost_for(rows: Table) -> dict[str, float]:
    """Marks that a class lost by what they were lost for, means over the finished ones, the most first."""
    done = [row for row in rows if row["score"] is not None]
    means = {
        words: sum(row[f"lost_{reason}"] for row in done) / max(len(done), 1)
        for reason, words in LOST_FOR.items()
    }
    return dict(sorted(means.items(), key=lambda item: -item[1]))


def summary_lines(rows: Table) -> list[str]:
    """What there is to say of a whole class."""
    scores = [row["score"] for row in rows if row["score"] is not None]
    lines = [f"{len(scores)} of {len(rows)} finished."]
    if scores:
        lines[0] = f"{lines[0]} Mean score {sum(scores) / len(scores):.0f} of 100."
        lost = [f"{reason} {marks:.0f}" for reason, marks in _lost_for(rows).items() if marks >= 0.5]
        lines.append(f"Marks lost on average: {', '.join(lost)}." if lost else "No marks were lost.")
    turn, count = commonest(row["wrong_turn"] for row in rows)
    if turn:
        lines.append(f"Most common first wrong turn: {turn}, {count} of {len(scores)}.")
    lines += [f"{row['name']}: {row['state']} ({row['problem']})." for row in rows if row["problem"]]
    return lines


def steps_table(course: Course, debriefing: Debrief | None) -> list[dict[str, Any]]:
    """What was done, step by step.

    Parameters
    ----------
    debriefing : Debrief or None
        None while it is not over, or may not be told.
    """
    judged = {each.number: each for each in debriefing.decisions} if debriefing else {}
    rows, clock = [], 0.0
    for number, step in enumerate(course.steps):
        clock += step.minutes
        decision = judged.get(number)
        rows.append(
            {
                "step": number + 1,
                "do": step.action.kind,
                "what": step.action.what,
                "state": step.action.state,
                "came_of_it": step.shown.words if step.shown else spoken(step.result),
                "minutes": step.minutes,
                "clock": clock,
                "price": step.price,
                "lost_minutes": decision.regret if decision else None,
                "better": better_words(debriefing, decision)
                if debriefing and decision and decision.regret
                else "",
            }
        )
    return rows


def write_csv(path: Path, rows: Table, replace: bool) -> None:
    """Write rows as a table for a spreadsheet."""
    text = io.StringIO()
    writer = csv.DictWriter(text, [*rows[0]] if rows else [])
    writer.writeheader()
    for row in rows:
        writer.writerow({key: _cell(value) for key, value in row.items()})
    write_files({path: text.getvalue().encode()}, replace, TAKEN)


def _cell(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value
