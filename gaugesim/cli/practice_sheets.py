"""``gaugesim practice --sheet``: different tasks on paper for a class, and the key to them."""

from __future__ import annotations

import argparse
import secrets
from functools import lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

from gaugesim.circuit import find
from gaugesim.cli.output import note, print_json
from gaugesim.cli.workers import processes_for
from gaugesim.errors import CaseError
from gaugesim.files import refuse_taken, write_files
from gaugesim.lessons.chance import class_key, refuse_seed
from gaugesim.lessons.class_tasks import Candidate, Class, Key, Tried, choose_tasks

if TYPE_CHECKING:
    from gaugesim.report.worksheet import Paper

# a seed that nobody chose is below this, so that it can be told across a room
SHORT_SEED = 100_000
TAKEN = "name another file, or add --replace"


def seed_of(arguments: argparse.Namespace) -> int:
    """The seed that was given, or one that is drawn now.

    Raises
    ------
    CaseError
        If it is negative or too large.
    """
    if arguments.seed is None:
        return secrets.randbelow(SHORT_SEED)
    refuse_seed(arguments.seed, "--seed")
    return int(arguments.seed)


def write_sheets(arguments: argparse.Namespace) -> int:
    """Write sheets and key.

    Raises
    ------
    CaseError
        If something is missing, or would be written over.
    """
    for name, value, example in (
        ("CIRCUIT", arguments.circuit, "temp_opposed_coil"),
        ("--sheet", arguments.sheet, "--sheet 12"),
        ("--page", arguments.page, "--page class.html"),
    ):
        if value is None:
            remedy = f"sheets need CIRCUIT, --sheet and --page, for example {example}"
            raise CaseError(f"{name} is missing", "", remedy)
    for name in ("do", "file"):
        if getattr(arguments, name) is not None:
            raise CaseError(f"--{name} does not go with --sheet", "", "leave one of them out")
    page: Path = arguments.page
    key = page.with_name(f"{page.stem}_key{page.suffix}")
    refuse_taken((page, key), arguments.replace, TAKEN)
    from gaugesim.report import worksheet_pages

    circuit = find(arguments.circuit, arguments.netlists)
    gauge = circuit.gauge(arguments.gauge).id
    seed, level = seed_of(arguments), arguments.level or 1
    own = class_key(arguments.class_word or "")
    asked = arguments.circuit, arguments.netlists, gauge, seed, level, arguments.sheet, own
    papers = []
    with processes_for(arguments.sheet) as executor:
        for paper in choose_tasks(_wanted(*asked), partial(_attempt, asked), executor):
            papers.append(paper)
            note(f"sheet {len(papers)} of {arguments.sheet}")
    tasks = [paper.seed for paper in papers]
    texts = worksheet_pages(papers)
    write_files(dict(zip((page, key), map(str.encode, texts), strict=True)), arguments.replace, TAKEN)
    if arguments.json:
        print_json(
            {
                "page": str(page),
                "key": str(key),
                "circuit": circuit.id,
                "gauge": gauge,
                "seed": seed,
                "level": level,
                "tasks": tasks,
            }
        )
    else:
        note(f"wrote {page} and {key}: {len(tasks)} tasks of level {level}, seed {seed}")
    return 0


# what says which class it is: circuit, folder of netlists, gauge, seed, level, count, key
_Asked = tuple[str, Path | None, str, int, int, int, str]


@lru_cache(maxsize=1)
def _wanted(
    circuit: str, folder: Path | None, gauge: str, seed: int, level: int, count: int, own: str
) -> Class:
    """The class, the same object each time it is asked for in a process."""
    return Class(find(circuit, folder), gauge, seed, level, count, own)


def _attempt(asked: _Asked, candidate: Candidate, taken: frozenset[Key]) -> Tried[Paper]:
    from gaugesim.report import try_paper

    return try_paper(_wanted(*asked), candidate, taken)
