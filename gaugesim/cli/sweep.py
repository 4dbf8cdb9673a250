"""``gaugesim sweep``: every fault in turn, and the signature table."""

from __future__ import annotations

import argparse
import csv
import json
import sys
import textwrap
from collections.abc import Iterable, Sequence
from itertools import zip_longest
from typing import Any

from gaugesim.circuit import Circuit
from gaugesim.cli.output import WIDTH, caution_lines, table, wrapped
from gaugesim.cli.parser import add_circuit, add_command, circuit_of
from gaugesim.errors import CaseError, unknown_name
from gaugesim.front.fault_sweeps import MOST_SEVERITIES
from gaugesim.front.plain_rows import Row, pair_rows, single_rows
from gaugesim.reading import Situation
from gaugesim.reading.words import quantity_range
from gaugesim.scenario.caution import check_cautions, in_order
from gaugesim.scenario.check import NO_CHECK, Check, find_check
from gaugesim.scenario.check_list import check_ids, first_checks
from gaugesim.scenario.fault import all_faults
from gaugesim.solve.matrix import check as check_solvable
from gaugesim.sweeps import READING, SEVERITIES, Hiding, PairSweep, Signature, hidden, pairs, signatures
from gaugesim.sweeps.signature import BURNS
from gaugesim.vocabulary import TOPICS

# what of the pairs a person is told
MOST_PAIRS = 8
MOST_COUNTS = 6


def add(commands: Any) -> None:
    """Add the command to what ``add_subparsers`` gave."""
    more = (
        "For a person the signature table of one state; with --json every row, in every state with every "
        "check unless one is named."
    )
    parser = add_command(commands, "sweep", run, "What does each fault do?", more)
    add_circuit(parser)
    parser.add_argument("--state", metavar="S", help="this operating state only")
    parser.add_argument("--check", metavar="C", help="this check only: KIND or KIND:TARGET")
    parser.add_argument(
        "--pairs",
        action="store_true",
        help="two faults at once, in one state under one check: the default state and the needles alone "
        "unless others are named",
    )
    parser.add_argument(
        "--severities",
        metavar="N",
        type=_count,
        default=SEVERITIES,
        help=f"of each fault, default {SEVERITIES}",
    )
    parser.add_argument(
        "--csv", action="store_true", help="the rows that --json gives, as a table with commas"
    )


def _count(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= MOST_SEVERITIES:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a number of severities; give 1 to {MOST_SEVERITIES}"
        )
    return int(text)


def run(arguments: argparse.Namespace) -> int:
    """Answer."""
    if arguments.csv and arguments.json:
        raise CaseError("--csv goes with no --json", "", "ask for one of them")
    show = _print_table if arguments.csv else _print_rows
    circuit = circuit_of(arguments)
    if arguments.state is not None and arguments.state not in circuit.sheet.states:
        raise unknown_name("state", arguments.state, circuit.sheet.states, circuit.id)
    check = find_check(circuit, arguments.check) if arguments.check is not None else None
    state = arguments.state or circuit.sheet.default_state
    if arguments.pairs:
        check = check or NO_CHECK
        _see_that_all_have_answers(circuit, [state], [check])
        faults = all_faults(circuit)
        if arguments.json or arguments.csv:
            swept = pairs(Situation.of(circuit, state, check), faults, arguments.severities)
            show(circuit, pair_rows(swept))
        else:
            # while it is open, an intermittent joint is an open one
            steady = [fault for fault in faults if fault.mode.id != "intermittent"]
            swept = pairs(Situation.of(circuit, state, check), steady, arguments.severities)
            print("\n".join(_pair_lines(swept)))
    elif arguments.json or arguments.csv:
        states = [arguments.state] if arguments.state else list(circuit.sheet.states)
        checks = [check] if check else [NO_CHECK, *(find_check(circuit, name) for name in check_ids(circuit))]
        _see_that_all_have_answers(circuit, states, checks)
        show(circuit, single_rows(circuit, states, checks, arguments.severities))
    else:
        print("\n".join(_table(circuit, state, check, arguments.severities)))
    return 0


def _print_rows(circuit: Circuit, rows: Iterable[Row]) -> None:
    """Print rows as they come: a sweep can be larger than the memory."""
    sys.stdout.write(f'{{"circuit": {json.dumps(circuit.id)}, "rows": [')
    mark = "\n"
    for row in rows:
        sys.stdout.write(mark + json.dumps(row))
        mark = ",\n"
    sys.stdout.write("\n]}\n")


def _print_table(circuit: Circuit, rows: Iterable[Row]) -> None:
    """Print rows as a table with commas: a needle that nothing drives and what is not read are empty."""
    gauges = list(circuit.sheet.gauges)
    table = csv.writer(sys.stdout, lineterminator="\n")
    table.writerow(["fault", "severity", "state", "check", *gauges, "reading"])
    for row in rows:
        both = row["severity"]
        if isinstance(both, list):
            both = " + ".join("" if reading is None else repr(reading) for reading in both)
        needles = [row["needles"][gauge] for gauge in gauges]
        table.writerow([row["fault"], both, row["state"], row["check"], *needles, row["reading"]])


def _see_that_all_have_answers(circuit: Circuit, states: Sequence[str], checks: Sequence[Check]) -> None:
    """Raise before the first row is printed what would be raised in the middle."""
    for state in states:
        for check in checks:
            for network in Situation.of(circuit, state, check).phases:
                check_solvable(network, network.ohms[None])


def _table(circuit: Circuit, state: str, check: Check | None, severities: int) -> list[str]:
    sheet = circuit.sheet
    lines = [circuit.id, *wrapped(sheet.words), f"State: {sheet.states[state].words}"]
    burns = False
    for gauge in sheet.gauges.values():
        first = () if check else first_checks(circuit, gauge.id)
        checks = [NO_CHECK, *([check] if check else []), *(find_check(circuit, name) for name in first)]
        entries = signatures(circuit, gauge, state, checks, severities)
        lines += ["", gauge.words.upper()]
        for number, entry in enumerate(checks):
            lines += wrapped(entry.words, "      ", f"  {number + 1}.  ")
        lines += ["", *_signature_lines(entries)]
        burns = burns or any(BURNS in cell for entry in entries for cell in entry.cells)
    lines += [
        "",
        *([f"{BURNS}: not to be made with that fault, its lead would carry too much."] if burns else []),
        "Faults that stand together show the same here: another check, or another state, may part them.",
    ]
    if check is None:
        lines += wrapped(f"Other checks: gaugesim sweep {circuit.id} --check C; other states: --state S.")
    return [*lines, *_caution_lines(circuit, state, checks)]


def _caution_lines(circuit: Circuit, state: str, checks: Sequence[Check]) -> list[str]:
    names = (caution.id for entry in checks for caution in check_cautions(circuit, entry, state))
    return caution_lines(caution.words for caution in in_order(circuit, names))


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


def _pair_lines(swept: PairSweep) -> list[str]:
    """What two faults at once hide."""
    situation, sheet = swept.situation, swept.situation.circuit.sheet
    count = int(swept.apart.sum()) // 2
    lines = [situation.circuit.id, *wrapped(sheet.words), f"State: {sheet.states[situation.state].words}"]
    lines += wrapped(situation.check.words, "       ", "Check: ")
    lines += [f"{count:,} pairs of faults, {len(swept):,} with their severities"]
    for entry in hidden(swept):
        lines += ["", *_hiding_lines(entry, swept)]
    advice = (
        "Where one fault hides another, the other shows only after the first is mended: check again after "
        "every repair. Another check or another state may tell two apart that hide each other here."
    )
    return [
        *lines,
        "",
        *wrapped(advice),
        *_caution_lines(situation.circuit, situation.state, [situation.check]),
    ]


def _hiding_lines(entry: Hiding, swept: PairSweep) -> list[str]:
    if entry.watched == READING:
        title = "THE READING"
        right = quantity_range(entry.low, entry.high, TOPICS[swept.situation.check.reads].unit)
    else:
        title = swept.situation.circuit.sheet.gauges[entry.watched].words.upper()
        right = f"{entry.low:.2f} to {entry.high:.2f} of the scale"
    lines = [f"{title}: right is {right}"]
    if entry.masked:
        lines += wrapped(
            f"Two faults of which each shows alone, and together it reads right: {len(entry.masked)} pairs "
            "at some of their severities. The likeliest, with the share of their severities:",
            "  ",
        )
        for masked in entry.masked[:MOST_PAIRS]:
            lines += wrapped(
                f"{masked.share:4.0%}  {masked.pair.id.replace('+', ' + ')}", "          ", "    "
            )
    if entry.covers:
        lines += wrapped(
            f"Faults beside which others cannot be seen here, and how many of the {entry.shown} that "
            "show alone:",
            "  ",
        )
        by_count: dict[int, list[str]] = {}
        for fault, number in entry.covers:
            by_count.setdefault(number, []).append(fault.id)
        for number, names in list(by_count.items())[:MOST_COUNTS]:
            lines += wrapped(f"{number:4}  {', '.join(names)}", "          ", "    ")
    return lines
