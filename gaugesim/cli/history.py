"""The option for past repairs, and what they changed, told to programs and to people."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gaugesim.case import Case
from gaugesim.circuit import Circuit
from gaugesim.cli.advice_text import percent
from gaugesim.cli.output import note, wrapped
from gaugesim.cli.parser import Parser
from gaugesim.diagnose import candidates

if TYPE_CHECKING:
    from gaugesim.evidence.history import Effect

# how many faults a person is shown of those whose share past repairs changed
SHOWN = 4
# a tenth of a second or more each
MANY_ENTRIES = 60


def add_history(parser: Parser) -> None:
    """Add the option.

    Parameters
    ----------
    parser : Parser
    """
    parser.add_argument(
        "--history",
        type=Path,
        metavar="PATH",
        help="past repairs that the priors learn from: a .toml file of [[history]] entries, "
        "or a folder of finished cases",
    )


def circuits_of(arguments: argparse.Namespace, case: Case) -> tuple[tuple[Circuit, ...], tuple[Effect, ...]]:
    """The circuits of a case, their priors with the past repairs that the command line names.

    Parameters
    ----------
    arguments : argparse.Namespace
    case : Case

    Returns
    -------
    circuits : tuple of Circuit
    effects : tuple of Effect
        What the past repairs changed on each; empty if none are named.
    """
    if len(case.entries) > MANY_ENTRIES:
        note(f"{len(case.entries)} entries: this takes a minute or more")
    return learned(candidates(case, arguments.netlists), arguments.history, arguments.netlists)


def learned(
    chosen: Sequence[Circuit], history: Path | None, netlists_folder: Path | None
) -> tuple[tuple[Circuit, ...], tuple[Effect, ...]]:
    """Circuits with past repairs in their priors.

    Parameters
    ----------
    chosen : sequence of Circuit
    history : Path or None
        A file of past repairs or a folder of finished cases; None leaves the circuits as they are.
    netlists_folder : Path or None
        Searched first for circuits.

    Returns
    -------
    circuits : tuple of Circuit
    effects : tuple of Effect
        What the past repairs changed on each; empty if there are none.
    """
    if history is None:
        return tuple(chosen), ()
    from gaugesim.evidence.history import effect_on, learn
    from gaugesim.records import past_repairs

    past = past_repairs(history, netlists_folder)
    for reason in past.unreadable:
        note(f"a record is not counted: {reason}")
    after = learn(chosen, past, netlists_folder)
    return after, tuple(effect_on(*both, past) for both in zip(chosen, after, strict=True))


def effect_json(effects: tuple[Effect, ...], circuit: str) -> dict[str, Any] | None:
    """What past repairs changed, for a program.

    Parameters
    ----------
    effects : tuple of Effect
    circuit : str
        The likeliest.

    Returns
    -------
    dict or None
    """
    for effect in effects:
        if effect.circuit == circuit:
            shares = [
                {"fault": share.fault, "before": share.before, "after": share.after}
                for share in effect.shares
            ]
            return {
                "source": effect.past.source,
                "repairs": effect.counted,
                "elsewhere": effect.elsewhere,
                "sheet_worth": effect.past.sheet_worth,
                "unreadable": list(effect.past.unreadable),
                "priors": shares,
            }
    return None


def effect_lines(effects: tuple[Effect, ...], circuit: str) -> list[str]:
    """What past repairs changed, for a person.

    Parameters
    ----------
    effects : tuple of Effect
    circuit : str
        The likeliest.

    Returns
    -------
    list of str
    """
    lines: list[str] = []
    for effect in (each for each in effects if each.circuit == circuit):
        counted = f"{effect.counted:.0f} {'repair' if round(effect.counted) == 1 else 'repairs'}"
        more = f", and {effect.elsewhere:.0f} of parts that this circuit has not" if effect.elsewhere else ""
        title = (
            f"What past repairs change before anything is seen ({effect.past.source}: {counted}{more}; "
            f"the sheet's own shares are worth {effect.past.sheet_worth:g})"
        )
        lines += ["", *wrapped(title, "  ", "")]
        for share in effect.shares[:SHOWN]:
            before = percent(share.before).strip()
            lines += wrapped(
                f"{share.words}, {before} by the sheet alone", " " * 8, f"  {percent(share.after)}  "
            )
    return lines
