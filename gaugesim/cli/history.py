"""The option for past repairs, and what they changed, told to programs and to people."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from gaugesim.cli.advice_text import percent
from gaugesim.cli.output import note, paragraph, wrapped
from gaugesim.cli.parser import CommandParser

if TYPE_CHECKING:
    from gaugesim.evidence.history import Effect

# how many faults a person is shown of those whose share past repairs changed
SHOWN = 4
# a tenth of a second or more each
MANY_ENTRIES = 60


def add_history(parser: CommandParser) -> None:
    """Add the option."""
    parser.add_argument(
        "--history",
        type=Path,
        metavar="PATH",
        help="past repairs that the priors learn from: a .toml file of [[history]] entries, "
        "or a folder of finished cases",
    )


def tell_before(effects: tuple[Effect, ...], entries: int = 0) -> None:
    """Say which past repairs could not be read, and that many entries take their time."""
    if entries > MANY_ENTRIES:
        note(f"{entries} entries: this takes a minute or more")
    for reason in effects[0].past.unreadable if effects else ():
        note(f"a record is not counted: {reason}")


def effect_lines(effects: tuple[Effect, ...], circuit: str) -> list[str]:
    """What past repairs changed, for a person."""
    lines: list[str] = []
    for effect in (each for each in effects if each.circuit == circuit):
        counted = f"{effect.counted:.0f} {'repair' if round(effect.counted) == 1 else 'repairs'}"
        more = f", and {effect.elsewhere:.0f} of parts that this circuit has not" if effect.elsewhere else ""
        title = (
            f"What past repairs change before anything is seen ({effect.past.source}: {counted}{more}; "
            f"the sheet's own shares are worth {effect.past.sheet_worth:g})"
        )
        lines += ["", *paragraph(title)]
        for share in effect.shares[:SHOWN]:
            before = percent(share.before).strip()
            lines += wrapped(
                f"{share.words}, {before} by the sheet alone", " " * 8, f"  {percent(share.after)}  "
            )
    return lines
