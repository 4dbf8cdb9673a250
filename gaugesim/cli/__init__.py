"""The ``gaugesim`` command: one module a subcommand, imported when it is asked for."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from importlib import import_module

from gaugesim import __version__
from gaugesim.cli.parser import Parser, add_netlists, parse
from gaugesim.errors import EngineError, GaugesimError, UnsolvableError

# the modules of this package that have a function ``add(subparsers)``; its parser's ``run`` takes the parsed
# arguments and returns the exit status
COMMANDS = ("circuits", "read", "sweep", "diagnose", "plan", "evaluate", "fit", "show", "practice")

DONE, NO_ANSWER, BAD_INPUT = 0, 1, 2
INTERRUPTED, NOBODY_READS = 130, 141  # as a shell counts them: 128 and the signal


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command.

    Parameters
    ----------
    argv : sequence of str, optional
        Its arguments; those of the process if left out.

    Returns
    -------
    int
        0 done, 1 the question has no answer, 2 bad input with one line on standard error.

    Examples
    --------
    >>> main(["--version"])
    gaugesim 0.1.0
    0
    """
    words = list(sys.argv[1:] if argv is None else argv)
    try:
        arguments = parse(_parser(words), words)
        status = int(arguments.run(arguments))
        sys.stdout.flush()
        return status
    except (UnsolvableError, EngineError) as error:
        return _complain(str(error), NO_ANSWER)
    except (GaugesimError, OSError, UnicodeError) as error:
        if isinstance(error, BrokenPipeError):
            # what is left in the buffer has nobody to go to, and must not be tried again at exit
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return NOBODY_READS
        return _complain(str(error), BAD_INPUT)
    except KeyboardInterrupt:
        return _complain("interrupted", INTERRUPTED)
    except SystemExit as done:  # --help and --version
        return int(done.code or 0)


def _complain(problem: str, status: int) -> int:
    print(f"gaugesim: {' '.join(problem.split())}", file=sys.stderr)
    return status


def _parser(words: Sequence[str]) -> Parser:
    """The parser of the command that is asked for, or of all where help is."""
    parser = Parser(prog="gaugesim", description="Works back from a lying gauge to the fault behind it.")
    parser.add_argument("--version", action="version", version=f"gaugesim {__version__}")
    add_netlists(parser)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True, parser_class=Parser)
    asked = _command(words)
    for name in [asked] if asked in COMMANDS else COMMANDS:
        import_module(f"gaugesim.cli.{name}").add(commands)
    return parser


def _command(words: Sequence[str]) -> str:
    """The first word that is neither an option nor an option's value."""
    before = ""
    for word in words:
        if not word.startswith("-") and before != "--netlists":
            return word
        before = word
    return ""
