"""``gaugesim show``: one page of a case, to carry to the vehicle or to print."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import Any

from gaugesim import case as cases
from gaugesim.cli.diagnose import cautions_of
from gaugesim.cli.output import note, print_json
from gaugesim.cli.parser import add_command, finish
from gaugesim.diagnose import candidates, diagnose
from gaugesim.errors import CaseError
from gaugesim.plan.job import job


def add(commands: Any) -> None:
    """Add the command.

    Parameters
    ----------
    commands
        What ``add_subparsers`` gave.
    """
    parser = add_command(
        commands, "show", run, "One page of a case for phone or paper.", "It asks nothing of any network."
    )
    parser.add_argument("case", metavar="CASE.toml", type=Path, help="what was seen, measured and replaced")
    parser.add_argument(
        "--page", metavar="FILE.html", type=Path, required=True, help="where to write the page"
    )
    finish(parser)


def run(arguments: argparse.Namespace) -> int:
    """Write the page.

    Parameters
    ----------
    arguments : argparse.Namespace

    Returns
    -------
    int
    """
    from gaugesim.report import job_page

    case = cases.read(arguments.case)
    target: Path = arguments.page
    if target.exists() and os.path.samefile(target, arguments.case):
        raise CaseError(f"--page {target} is the case file itself", "", "name another file, such as job.html")
    found = diagnose(case, candidates(case, arguments.netlists))
    text = arguments.case.read_text(encoding="utf-8-sig")
    page = job_page(job(found), text, cautions_of(found)).encode()
    target.write_bytes(page)
    if arguments.json:
        print_json({"page": str(target), "bytes": len(page)})
    else:
        note(f"wrote {target}, {len(page) / 1000:.0f} kB")
    return 0
