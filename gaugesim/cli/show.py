"""``gaugesim show``: a circuit on the bench, or one page of a case to carry to the vehicle or to print."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import Any

from gaugesim import case as cases
from gaugesim.circuit import find
from gaugesim.cli.bench import add_options, refuse_ending, run_bench
from gaugesim.cli.case_pictures import CASE_PICTURES, draw_case
from gaugesim.cli.history import add_history, tell_before
from gaugesim.cli.output import note, print_json
from gaugesim.cli.parser import add_command
from gaugesim.cli.pictures import add_pictures, run_picture
from gaugesim.consultation import consult
from gaugesim.errors import CaseError
from gaugesim.files import read_file, refuse_taken, write_files
from gaugesim.front.job_data import effect_data

TAKEN = "name another --page, or add --replace"


def add(commands: Any) -> None:
    """Add the command to what ``add_subparsers`` gave."""
    parser = add_command(
        commands,
        "show",
        run,
        "A circuit on the bench, or one page for phone or paper.",
        "The bench has sliders for state, values, check and faults; a page asks nothing of any network.",
    )
    parser.add_argument(
        "what", metavar="CIRCUIT|CASE.toml", help="a circuit for the bench, or a case file for its page"
    )
    parser.add_argument(
        "--page",
        metavar="FILE.html",
        type=Path,
        help="where to write a page: the job of a case, or the bench of a circuit",
    )
    parser.add_argument(
        "--replace", action="store_true", help="write over a page or picture that is there already"
    )
    add_history(parser)
    add_options(parser)
    add_pictures(parser)


def run(arguments: argparse.Namespace) -> int:
    """Show the bench, or write the page."""
    is_case = arguments.what.endswith(".toml")
    if is_case and arguments.picture in CASE_PICTURES:
        return draw_case(arguments)
    if is_case and arguments.page is None:
        raise CaseError(
            f"{arguments.what} is a case file", "", "say where to write its page, --page job.html"
        )
    if not is_case and arguments.history is not None:
        raise CaseError(f"--history is for a case file, not for {arguments.what}", "", "give CASE.toml")
    if is_case:
        return _page(arguments, Path(arguments.what))
    if arguments.page is not None:
        return _bench_page(arguments)
    if arguments.save is not None:
        refuse_ending(arguments.save)
    from matplotlib import rc_context

    with rc_context({"text.parse_math": False}):  # words are no formulas
        return run_picture(arguments) if arguments.picture else run_bench(arguments)


def _bench_page(arguments: argparse.Namespace) -> int:
    """The bench as a page; what is there at first is chosen on it."""
    from gaugesim.report import bench_page

    target: Path = arguments.page
    chosen = {
        name: getattr(arguments, name) for name in ("state", "check", "gauge", "fault", "set", "hide", "save")
    }
    given = [*(name for name, value in chosen.items() if value), *filter(None, [arguments.picture])]
    if given:
        raise CaseError(f"--page of a circuit goes with no --{given[0]}", "", "choose it on the page")
    refuse_taken([target], arguments.replace, TAKEN)
    circuit = find(arguments.what, arguments.netlists)
    return _write(arguments, bench_page(circuit), {"circuit": circuit.id})


def _page(arguments: argparse.Namespace, source: Path) -> int:
    from gaugesim.report import job_page

    case = cases.read(source)
    target: Path = arguments.page
    if target.exists() and os.path.samefile(target, source):
        raise CaseError(f"--page {target} is the case file itself", "", "name another file, such as job.html")
    refuse_taken([target], arguments.replace, TAKEN)
    consultation = consult(case, arguments.netlists, arguments.history)
    tell_before(consultation.effects, len(consultation.case.entries))
    effects = consultation.effects
    counted = f", with the past repairs of {effects[0].past.source} counted in" if effects else ""
    page = job_page(consultation, read_file(source).decode("utf-8-sig"))
    return _write(arguments, page, {"history": effect_data(effects, consultation.circuit.id)}, counted)


def _write(arguments: argparse.Namespace, text: str, data: dict[str, Any], counted: str = "") -> int:
    """Write a page, and say so."""
    target, page = arguments.page, text.encode()
    write_files({target: page}, arguments.replace, TAKEN)
    if arguments.json:
        print_json({"page": str(target), "bytes": len(page)} | data)
    else:
        note(f"wrote {target}, {len(page) / 1000:.0f} kB{counted}")
    return 0
