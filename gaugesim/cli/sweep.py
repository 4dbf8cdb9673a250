"""``gaugesim sweep``: every fault in turn."""

from __future__ import annotations

import argparse
from typing import Any

from gaugesim.cli.parser import add_circuit, add_command, finish


def add(commands: Any) -> None:
    """Add the command.

    Parameters
    ----------
    commands
        What ``add_subparsers`` gave.
    """
    parser = add_command(commands, "sweep", run, "What does every fault do?")
    add_circuit(parser)
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
    return 0
