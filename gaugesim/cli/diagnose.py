"""``gaugesim diagnose``: which fault it is, how sure that is, and what to check next."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gaugesim import case as cases
from gaugesim.cli.advice_text import advice_json, advice_lines, group_lines, groups_json, or_else, percent
from gaugesim.cli.history import add_history, circuits_of, effect_json, effect_lines
from gaugesim.cli.output import note, print_json, wrapped
from gaugesim.cli.parser import add_command, finish
from gaugesim.diagnose import Diagnosis, caution_texts, diagnose
from gaugesim.errors import CaseError
from gaugesim.plan.advice import Advice, advice
from gaugesim.plan.decide import next_action
from gaugesim.plan.job import job
from gaugesim.plan.outside import Group, never_apart
from gaugesim.plan.way import best_check, mend_cautions, mend_now

if TYPE_CHECKING:
    from gaugesim.evidence.history import Effect

# how many suspects a person is shown, and how many reasons for each
SHOWN, REASONS = 3, 3
# above this the caution about a truly hot engine is given
REALLY_HOT = 0.02


def add(commands: Any) -> None:
    """Add the command.

    Parameters
    ----------
    commands
        What ``add_subparsers`` gave.
    """
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
    finish(parser)


def run(arguments: argparse.Namespace) -> int:
    """Answer.

    Parameters
    ----------
    arguments : argparse.Namespace

    Returns
    -------
    int
    """
    if arguments.case is None or arguments.ask:
        return _ask(arguments)
    case = cases.read(arguments.case)
    chosen, effects = circuits_of(arguments, case)
    found = diagnose(case, chosen)
    kept = None
    if arguments.keep is not None:
        from gaugesim.records import keep_finished

        kept = keep_finished(case, arguments.keep)
    work = job(found)
    action = next_action(work.problem)
    option = best_check(work, action)
    advised = None if option is None else advice(work, option)
    mend = mend_now(work, action)
    hidden = never_apart(work)
    if arguments.json:
        print_json(as_json(found, advised, mend, effects, hidden))
    else:
        beware = mend_cautions(work, action)
        print("\n".join(as_text(found, advised, mend, effects, hidden, beware, arguments.all)))
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


def cautions_of(found: Diagnosis) -> tuple[str, ...]:
    """Cautions that hold whatever is done next.

    Parameters
    ----------
    found : Diagnosis

    Returns
    -------
    tuple of str
    """
    circuit = found.posteriors[0].cells.circuit
    hot = sum(suspect.probability for suspect in found.ranking if "real_high" in suspect.mode)
    first = ["The engine may really be hot: find that out by other means before it is run any further."]
    texts = first if hot > REALLY_HOT and circuit.gauge(found.gauge).reads == "coolant_celsius" else []
    always = [name for name in ("not_a_gauge",) if name in circuit.sheet.cautions]
    return (*texts, *caution_texts(circuit, always), ADVISES)


ADVISES = (
    "This advises and does not certify: work by the maker's procedure, local rules, "
    "and with a licence where one is asked."
)


def as_json(
    found: Diagnosis,
    advised: Advice | None,
    mend: str = "",
    effects: tuple[Effect, ...] = (),
    hidden: tuple[Group, ...] = (),
) -> dict[str, Any]:
    """A diagnosis for a program.

    Parameters
    ----------
    found : Diagnosis
    advised : Advice or None
    mend : str, optional
        The repair that is worth making at once, in words.
    effects : tuple of Effect, optional
        What past repairs changed.
    hidden : tuple of Group, optional
        Suspects that no check from outside tells apart.

    Returns
    -------
    dict
    """
    return {
        "circuit": found.circuit,
        "gauge": found.gauge,
        "ranking": [
            {
                "fault": suspect.fault,
                "part": suspect.part,
                "mode": suspect.mode,
                "probability": suspect.probability,
                "words": suspect.words,
                "place": suspect.place,
                "repair": suspect.repair,
                "repair_minutes": suspect.repair_minutes,
                "explains": [reason.sentence for reason in suspect.reasons],
            }
            for suspect in found.ranking
        ],
        "circuits": found.circuits,
        "none_of_these": found.none_of_these,
        "groups": [list(group) for group in found.groups],
        "never_from_outside": groups_json(hidden),
        "conflicts": [
            {
                "where": conflict.where,
                "subject": conflict.subject,
                "seen": conflict.seen,
                "probability": conflict.probability,
                "words": conflict.sentence,
                "leader_without": conflict.leader,
                "changes_leader": conflict.changes_leader,
            }
            for conflict in found.conflicts
        ],
        "history": effect_json(effects, found.circuit),
        "next_check": None if advised is None else advice_json(advised),
        "mend_now": mend or None,
        "cautions": list(cautions_of(found)),
    }


def as_text(
    found: Diagnosis,
    advised: Advice | None,
    mend: str = "",
    effects: tuple[Effect, ...] = (),
    hidden: tuple[Group, ...] = (),
    beware: tuple[str, ...] = (),
    everything: bool = False,
) -> list[str]:
    """A diagnosis for a person, in 80 columns.

    Parameters
    ----------
    found : Diagnosis
    advised : Advice or None
    mend : str, optional
        The repair that is worth making at once, in words.
    effects : tuple of Effect, optional
        What past repairs changed.
    hidden : tuple of Group, optional
        Suspects that no check from outside tells apart.
    beware : tuple of str, optional
        Cautions of that repair.
    everything : bool, optional
        List every suspect.

    Returns
    -------
    list of str
    """
    circuit = found.posteriors[0].cells.circuit
    lines = [f"{circuit.sheet.gauges[found.gauge].words.capitalize()} ({found.circuit})"]
    if len(found.circuits) > 1:
        lines += ["", "Which movement is behind the dial"]
        words = {entry.cells.circuit.id: entry.cells.circuit.sheet.words for entry in found.posteriors}
        lines += [
            line
            for name, p in found.circuits.items()
            if p >= 0.005
            for line in wrapped(f"{words[name]} ({name})", " " * 8, f"  {percent(p)}  ")
        ]
    lines += ["", "Likeliest faults, and what speaks for and against them"]
    told = (
        found.ranking
        if everything
        else tuple(suspect for suspect in found.ranking if "+" not in suspect.fault)
    )
    shown = told if everything else told[:SHOWN]
    for suspect in shown:
        lines += wrapped(
            f"{suspect.words}; {suspect.place_words}", " " * 8, f"  {percent(suspect.probability)}  "
        )
        decisive = [reason for reason in suspect.reasons if reason.decisive]
        for reason in decisive[:REASONS]:
            lines += wrapped(reason.sentence, " " * 12, " " * 10 + "- ")
    rest = 1.0 - found.none_of_these - sum(suspect.probability for suspect in shown)
    if rest > 0.001 and not everything:
        lines += wrapped(
            "other faults, alone or two at once (--all lists them)", " " * 8, f"  {percent(rest)}  "
        )
    lines += [f"  {percent(found.none_of_these)}  none of these"]
    lines += effect_lines(effects, found.circuit)
    groups = [[name for name in group if "+" not in name] for group in found.groups]
    groups = [group for group in groups if len(group) > 1][:2]
    if groups:
        lines += ["", "Not told apart by what is known so far"]
        for group in groups:
            lines += wrapped(or_else([_words(found, name) for name in group], 4), "    ", "  - ")
    shown_groups = [group for group in hidden if {*group.faults} & {suspect.fault for suspect in shown}]
    lines += group_lines(shown_groups) if shown_groups else []
    lines += ["", "Take this again before anything else"] if found.conflicts else []
    for conflict in found.conflicts[:2]:
        sure = f"all the rest speaks against it ({percent(conflict.probability).strip()})"
        then = f"; without it {conflict.leader_words} would lead" if conflict.changes_leader else ""
        lines += wrapped(f"{conflict.sentence} ({conflict.where}): {sure}{then}", "    ", "  - ")
    if mend:
        lines += ["", *wrapped(f"Quickest is to mend this at once: {mend}.", "  ", "")]
        for text in beware:
            lines += wrapped(text, "    ", "  ! ")
        lines += ["If you would rather check first:"] if advised else []
    if advised is None:
        lines += ["", "No check would tell more: mend the likeliest fault and prove it."]
    else:
        lines += ([] if mend else [""]) + advice_lines(advised)
    lines += [""]
    for text in cautions_of(found):
        lines += wrapped(text, "  ", "! ")
    return lines


def _words(found: Diagnosis, name: str) -> str:
    return next((suspect.words for suspect in found.ranking if suspect.fault == name), name)
