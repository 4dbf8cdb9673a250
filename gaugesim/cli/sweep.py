"""``gaugesim sweep``: every fault in turn, and the signature table."""

from __future__ import annotations

import argparse
import json
import sys
import textwrap
from collections.abc import Iterator, Sequence
from itertools import zip_longest
from typing import Any

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.cli.output import WIDTH, table, wrapped
from gaugesim.cli.parser import add_circuit, add_command, circuit_of, finish
from gaugesim.errors import CaseError, unknown_name
from gaugesim.reading import Response, Situation, situation
from gaugesim.reading.words import lamp_word
from gaugesim.scenario.check import NO_CHECK, Check, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.sheet import Gauge
from gaugesim.solve.matrix import check as check_solvable
from gaugesim.sweep import SEVERITIES, Signature, signatures, sweep

_USUAL_CHECKS = ("unplug_sender", "ground_sender_lead", "sender_lead_volts")


def add(commands: Any) -> None:
    """Add the command.

    Parameters
    ----------
    commands
        What ``add_subparsers`` gave.
    """
    more = (
        "For a person the signature table of one state; with --json every row, in every state with every "
        "check unless one is named."
    )
    parser = add_command(commands, "sweep", run, "What does each fault do?", more)
    add_circuit(parser)
    parser.add_argument("--state", metavar="S", help="this operating state only")
    parser.add_argument("--check", metavar="C", help="this check only: KIND or KIND:TARGET")
    parser.add_argument(
        "--severities",
        metavar="N",
        type=_count,
        default=SEVERITIES,
        help=f"of each fault, default {SEVERITIES}",
    )
    finish(parser)


def _count(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= 1000:
        raise CaseError(f"--severities {text}: not a number of severities", "", "give 1 to 1000")
    return int(text)


def run(arguments: argparse.Namespace) -> int:
    """Answer.

    Parameters
    ----------
    arguments : argparse.Namespace

    Returns
    -------
    int
    """
    circuit = circuit_of(arguments)
    if arguments.state is not None and arguments.state not in circuit.sheet.states:
        raise unknown_name("state", arguments.state, circuit.sheet.states, circuit.id)
    check = find_check(circuit, arguments.check) if arguments.check is not None else None
    if arguments.json:
        states = [arguments.state] if arguments.state else list(circuit.sheet.states)
        checks = [check] if check else [NO_CHECK, *(find_check(circuit, name) for name in check_ids(circuit))]
        _see_that_all_have_answers(circuit, states, checks)
        _print_rows(circuit, _json_rows(circuit, states, checks, arguments.severities))
    else:
        print(
            "\n".join(
                _table(circuit, arguments.state or circuit.sheet.default_state, check, arguments.severities)
            )
        )
    return 0


def _see_that_all_have_answers(circuit: Circuit, states: Sequence[str], checks: Sequence[Check]) -> None:
    """Raise before the first row is printed what would be raised in the middle."""
    for state in states:
        for check in checks:
            for network in situation(circuit, state, check).phases:
                check_solvable(network, network.ohms[None])


def _print_rows(circuit: Circuit, rows: Iterator[str]) -> None:
    """Print rows as they come: a sweep can be larger than the memory."""
    sys.stdout.write(f'{{"circuit": {json.dumps(circuit.id)}, "rows": [')
    mark = "\n"
    for text in rows:
        sys.stdout.write(mark + text)
        mark = ",\n"
    sys.stdout.write("\n]}\n")


def _json_rows(
    circuit: Circuit, states: Sequence[str], checks: Sequence[Check], severities: int
) -> Iterator[str]:
    for state in states:
        for check in checks:
            swept = sweep(situation(circuit, state, check), count=severities)
            labels = [f'{{"fault": {json.dumps(fault.id)}, "severity": ' for fault in swept.faults]
            degrees = [bool(fault.mode.severity.quantity) for fault in swept.faults]
            faults = swept.scenarios.source.tolist()
            heads = [
                labels[k] + (repr(severity) if degrees[k] else "null")
                for k, severity in zip(faults, swept.scenarios.severity.tolist(), strict=True)
            ]
            yield from _rows_text(heads, swept.place, swept.response)


def _rows_text(heads: Sequence[str], place: Situation, response: Response) -> Iterator[str]:
    """One text a row: its head, then state, check and what is seen."""
    middle = (
        f', "state": {json.dumps(place.state)}, "check": {json.dumps(place.check.id or None)}, "needles": {{'
    )
    names = [json.dumps(name) for name in response.positions]
    columns = [_numbers(values) for values in response.positions.values()]
    readings = _readings(place, response, len(heads))
    for row, head in enumerate(heads):
        needles = ", ".join(f"{name}: {column[row]}" for name, column in zip(names, columns, strict=True))
        yield f'{head}{middle}{needles}}}, "reading": {readings[row]}}}'


def _numbers(values: np.ndarray) -> list[str]:
    return ["null" if text == "nan" else text for text in map(repr, values.tolist())]


def _readings(place: Situation, response: Response, count: int) -> list[str]:
    if response.reading is None:
        return ["null"] * count
    if place.check.reads == "lamp":
        pairs = zip(response.reading.tolist(), response.pulses.tolist(), strict=True)
        return [json.dumps(lamp_word(volts, pulses)) for volts, pulses in pairs]
    return _numbers(response.reading)


def _table(circuit: Circuit, state: str, check: Check | None, severities: int) -> list[str]:
    sheet = circuit.sheet
    lines = [circuit.id, *wrapped(sheet.words), f"State: {sheet.states[state].words}"]
    for gauge in sheet.gauges.values():
        checks = [NO_CHECK, *([check] if check else _usual(circuit, gauge))]
        entries = signatures(circuit, gauge, state, checks, severities)
        lines += ["", gauge.words.upper()]
        for number, entry in enumerate(checks):
            lines += wrapped(entry.words, "      ", f"  {number + 1}.  ")
        lines += ["", *_signature_lines(entries)]
    lines += [
        "",
        "Faults that stand together show the same here: another check, or another state, may part them.",
    ]
    if check is None:
        lines += wrapped(f"Other checks: gaugesim sweep {circuit.id} --check C; other states: --state S.")
    cautions = dict.fromkeys(name for entry in checks for name in entry.cautions)
    lines += ["", *(line for name in cautions for line in wrapped(sheet.cautions[name], "  ", "! "))]
    return lines


def _usual(circuit: Circuit, gauge: Gauge) -> list[Check]:
    """The checks that anybody makes first, as far as this gauge has them."""
    known = check_ids(circuit, gauge.id)
    names = [name if len(circuit.sheet.gauges) == 1 else f"{name}:{gauge.id}" for name in _USUAL_CHECKS]
    return [find_check(circuit, name) for name in names if name in known]


def _signature_lines(entries: Sequence[Signature]) -> list[str]:
    count = len(entries[0].cells)
    width = (WIDTH - 2) // count - 2
    lines = _columns([f"{number + 1}." for number in range(count)], width)
    for entry in entries:
        names = ", ".join(fault.id for fault in entry.faults) or "(sound)"
        lines += [*_columns(entry.cells, width), *wrapped(names, "        ")]
    return lines


def _columns(cells: Sequence[str], width: int) -> list[str]:
    """Cells side by side, each folded to a width."""
    folded = [textwrap.wrap(cell, width) for cell in cells]
    return table(list(zip_longest(*folded, fillvalue="")), widths=[width] * len(cells))
