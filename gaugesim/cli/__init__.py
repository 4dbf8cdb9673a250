"""The ``gaugesim`` command: one module a subcommand, imported when it is asked for."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

from gaugesim import __version__
from gaugesim.cli.output import note
from gaugesim.cli.parser import CommandParser, add_netlists, finish, parse
from gaugesim.cli.terminal import plain_streams
from gaugesim.errors import EngineError, GaugesimError, UnsolvableError
from gaugesim.plain import cut

# the modules of this package that have a function ``add(subparsers)``; its parser's ``run`` takes the parsed
# arguments and returns the exit status
COMMANDS = ("circuits", "read", "sweep", "diagnose", "plan", "evaluate", "fit", "show", "practice")

DONE, NO_ANSWER, BAD_INPUT, UNFORESEEN = 0, 1, 2, 3
STANDARD_OUTPUT = "standard output"
TRACE_VARIABLE = "GAUGESIM_TRACE"
INTERRUPTED, NOBODY_READS = 130, 141  # as a shell counts them: 128 and the signal


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command.

    0 done, 1 the question has no answer, 2 bad input with one line on standard error, 3 something that nobody
    has foreseen, also with one line.

    Parameters
    ----------
    argv : sequence of str, optional
        Its arguments; those of the process if left out.

    Examples
    --------
    >>> main(["--version"])
    gaugesim 0.1.0
    0
    """
    with plain_streams():
        status = _status(list(sys.argv[1:] if argv is None else argv))
        try:
            sys.stdout.flush()
        except OSError as error:
            # what is left in the buffer has nobody to go to, and must not be tried again at exit
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            if isinstance(error, BrokenPipeError):
                return NOBODY_READS
            return _complain(f"{STANDARD_OUTPUT}: {error.strerror}", BAD_INPUT)
        return status


def _status(words: list[str]) -> int:
    """Exit status, once the answer or one line of complaint is printed."""
    try:
        arguments = parse(_parser(words), words)
        return int(arguments.run(arguments))
    except SystemExit as done:  # --help and --version
        return int(done.code or 0)
    except (UnsolvableError, EngineError) as error:
        return _complain(str(error), NO_ANSWER)
    except (GaugesimError, UnicodeError) as error:
        return _complain(str(error), BAD_INPUT)
    except BrokenPipeError:
        return NOBODY_READS
    except OSError as error:
        # what is written and read has a name, what is printed has none
        return _complain(f"{error.filename or STANDARD_OUTPUT}: {error.strerror or error}", BAD_INPUT)
    except KeyboardInterrupt:
        return _complain("interrupted", INTERRUPTED)
    except Exception as error:  # the last resort: nothing unforeseen ends in a page of program
        return _unforeseen(error)


def _complain(problem: str, status: int) -> int:
    note(" ".join(problem.split()))
    return status


def _unforeseen(error: Exception) -> int:
    if os.environ.get(TRACE_VARIABLE):
        traceback.print_exc()
    last = traceback.extract_tb(error.__traceback__)[-1]
    return _complain(
        f"this was not foreseen: {type(error).__name__} at {Path(last.filename).name}:{last.lineno} "
        f"({cut(str(error))}); {TRACE_VARIABLE}=1 before the command shows how it came to it",
        UNFORESEEN,
    )


def _parser(words: Sequence[str]) -> CommandParser:
    """The parser of the command that is asked for, or of all where help is."""
    parser = CommandParser(
        prog="gaugesim", description="Works back from a lying gauge to the fault behind it."
    )
    parser.add_argument("--version", action="version", version=f"gaugesim {__version__}")
    add_netlists(parser)
    commands = parser.add_subparsers(
        title="commands", metavar="COMMAND", required=True, parser_class=CommandParser
    )
    asked = _command(words)
    for name in [asked] if asked in COMMANDS else COMMANDS:
        import_module(f"gaugesim.cli.{name}").add(commands)
        finish(commands.choices[name])
    return parser


def _command(words: Sequence[str]) -> str:
    """The first word that is neither an option nor an option's value."""
    before = ""
    for word in words:
        if not word.startswith("-") and before != "--netlists":
            return word
        before = word
    return ""
