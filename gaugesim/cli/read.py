"""``gaugesim read``: what one should see."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import Any

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.cli.output import (
    needle_json,
    needle_lines,
    note,
    number,
    print_json,
    reading_json,
    reading_text,
    table,
    wrapped,
)
from gaugesim.cli.parser import add_circuit, add_command, circuit_of, finish, out_of_range, settings
from gaugesim.errors import CaseError
from gaugesim.reading import OperatingPoint, Seen, Situation, one_by_one, operating_point, see, situation
from gaugesim.reading.exact import Solver
from gaugesim.reading.situation import without_process
from gaugesim.reading.words import quantity
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.fault import parse_faults
from gaugesim.scenario.stack import stack
from gaugesim.solve import nodal
from gaugesim.solve.network import GROUND
from gaugesim.transient import see_at

LONGEST_SECONDS = 3600


def add(commands: Any) -> None:
    """Add the command.

    Parameters
    ----------
    commands
        What ``add_subparsers`` gave.
    """
    parser = add_command(
        commands, "read", run, "What should I see here?", "Bands are 5 to 95 % of tolerances."
    )
    add_circuit(parser)
    parser.add_argument("--state", metavar="S", help="operating state; the circuit's usual one if left out")
    parser.add_argument("--check", metavar="C", help="what is done and read: KIND or KIND:TARGET")
    parser.add_argument(
        "--fault",
        metavar="F",
        action="append",
        default=[],
        help="PART=MODE, PART=MODE@SEVERITY or PART=OHMS; may be repeated",
    )
    parser.add_argument(
        "--set", metavar="PARAM=VALUE", action="append", default=[], help="beats the state; may be repeated"
    )
    parser.add_argument(
        "--at",
        metavar="SECONDS",
        type=float,
        help="the needles so long after the key was turned, and the circuit at that moment; without bands, "
        "--check or a second --fault",
    )
    parser.add_argument("--engine", choices=("nodal", "ngspice"), default="nodal", help="default nodal")
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
    circuit = circuit_of(arguments)
    given = settings(circuit, arguments.set)
    check = find_check(circuit, arguments.check) if arguments.check is not None else NO_CHECK
    place = situation(circuit, arguments.state, check, given)
    faults, change = parse_faults(circuit, arguments.fault, place.parameters)
    scenarios = stack([change])
    # a sender out in known water does not feel what the engine's really is
    scenarios = without_process(scenarios, frozenset(check.setup.parameters))
    solve = _solver(arguments.engine)
    engine = None if arguments.engine == "nodal" else one_by_one(place, solve)
    seen = see(place, scenarios, engine)
    if arguments.at is not None:
        seen = _at(place, arguments, given, seen)
    point = operating_point(place, scenarios, seen.response, solve)
    for text in out_of_range(circuit, given):
        note(text)
    if arguments.json:
        moment = {} if arguments.at is None else {"at": arguments.at}
        print_json(_json(place, list(faults), arguments.engine, seen, point) | moment)
    else:
        sound = see(place) if faults and arguments.at is None else None
        print("\n".join(_lines(circuit, place, arguments, seen, sound, point)))
    return 0


def _at(place: Situation, arguments: argparse.Namespace, given: dict[str, float], seen: Seen) -> Seen:
    """The needles at a moment; the regulator's contact closed or open as it is then."""
    if arguments.check is not None or len(arguments.fault) > 1 or arguments.engine != "nodal":
        raise CaseError(
            "--at goes with no --check, no second --fault and no other engine",
            "",
            "leave --at out for the settled circuit",
        )
    if not 0 < arguments.at <= LONGEST_SECONDS:
        raise CaseError(
            f"--at is {arguments.at:g} s", "", f"give a time above zero, {LONGEST_SECONDS} s at most"
        )
    fault = arguments.fault[0] if arguments.fault else None
    needles, closed = see_at(place.circuit, place.state, arguments.at, fault, given)
    return replace(seen, needles=needles, response=replace(seen.response, duty=np.array([float(closed)])))


def _solver(engine: str) -> Solver:
    if engine == "nodal":
        return nodal.solve
    from gaugesim.solve import spice

    return spice.solve


def _json(
    place: Situation, faults: list[str], engine: str, seen: Seen, point: OperatingPoint
) -> dict[str, Any]:
    return {
        "circuit": place.circuit.id,
        "state": place.state,
        "check": place.check.id or None,
        "faults": faults,
        "engine": engine,
        "needles": {name: needle_json(needle) for name, needle in seen.needles.items()},
        "reading": reading_json(seen.reading),
        "nodes": {node: number(volts) for node, volts in point.voltages.items()},
        "currents": {name: number(amperes) for name, amperes in point.currents.items()},
    }


def _lines(
    circuit: Circuit,
    place: Situation,
    arguments: argparse.Namespace,
    seen: Seen,
    sound: Seen | None,
    point: OperatingPoint,
) -> list[str]:
    sheet = circuit.sheet
    lines = [sheet.words, f"State: {sheet.states[place.state].words}"]
    if arguments.set:
        lines.append(f"Set:   {', '.join(arguments.set)}")
    if arguments.at is not None:
        lines.append(f"At:    {arguments.at:g} s after the key was turned")
    for text in arguments.fault:
        lines += wrapped(_fault_words(circuit, text), "       ", "Fault: ")
    if place.check.id:
        lines += wrapped(place.check.words, "       ", "Check: ")
    lines += ["", *needle_lines(place.gauges, dict(seen.needles))]
    if sound:
        lines += ["", "sound, it would be", *needle_lines(place.gauges, dict(sound.needles))]
    if seen.reading:
        instrument = {"volts": "Voltmeter", "ohms": "Ohmmeter", "lamp": "Test lamp"}[seen.reading.kind]
        lines += ["", *wrapped(reading_text(seen.reading), "  ", f"{instrument}: ")]
        if sound and sound.reading:
            lines += wrapped(reading_text(sound.reading), "  ", "sound, it would be: ")
    duty = float(seen.response.duty[0])
    pulsing = duty < 1 and arguments.at is None
    lines += ["", f"Voltages to battery negative{', means where the regulator pulses' if pulsing else ''}"]
    rows = [
        (entry.words, _volts(point.voltages[entry.node]), entry.id)
        for entry in sheet.points.values()
        if entry.node != GROUND
    ]
    lines += table(rows)
    cautions = dict.fromkeys((*place.check.cautions, *sheet.states[place.state].cautions))
    if cautions:
        lines.append("")
        for name in cautions:
            lines += wrapped(sheet.cautions[name], "  ", "! ")
    return lines


def _volts(value: float) -> str:
    return "cut off" if number(value) is None else quantity(value, "V")


def _fault_words(circuit: Circuit, text: str) -> str:
    part, _, rest = text.partition("=")
    mode, _, severity = rest.partition("@")
    entry = circuit.part(part)
    if mode not in entry.modes:
        return f"{entry.words} is {rest} ohm"
    return f"{entry.words} {entry.modes[mode].words}{f' ({severity})' if severity else ''}"
