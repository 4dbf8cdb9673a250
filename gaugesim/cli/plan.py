"""``gaugesim plan``: the way to the fault, the repair and its proof."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from gaugesim import case as cases
from gaugesim.advice.ambiguity_groups import FromOutside
from gaugesim.advice.jobs import Job
from gaugesim.advice.next_step import rate_per_hour
from gaugesim.circuit import Circuit
from gaugesim.cli.advice_text import (
    conflict_lines,
    danger_lines,
    group_lines,
    next_lines,
    or_else,
    percent,
    proof_lines,
    refused_lines,
)
from gaugesim.cli.history import add_history, effect_lines, tell_before
from gaugesim.cli.output import print_json, wrapped
from gaugesim.cli.parser import add_command
from gaugesim.cli.shown_cautions import Warned
from gaugesim.consultation import DRAWN, Consultation, consult
from gaugesim.front.job_data import children, plan_data
from gaugesim.planning.problem import CHECK, Step
from gaugesim.planning.trees import Node
from gaugesim.reading.names import node_words
from gaugesim.reading.words import NO_VOLTS, quantity

# suspects whose reading a person is told, and how many neighbours are
_TOLD, NEIGHBOURS = 0.05, 5


def add(commands: Any) -> None:
    """Add the command to what ``add_subparsers`` gave."""
    parser = add_command(commands, "plan", run, "What to do next, and the way to the end?")
    parser.add_argument(
        "case", metavar="CASE.toml|CIRCUIT", help="a case file, or a circuit of which nothing is known"
    )
    parser.add_argument("--gauge", help="the gauge complained of, where a circuit is named that has several")
    parser.add_argument("--tree", action="store_true", help="the whole way as a tree")
    parser.add_argument("--outside", action="store_true", help="what no check from outside tells apart")
    parser.add_argument(
        "--rate",
        metavar="MONEY_PER_HOUR",
        type=rate,
        help="what an hour of work costs: prices of parts then count as minutes (else the sheet's rate)",
    )
    add_history(parser)


def run(arguments: argparse.Namespace) -> int:
    """Answer."""
    consultation = consult(_case(arguments), arguments.netlists, arguments.history, arguments.rate)
    tell_before(consultation.effects, len(consultation.case.entries))
    if arguments.json:
        print_json(plan_data(consultation, arguments.outside))
    else:
        print("\n".join(as_text(consultation, arguments.tree, arguments.outside)))
    return 0


def rate(text: str) -> float:
    """Read what an hour of work costs.

    Raises
    ------
    argparse.ArgumentTypeError
    """
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not 0 < value < float("inf"):
        raise argparse.ArgumentTypeError(f"{text!r} is no rate; give what an hour of work costs, as 60")
    return value


def _case(arguments: argparse.Namespace) -> cases.Case:
    if arguments.case.endswith(".toml"):
        return cases.read(Path(arguments.case))
    data: dict[str, Any] = {"circuit": arguments.case}
    if arguments.gauge:
        data["gauge"] = arguments.gauge
    return cases.parse(data, Path(arguments.case))


def as_text(consultation: Consultation, drawn: bool, outside: bool) -> list[str]:
    """A plan for a person, with its tree and what no check from outside tells apart if they are wanted."""
    warned = Warned()
    lines = [consultation.title, *danger_lines(consultation, warned), *conflict_lines(consultation), ""]
    lines += next_lines(consultation, warned)
    if not consultation.cured:
        lines += [*_reading_lines(consultation), *refused_lines(consultation)]
        lines += _minutes_lines(consultation)
        lines += _neighbour_lines(consultation, warned)
        lines += _resistor_lines(consultation, warned)
        lines += ["", *proof_lines(consultation, warned)]
        lines += _way_lines(consultation, warned) if drawn else []
    if outside:
        lines += _outside_lines(consultation.from_outside, consultation.circuit, warned)
    lines += effect_lines(consultation.effects, consultation.circuit.id)
    return [*lines, "", *warned.new(consultation.cautions, "")]


def _reading_lines(consultation: Consultation) -> list[str]:
    """Why the next check is made, and what each suspect would show at it."""
    saved = consultation.minutes_saved
    lines: list[str] = []
    if saved is not None and saved >= 0.5:
        unit = "minute" if round(saved) == 1 else "minutes"
        lines += wrapped(
            f"Why: to mend something at once instead would take {saved:.0f} {unit} more on average.", "  "
        )
    readings = [entry for entry in consultation.expected_readings if entry.suspected >= _TOLD]
    lines += ["  What each suspect would most probably show:"] if readings else []
    for entry in readings:
        text = f"{entry.suspect}: {entry.words} ({percent(entry.probability).strip()})"
        lines += wrapped(text, "      ", "  - ")
    return lines


def _minutes_lines(consultation: Consultation) -> list[str]:
    lines = [
        "",
        *wrapped(
            f"To the proven repair: {consultation.tree.expected_minutes:.0f} minutes to expect; "
            f"no plan takes less than {consultation.lower_bound_minutes:.0f}. "
            f"Swapping parts in order of likelihood: {consultation.swapping_minutes:.0f}."
        ),
    ]
    hour = rate_per_hour(consultation.job)
    if hour is not None:
        lines += wrapped(f"Prices of parts are counted in as minutes, at {hour:g} for an hour of work.")
    return lines


def _neighbour_lines(consultation: Consultation, warned: Warned) -> list[str]:
    neighbours = consultation.neighbours[:NEIGHBOURS]
    if len(neighbours) < 2:
        return []
    sheet = consultation.circuit.sheet
    lines = ["", f"While you are there, {sheet.places[sheet.parts[neighbours[0].part].place].words}"]
    for entry in neighbours:
        lines += wrapped(
            f"{entry.words} ({entry.because}): {entry.action}", " " * 8, f"  {percent(entry.chance)}  "
        )
    beware = (text for entry in neighbours for text in entry.cautions)
    return lines + warned.lines(consultation.circuit, beware)


def _resistor_lines(consultation: Consultation, warned: Warned) -> list[str]:
    best = consultation.best_resistor
    if best is None or best.bits < 0.05:
        return []
    lines = [
        "",
        *wrapped(
            f"The best resistor in place of the sender: {best.ohms:g} ohm ({best.state_words}). Read the "
            f"needle, and the volts at {best.point_words}"
        ),
    ]
    lines += warned.lines(consultation.circuit, best.cautions)
    alike: dict[str, list[str]] = {}
    for entry in best.expected:
        needle = "stays where it was" if entry.position != entry.position else f"at {entry.position:.2f}"
        volts = quantity(entry.volts, "V") if abs(entry.volts) >= NO_VOLTS else "no voltage"
        if "+" not in entry.fault:
            alike.setdefault(f"needle {needle}, {volts}", []).append(entry.words)
    for shown, words in list(alike.items())[:5]:
        lines += wrapped(f"{shown}: {or_else(words, 2)}", "      ", "  - ")
    return lines


def _way_lines(consultation: Consultation, warned: Warned) -> list[str]:
    """The tree, with what to beware of on the way: each in full first, then by name beside its step."""
    work, root = consultation.job, consultation.tree
    every = way_cautions(consultation)
    lines = ["", "The way to the end, with the minutes since its beginning", *warned.new(every)]
    return [*lines, *_tree_lines(consultation, work, root, warned)]


def way_cautions(consultation: Consultation) -> list[str]:
    """What to beware of on the way to the end."""
    steps = [node.action.step for node in _nodes(consultation.tree) if node.action is not None]
    return list(dict.fromkeys(text for step in steps for text in consultation.cautions_of(step)))


def _nodes(node: Node) -> Iterator[Node]:
    """A tree's nodes, as far as they are drawn."""
    yield node
    for child in node.children.values():
        if child.probability >= DRAWN / 3:
            yield from _nodes(child)


def _tree_lines(
    consultation: Consultation, work: Job, node: Node, warned: Warned, indent: str = "  "
) -> Iterator[str]:
    """A tree in indented lines; what is unlikely is cut off."""
    if node.action is None:
        return
    step = node.action.step
    minutes = f"{node.minutes + node.action.minutes:.0f} min"
    mind = warned.named(work.circuit, consultation.cautions_of(step))
    yield from wrapped(f"{step_words(work, step)}, {minutes}{mind}", indent + "  ", indent)
    for _, words, child in children(work, step, node):
        if child.probability < DRAWN / 3:
            continue
        more = f": {child.expected_minutes:.0f} min more" if child.cut else ""
        share = percent(child.probability).strip()
        yield from wrapped(f"{share} {words}{more}", indent + "    ", indent + "- ")
        yield from _tree_lines(consultation, work, child, warned, indent + "    ")


def step_words(work: Job, step: Step) -> str:
    """What to do at a step of a plan, in words."""
    if step.kind == CHECK:
        option = work.options[step.number]
        return f"{option.check.words} ({work.circuit.sheet.states[option.state].words})"
    return work.remedies[work.repairs[step.number]].sentence


def _outside_lines(hidden: FromOutside, circuit: Circuit, warned: Warned) -> list[str]:
    lines = group_lines(hidden.groups, circuit, warned)
    if hidden.test_point:
        point = hidden.test_point
        where = node_words(circuit, point.node) or point.node.replace("_", " ")
        lines += wrapped(
            f"A permanent test point at {where} tells {point.told_apart} more pairs of faults apart.",
            "  ",
        )
    return lines
