"""The bench of ``gaugesim show``: a picture with sliders, in a window or into a file."""

from __future__ import annotations

import argparse
from pathlib import Path

from gaugesim.cli.output import note, print_json
from gaugesim.cli.parser import CommandParser, add_situation, circuit_as_set
from gaugesim.draw.bench import Bench, open_bench
from gaugesim.errors import CaseError
from gaugesim.files import refuse_taken
from gaugesim.front.snapshots import reading_data
from gaugesim.lessons.chance import refuse_seed
from gaugesim.notebook import encoded

TAKEN = "name another --save, or add --replace"


def add_options(parser: CommandParser) -> None:
    """Add what can be said of a bench."""
    add_situation(parser)
    parser.add_argument(
        "--gauge", metavar="G", help="the gauge whose branch alone is drawn, large; all of them if left out"
    )
    parser.add_argument(
        "--hide", metavar="SEED", type=int, help="hide a fault to be found; a button reveals it"
    )
    parser.add_argument(
        "--save",
        metavar="FILE",
        type=Path,
        help="draw a still of it into a .png, .pdf or .svg, no window and no sliders",
    )


def run_bench(arguments: argparse.Namespace) -> int:
    """Open the bench, or draw it into a file.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.
    """
    if arguments.hide is not None:
        refuse_seed(arguments.hide, "--hide")
    circuit, given = circuit_as_set(arguments.what, arguments)
    options = {
        "state": arguments.state,
        "check": arguments.check or "",
        "faults": arguments.fault,
        "given": given,
        "gauge": arguments.gauge,
        "hide": arguments.hide,
    }
    if arguments.save is not None:
        refuse_taken([arguments.save], arguments.replace, TAKEN)
        bench = Bench(circuit, **options)
        bench.save(arguments.save, replace=arguments.replace)
    else:
        bench = open_bench(circuit, **options)
        _refuse_no_window(bench)
    if arguments.json:
        print_json(_json(bench, arguments.save))
    elif arguments.save is not None:
        note(f"wrote {arguments.save}")
    if arguments.save is None:
        from matplotlib import pyplot

        pyplot.show()
    return 0


def _json(bench: Bench, path: Path | None) -> dict[str, object]:
    """What is shown; a hidden fault stays hidden."""
    seen = bench.scene.seen
    return {
        "circuit": bench.circuit.id,
        "gauge": bench.gauge,
        "state": bench.setting.state,
        "check": bench.setting.check or None,
        "faults": [name for name in bench.scene.faults if bench.revealed or name != bench.hidden],
        "hidden": not bench.revealed,
        "needles": encoded(seen.needles),
        "reading": reading_data(seen.reading),
        "saved": None if path is None else str(path),
    }


def refuse_ending(path: Path) -> None:
    """Refuse a file whose name does not say which kind of picture it is to be.

    Raises
    ------
    CaseError
    """
    endings = ("png", "pdf", "svg")
    if path.suffix.lower().removeprefix(".") not in endings:
        raise CaseError(f"--save {path}: not a picture", "", f"let the name end in .{', .'.join(endings)}")


def _refuse_no_window(bench: Bench) -> None:
    """Say so where matplotlib has nothing to open a window with."""
    from matplotlib import get_backend

    canvas = bench.figure.canvas
    if canvas.required_interactive_framework is None and get_backend().lower() not in ("webagg", "nbagg"):
        raise CaseError("no window can be opened here", "", "draw it into a file, --save bench.png")
