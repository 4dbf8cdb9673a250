"""``gaugesim diagnose``: which fault it is, how sure that is, and what to check next."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Collection
from dataclasses import replace
from pathlib import Path
from typing import Any

from gaugesim import case as cases
from gaugesim.advice.ambiguity_groups import AmbiguityGroup
from gaugesim.cli.advice_text import (
    conflict_lines,
    danger_lines,
    group_lines,
    next_lines,
    or_else,
    percent,
    refused_lines,
)
from gaugesim.cli.history import add_history, effect_lines, tell_before
from gaugesim.cli.output import note, print_json, wrapped
from gaugesim.cli.parser import add_command
from gaugesim.cli.shown_cautions import Warned
from gaugesim.consultation import Consultation, consult
from gaugesim.diagnosis import Suspect
from gaugesim.errors import CaseError
from gaugesim.front.job_data import diagnosis_data

# how many suspects a person is shown, and how many reasons for each
SHOWN, REASONS = 3, 3
# a fault that is less likely is not told beside those that no check tells from it
_LIKELY = 0.02


def add(commands: Any) -> None:
    """Add the command to what ``add_subparsers`` gave."""
    parser = add_command(commands, "diagnose", run, "Which fault is it, and what to check next?")
    parser.add_argument(
        "case",
        metavar="CASE.toml",
        type=Path,
        nargs="?",
        help="what was seen, measured and replaced; without it the terminal is asked",
    )
    parser.add_argument(
        "--ask", action="store_true", help="take the case up again, or begin it, at the terminal"
    )
    parser.add_argument("--all", action="store_true", help="list every suspect, not only the likeliest")
    add_history(parser)
    parser.add_argument(
        "--keep",
        type=Path,
        metavar="FOLDER",
        help="put the case, if it ended with a cure, among the finished ones in a folder; overwrites nothing",
    )


def run(arguments: argparse.Namespace) -> int:
    """Answer."""
    if arguments.case is None or arguments.ask:
        return _ask(arguments)
    case = cases.read(arguments.case)
    consultation = consult(case, arguments.netlists, arguments.history)
    tell_before(consultation.effects, len(consultation.case.entries))
    _ = consultation.diagnosis  # a case that cannot be understood is not kept
    kept = None
    if arguments.keep is not None:
        from gaugesim.records import keep_finished

        kept = keep_finished(case, arguments.keep)
    if arguments.json:
        print_json(diagnosis_data(consultation))
    else:
        print("\n".join(as_text(consultation, arguments.all)))
    if kept is not None:
        note(f"kept as {kept}")
    return 0


def _ask(arguments: argparse.Namespace) -> int:
    if arguments.keep is not None:
        raise CaseError("--keep asks nothing", "", "name a case file, without --ask")
    if arguments.json or not (sys.stdin.isatty() and sys.stdout.isatty()):
        problem = "--json asks nothing" if arguments.json else "there is no terminal to ask at"
        raise CaseError(problem, "", "name a case file, without --ask: gaugesim diagnose CASE.toml")
    from gaugesim.cli.conversation import converse

    return converse(arguments.case, arguments.netlists, history=arguments.history)


def as_text(consultation: Consultation, everything: bool = False) -> list[str]:
    """A diagnosis for a person, in 80 columns: the likeliest and what to do first, the reasons after it."""
    diagnosis, warned = consultation.diagnosis, Warned()
    ranked = [suspect for suspect in diagnosis.ranking if everything or "+" not in suspect.fault]
    shown = ranked if everything else ranked[:SHOWN]
    lines = [consultation.title, *danger_lines(consultation, warned), ""]
    ranked_lines = _ranking_lines(consultation, shown, everything)
    if consultation.cured:
        lines += [*next_lines(consultation, warned), "", "What it most likely was", *ranked_lines]
    else:
        lines += [*ranked_lines, *conflict_lines(consultation), "", *next_lines(consultation, warned)]
    lines += refused_lines(consultation)
    lines += _movement_lines(consultation)
    lines += _reason_lines(shown)
    lines += _apart_lines(consultation, shown, warned)
    lines += effect_lines(consultation.effects, diagnosis.circuit)
    return [*lines, "", *warned.new(consultation.cautions, "")]


def _ranking_lines(consultation: Consultation, shown: list[Suspect], everything: bool) -> list[str]:
    diagnosis = consultation.diagnosis
    lines = []
    for suspect in shown:
        odds = f"  {percent(suspect.probability)}  "
        lines += wrapped(f"{suspect.words}; {suspect.place_words}", " " * 8, odds)
    rest = 1.0 - diagnosis.none_of_these - sum(suspect.probability for suspect in shown)
    if rest > 0.001 and not everything:
        others = "other faults, alone or two at once (--all lists them)"
        lines += wrapped(others, " " * 8, f"  {percent(rest)}  ")
    return [*lines, f"  {percent(diagnosis.none_of_these)}  none of these"]


def _movement_lines(consultation: Consultation) -> list[str]:
    diagnosis = consultation.diagnosis
    if len(diagnosis.circuits) < 2:
        return []
    lines = ["", "Which movement is behind the dial"]
    words = {circuit.id: circuit.sheet.words for circuit in consultation.circuits}
    for name, p in diagnosis.circuits.items():
        if p >= 0.005:
            lines += wrapped(f"{words[name]} ({name})", " " * 8, f"  {percent(p)}  ")
    return lines


def _reason_lines(shown: list[Suspect]) -> list[str]:
    """What each observation says of the suspects; what it says of several is said once."""
    observations: dict[str, dict[str, list[str]]] = {}
    for suspect in shown:
        for reason in [reason for reason in suspect.reasons if reason.decisive][:REASONS]:
            seen = f"{reason.subject} {reason.verb[0]} {reason.seen}"
            says = reason.sentence.removeprefix(seen).lstrip(",; ").replace(": ", ", ")
            observations.setdefault(seen, {}).setdefault(says, []).append(suspect.words)
    lines = ["", "What speaks for and against them"] if observations else []
    for seen, sayings in observations.items():
        lines += wrapped(seen, "    ", "  - ")
        for says, words in sayings.items():
            lines += wrapped(f"{says}: {'; '.join(words)}", "        ", "      ")
    return lines


def _apart_lines(consultation: Consultation, shown: list[Suspect], warned: Warned) -> list[str]:
    """What is not told apart so far, and what never is from outside."""
    diagnosis = consultation.diagnosis
    if consultation.cured:
        return []
    words = {suspect.fault: suspect.words for suspect in diagnosis.ranking}
    groups = [[name for name in group if "+" not in name] for group in diagnosis.groups]
    listed = {suspect.fault for suspect in shown}
    groups = [group for group in groups if len(group) > 1 and {*group} & listed][:2]
    lines = ["", "Not told apart by what is known so far"] if groups else []
    for group in groups:
        lines += wrapped(or_else([words.get(name, name) for name in group], 4), "    ", "  - ")
    likely = {suspect.fault for suspect in diagnosis.ranking if suspect.probability >= _LIKELY}
    hidden = [_among(group, likely) for group in consultation.never_apart if {*group.faults} & listed]
    hidden = [group for group in hidden if group.faults[1:]]
    return lines + (group_lines(hidden, consultation.circuit, warned) if hidden else [])


def _among(group: AmbiguityGroup, faults: Collection[str]) -> AmbiguityGroup:
    """What of a group is among some faults."""
    pairs = [(name, said) for name, said in zip(group.faults, group.words, strict=True) if name in faults]
    means = group.other_means if any(name.startswith("process") for name, _ in pairs) else ""
    names, words = zip(*pairs, strict=True) if pairs else ((), ())
    return replace(group, faults=names, words=words, other_means=means)
