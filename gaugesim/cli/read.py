"""``gaugesim read``: what one should see."""

from __future__ import annotations

import argparse
from typing import Any

from gaugesim.circuit import Circuit
from gaugesim.cli.output import caution_lines, needle_lines, note, print_json, reading_text, table, wrapped
from gaugesim.cli.parser import (
    add_circuit,
    add_command,
    add_situation,
    circuit_of,
    setting_notes,
    settings,
)
from gaugesim.errors import CaseError
from gaugesim.front.snapshots import ENGINES, Snapshot, see
from gaugesim.notebook import encoded
from gaugesim.reading import Appearance, Why
from gaugesim.reading import see as show
from gaugesim.reading.reason_data import why_data
from gaugesim.reading.reason_words import in_short, steps
from gaugesim.reading.words import instrument_name, quantity
from gaugesim.scenario.order_of_work import sequence_words
from gaugesim.solve.network import GROUND


def add(commands: Any) -> None:
    """Add the command to what ``add_subparsers`` gave."""
    parser = add_command(
        commands, "read", run, "What should I see here?", "Bands are 5 to 95 % of tolerances."
    )
    add_circuit(parser)
    add_situation(parser)
    parser.add_argument(
        "--at",
        metavar="SECONDS",
        type=float,
        help="the needles so long after the key was turned, and the circuit at that moment; without bands, "
        "--check, --why or a second --fault",
    )
    parser.add_argument(
        "--why",
        action="store_true",
        help="say step by step why the needles stand there: currents, fields or heat, position",
    )
    parser.add_argument("--engine", choices=ENGINES, default="nodal", help="default nodal")


def run(arguments: argparse.Namespace) -> int:
    """Answer."""
    circuit = circuit_of(arguments)
    given = settings(circuit, arguments.set)
    if arguments.why and arguments.at is not None:
        raise CaseError("--why goes with no --at", "", "leave --at out for the settled circuit")
    if str(arguments.at) == "nan":
        raise CaseError("--at is nan s", "", "give a time above zero")
    seen = see(
        circuit, arguments.state, arguments.check, arguments.fault, given, arguments.at, arguments.engine
    )
    for text in setting_notes(circuit, given):
        note(text)
    if arguments.json:
        print_json(seen.to_dict() | ({"why": why_data(seen.why)} if arguments.why else {}))
    else:
        sound = show(seen.situation) if seen.faults and seen.at is None else None
        lines = _lines(seen, arguments.set, sound)
        lines += _why_lines(seen.why) if arguments.why else []
        print("\n".join([*lines, *caution_lines(seen.cautions)]))
    return 0


def _lines(seen: Snapshot, given: list[str], sound: Appearance | None) -> list[str]:
    situation, sheet = seen.situation, seen.circuit.sheet
    lines = [sheet.words, f"State: {sheet.states[seen.state].words}"]
    if given:
        lines.append(f"Set:   {', '.join(given)}")
    if seen.at is not None:
        lines.append(f"At:    {seen.at:g} s after the key was turned")
    for text in seen.asked:
        lines += wrapped(_fault_words(seen.circuit, text), "       ", "Fault: ")
    if situation.check.id:
        lines += wrapped(situation.check.words, "       ", "Check: ")
        order = sequence_words(seen.circuit, situation.check)
        lines += wrapped(order, "       ") if order else []
    lines += ["", *needle_lines(situation.gauges, dict(seen.needles))]
    if sound:
        lines += ["", "sound, it would be", *needle_lines(situation.gauges, dict(sound.needles))]
    if seen.reading:
        lines += ["", *wrapped(reading_text(seen.reading), "  ", f"{instrument_name(seen.reading)}: ")]
        if sound and sound.reading:
            lines += wrapped(reading_text(sound.reading), "  ", "sound, it would be: ")
    means = "" if seen.duty is None else f", means: the regulator is on {100 * seen.duty:.0f} % of the time"
    earth = sheet.earthed_pole.replace("_", " ")
    lines += ["", f"Voltages to {earth}{means}"]
    rows = [
        (entry.words, _volts(seen.voltages[entry.node]), entry.id)
        for entry in sheet.points.values()
        if entry.node != GROUND
    ]
    return [*lines, *table(rows)]


def _why_lines(reasons: Why) -> list[str]:
    """Steps from the supply to each needle."""
    lines: list[str] = []
    for gauge, own in reasons.gauges.items():
        lines += ["", *wrapped(f"WHY: {own.gauge.words}".upper())]
        short = in_short(reasons, gauge)
        lines += wrapped(f"In short: {short}.", "  ") if short else []
        for number, step in enumerate(steps(reasons, gauge), start=1):
            lines.append(f"{number}. {step.title}")
            for text in step.lines:
                lines += wrapped(text, "     ", "   ")
    return lines


def _volts(value: float) -> str:
    return "cut off" if encoded(value) is None else quantity(value, "V")


def _fault_words(circuit: Circuit, text: str) -> str:
    part, _, rest = text.partition("=")
    mode, _, severity = rest.partition("@")
    entry = circuit.part(part)
    if mode not in entry.modes:
        return f"{entry.words} is {rest} ohm"
    return f"{entry.words} {entry.modes[mode].words}{f' ({severity})' if severity else ''}"
