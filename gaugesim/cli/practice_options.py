"""What ``gaugesim practice`` may be told."""

from __future__ import annotations

import argparse
from pathlib import Path

from gaugesim.lessons.task import LEVELS


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "circuit",
        metavar="CIRCUIT",
        nargs="?",
        help="its id, or the path of its .cir file; may be left out where --file is there already",
    )
    parser.add_argument("--gauge", metavar="GAUGE", help="the gauge complained of; the first if left out")
    parser.add_argument(
        "--seed", type=int, metavar="N", help="which task: the same for everybody; drawn if left out"
    )
    parser.add_argument(
        "--level",
        type=int,
        choices=LEVELS,
        metavar="1-5",
        help="how hard it is to work out; from 4 on faults that come and go, and two at once",
    )
    parser.add_argument(
        "--file", type=Path, metavar="SAVE", help="where all that is done is kept, and taken up again from"
    )
    parser.add_argument(
        "--predict", action="store_true", help="ask for suspects and the expected reading before each check"
    )
    parser.add_argument(
        "--do",
        action="append",
        metavar="COMMAND",
        help="do this and ask nothing; may be given several times; kept only with --file",
    )
    parser.add_argument(
        "--class",
        dest="class_word",
        metavar="WORD",
        help="tasks of one class: what was hidden in them is told with the teacher's word only",
    )
    parser.add_argument(
        "--hand-out", type=int, metavar="N", help="write so many tasks as save files to begin with, into --to"
    )
    parser.add_argument(
        "--results", type=Path, metavar="FOLDER", help="one table of the save files that came back"
    )
    parser.add_argument("--to", type=Path, metavar="FOLDER", help="where --hand-out writes")
    parser.add_argument(
        "--csv", type=Path, metavar="FILE.csv", help="also write the steps, or the results, as a table"
    )
    parser.add_argument(
        "--sheet", type=int, metavar="N", help="write so many different tasks as sheets for paper instead"
    )
    parser.add_argument(
        "--page",
        type=Path,
        metavar="FILE.html",
        help="where the sheets go, and the key beside them, to FILE_key.html; or the results",
    )
    parser.add_argument(
        "--replace", action="store_true", help="write over sheets, key and tables that are there already"
    )
