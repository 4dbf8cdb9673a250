"""Pictures of ``gaugesim show`` that are not the bench: each into a file."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gaugesim.circuit import Circuit, find
from gaugesim.cli.bench import TAKEN
from gaugesim.cli.output import note, print_json
from gaugesim.cli.parser import Parser, setting_notes, settings
from gaugesim.errors import CaseError
from gaugesim.files import refuse_taken, write_files
from gaugesim.front.seen import reading_data
from gaugesim.notebook import encoded
from gaugesim.reading import why
from gaugesim.reading.why_data import why_data

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from gaugesim.draw.scene import Scene

_WALL_DOTS = 144.0  # in an inch: 1920 dots across


def add_pictures(parser: Parser) -> None:
    """Add the options that ask for a picture.

    Parameters
    ----------
    parser : Parser
    """
    pictures = parser.add_mutually_exclusive_group()
    pictures.add_argument(
        "--why",
        action="store_const",
        const="why",
        dest="picture",
        help="why the needle stands there, sound beside faulty: arrows of the coils, or heat and strip",
    )
    pictures.add_argument(
        "--projector",
        action="store_const",
        const="projector",
        dest="picture",
        help="the dials alone, large, sound beside faulty, for a wall",
    )


@dataclass(frozen=True)
class Wanted:
    """What a picture is to be of.

    Attributes
    ----------
    circuit : Circuit
    gauge : str
    faults : tuple of str
    given : dict
    state : str or None
    check : str
    """

    circuit: Circuit
    gauge: str
    faults: tuple[str, ...]
    given: dict[str, float]
    state: str | None
    check: str

    def scene(self, faulty: bool = True) -> Scene:
        """What is the case, or what would be if all were sound."""
        from gaugesim.draw.scene import scene

        faults = self.faults if faulty else ()
        return scene(self.circuit, self.state, self.check, faults, self.given, self.gauge)


def run_picture(arguments: argparse.Namespace) -> int:
    """Draw a picture into a file.

    Parameters
    ----------
    arguments : argparse.Namespace

    Returns
    -------
    int

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.
    """
    path: Path | None = arguments.save
    if path is None:
        raise CaseError(f"--{arguments.picture} draws into a file", "", "say which, --save picture.png")
    refuse_taken([path], arguments.replace, TAKEN)
    circuit: Circuit = find(arguments.what, arguments.netlists)
    given = settings(circuit, arguments.set)
    for text in setting_notes(circuit, given):
        note(text)
    faults, gauge = tuple(arguments.fault), circuit.gauge(arguments.gauge).id
    wanted = Wanted(circuit, gauge, faults, given, arguments.state, arguments.check or "")
    ax, data = _PICTURES[arguments.picture](wanted)
    figure: Any = ax.get_figure(root=True)
    buffer = BytesIO()
    figure.savefig(buffer, format=path.suffix.lower().removeprefix("."), dpi=_WALL_DOTS)
    write_files({path: buffer.getvalue()}, arguments.replace, TAKEN)
    if arguments.json:
        print_json(
            {"circuit": circuit.id, "gauge": gauge, "picture": arguments.picture, "saved": str(path)} | data
        )
    else:
        note(f"wrote {path}")
    return 0


def _why(wanted: Wanted) -> tuple[Axes, dict[str, Any]]:
    from gaugesim.draw.because import draw_why

    shown = wanted.scene()
    told = why(shown.place, shown.scenarios if wanted.faults else None, shown.seen.response)
    return draw_why(told, wanted.gauge, shown.fault_words), _seen(shown) | {"why": why_data(told)}


def _projector(wanted: Wanted) -> tuple[Axes, dict[str, Any]]:
    from gaugesim.draw.wall import draw_wall

    shown = wanted.scene()
    return draw_wall(shown, wanted.scene(faulty=False) if wanted.faults else None), _seen(shown)


def _seen(shown: Scene) -> dict[str, Any]:
    return {
        "state": shown.place.state,
        "check": shown.place.check.id or None,
        "faults": list(shown.faults),
        "needles": encoded(shown.seen.needles),
        "reading": reading_data(shown.seen.reading),
    }


_PICTURES: dict[str, Callable[[Wanted], tuple[Axes, dict[str, Any]]]] = {
    "why": _why,
    "projector": _projector,
}
