"""Arguments: one line for each mistake, with the nearest name; options that commands share."""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn

from gaugesim.circuit import Circuit, available, find
from gaugesim.cli.output import note
from gaugesim.errors import CaseError, GaugesimError, unknown_name
from gaugesim.expression import ExpressionError, read_number
from gaugesim.table import LARGEST_NUMBER


class CommandParser(argparse.ArgumentParser):
    """An argument parser that raises `CaseError` on a mistake, and takes no shortened options."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"allow_abbrev": False, **options})

    def error(self, message: str) -> NoReturn:
        """Raise what argparse would print."""
        raise CaseError(message.removeprefix("argument "), "", f"see {self.prog} --help")

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        """Refuse a choice that is none, with the nearest ones."""
        if action.choices is not None and value not in action.choices:
            if isinstance(action, argparse._SubParsersAction):
                raise unknown_name("command", str(value), action.choices)
            name = action.option_strings[-1] if action.option_strings else str(action.metavar)
            raise unknown_name(f"choice of {name}", str(value), map(str, action.choices))


def parse(parser: CommandParser, words: Sequence[str]) -> argparse.Namespace:
    """Parse a command line.

    Raises
    ------
    CaseError, UnknownNameError
        With what is wrong and the nearest name.
    """
    arguments, extra = parser.parse_known_args(words)
    if not extra:
        return arguments
    option = next((word for word in extra if word.startswith("-")), None)
    if option is None:
        raise CaseError(f"{extra[0]!r} is one argument too many", "", f"see {arguments.prog} --help")
    raise unknown_name("option", option.partition("=")[0], arguments.options)


def add_command(commands: Any, name: str, run: Any, words: str, more: str = "") -> CommandParser:
    """Add a subcommand with the options that all have.

    Parameters
    ----------
    commands
        What ``add_subparsers`` gave.
    """
    parser: CommandParser = commands.add_parser(name, help=words, description=f"{words} {more}".strip())
    add_netlists(parser, default=argparse.SUPPRESS)
    parser.add_argument("--json", action="store_true", help="numbers for a program, on standard output")
    parser.set_defaults(run=run, prog=parser.prog)
    return parser


def finish(parser: CommandParser) -> None:
    """Note the options of a complete command, for the nearest one to a misspelt."""
    options = [name for action in parser._actions for name in action.option_strings if name.startswith("--")]
    parser.set_defaults(options=options)


def add_netlists(parser: argparse.ArgumentParser, default: Any = None) -> None:
    """Add the option for a folder of circuits."""
    parser.add_argument(
        "--netlists",
        type=Path,
        default=default,
        metavar="DIR",
        help="folder searched for circuits before those in GAUGESIM_NETLISTS and the shipped ones",
    )


def add_circuit(parser: CommandParser, **options: Any) -> None:
    """Add the positional argument that names a circuit.

    Parameters
    ----------
    **options
        For ``add_argument``.
    """
    parser.add_argument(
        "circuit",
        metavar="CIRCUIT",
        help="its id, the path of its .cir file, or of a .toml file with [vehicle]",
        **options,
    )


def add_situation(parser: CommandParser) -> None:
    """Add the options that say what is the case: state, check, faults, values."""
    parser.add_argument("--state", metavar="S", help="operating state; the circuit's usual one if left out")
    parser.add_argument("--check", metavar="C", help="what is done and read: KIND or KIND:TARGET")
    for name, metavar, words in (
        ("--fault", "F", "PART=MODE, PART=MODE@SEVERITY or PART=OHMS"),
        ("--set", "PARAM=VALUE", "beats the state"),
    ):
        again = f"{words}; may be repeated"
        parser.add_argument(name, metavar=metavar, action="append", default=[], help=again)


def circuit_of(arguments: argparse.Namespace) -> Circuit:
    """The circuit that a command line names."""
    return find(arguments.circuit, arguments.netlists)


def found_all(netlists_folder: Path | None) -> list[Circuit]:
    """All circuits that can be read; a note tells of each that cannot."""
    candidates = []
    for name in available(netlists_folder):
        try:
            candidates.append(find(name, netlists_folder))
        except GaugesimError as error:
            note(f"circuit {name} is left out: {error}")
    return candidates


def settings(circuit: Circuit, given: Sequence[str]) -> dict[str, float]:
    """Read ``PARAM=VALUE``. From parameter to its value.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.
    """
    result = {}
    for text in given:
        name, sign, value = (part.strip() for part in text.partition("="))
        if not sign or not name or not value:
            raise CaseError(
                f"--set {text}: not PARAM=VALUE", "", "write for example --set battery_volts=11.5"
            )
        if name.lower() not in circuit.netlist.parameters:
            raise unknown_name("parameter", name, circuit.netlist.parameters, "--set")
        negative = value.startswith("-")
        try:
            number = read_number(value.lstrip("+") if not negative else value[1:])
        except ExpressionError as error:
            raise CaseError(f"--set {text}: {error}") from None
        if number > LARGEST_NUMBER:
            raise CaseError(f"--set {text}: too large", "", f"{LARGEST_NUMBER:g} at most")
        result[name.lower()] = -number if negative else number
    return result


def circuit_as_set(name: str, arguments: argparse.Namespace) -> tuple[Circuit, dict[str, float]]:
    """A circuit and what ``--set`` says of it; a note tells of each value that makes no sense.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.
    """
    circuit = find(name, arguments.netlists)
    given = settings(circuit, arguments.set)
    for text in setting_notes(circuit, given):
        note(text)
    return circuit, given


def setting_notes(circuit: Circuit, given: dict[str, float]) -> list[str]:
    """Notes on values that make no sense, and on those that may be meant for something else.

    One sentence for each process value outside the range that its sheet gives, and for each parameter that is
    called as a part and is not that part's own resistance.
    """
    notes = []
    values = circuit.values(circuit.parameters(circuit.sheet.default_state, given))
    for part in circuit.sheet.parts.values():
        if part.parameter in given and not math.isclose(float(values[part.element]), given[part.parameter]):
            name, ohms = part.parameter, f"{given[part.parameter]:g}"
            notes.append(
                f"--set {name}={ohms} sets the .param {name}, from which the ohms of part {part.id} follow; "
                f"--fault {part.id}={ohms} makes the part itself {ohms} ohm"
            )
    for name, value in given.items():
        quantity = circuit.sheet.quantities.get(name)
        if quantity and not quantity.low <= value <= quantity.high:
            notes.append(
                f"{name}={value:g} is outside {quantity.low:g} to {quantity.high:g} {quantity.unit}: "
                "the answer is arithmetic only"
            )
    return notes
