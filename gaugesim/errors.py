"""What can go wrong, as one family of exceptions.

Every error says where, what is wrong and what would be right, on one line::

    FILE:LINE: what is wrong; what would be right

Each class also inherits the builtin that fits, so ``except ValueError`` still works.
"""

from collections.abc import Iterable


class GaugesimError(Exception):
    """Base of everything that gaugesim raises on purpose.

    Parameters
    ----------
    problem : str
        What is wrong, without a full stop.
    where : str, optional
        The place: a file and line, a file and key, or a key, see `location`.

    Examples
    --------
    >>> str(GaugesimError("no element 'rfeed'", where="fuel.cir:12", remedy="name one of the netlist's"))
    "fuel.cir:12: no element 'rfeed'; name one of the netlist's"
    """

    def __init__(self, problem: str, where: str = "", remedy: str = "") -> None:
        super().__init__(problem, where, remedy)
        self.problem = problem
        self.where = where
        self.remedy = remedy

    def __str__(self) -> str:
        start = f"{self.where}: " if self.where else ""
        remedy = f"; {self.remedy}" if self.remedy else ""
        return " ".join(f"{start}{self.problem}{remedy}".split())


class NetlistError(GaugesimError, ValueError):
    """A netlist that cannot be read, or says something outside the safe subset."""


class SheetError(GaugesimError, ValueError):
    """A sheet that is not complete, not consistent, or does not fit its netlist."""


class CaseError(GaugesimError, ValueError):
    """A case file, or a request on the command line, that cannot be understood."""


class WouldBurnError(CaseError):
    """A check that is none: on a sound circuit already it would burn something."""


class UnknownNameError(GaugesimError, LookupError):
    """A name that nothing here has, see `unknown_name`."""


class OutOfRangeError(GaugesimError, ValueError):
    """A number that nothing in nature has, such as a length below zero."""


class UnsolvableError(GaugesimError, ArithmeticError):
    """A question without an answer: a circuit without a solution, a fit that does not exist."""


class EngineError(GaugesimError, RuntimeError):
    """A circuit engine that is missing, or gave up."""


class MissingPackageError(GaugesimError, ImportError):
    """A package that is not part of every installation, and is wanted now."""


def location(path: object, line: int | None = None, key: str = "") -> str:
    """Text of a place in a file, as `GaugesimError.where` has it.

    Examples
    --------
    >>> location("fuel.cir", line=12)
    'fuel.cir:12'
    >>> location("fuel.toml", key="parts.sender.nominal")
    'fuel.toml: parts.sender.nominal'
    """
    file = str(path) if line is None else f"{path}:{line}"
    return f"{file}: {key}" if key else file


def nearest(name: str, choices: Iterable[str], most: int = 3) -> list[str]:
    """Names that may have been meant, the most likely first.

    Near misses in spelling, then the names that contain what was given.

    Parameters
    ----------
    name : str
        What was given; upper and lower case count as the same.

    Examples
    --------
    >>> nearest("sender_conector", ["sender", "sender_connector", "fuse"])
    ['sender_connector']
    >>> nearest("strap", ["engine_strap", "fuse"])
    ['engine_strap']
    """
    from difflib import get_close_matches  # only mistakes need it

    spelling = {choice.lower(): choice for choice in choices}
    given = name.lower()
    close = get_close_matches(given, spelling, n=most)
    containing = [choice for choice in spelling if given and given in choice and choice not in close]
    return [spelling[choice] for choice in (close + containing)[:most]]


def unknown_name(kind: str, name: str, choices: Iterable[str], where: str = "") -> UnknownNameError:
    """The error to raise for a name that does not exist.

    It offers the nearest names; all of them where none is near and they are few.

    Parameters
    ----------
    kind : str
        What the name should have been the name of, such as ``"part"``.

    Examples
    --------
    >>> print(unknown_name("part", "sendr", ["sender", "fuse"], where="case.toml: replaced.part"))
    case.toml: replaced.part: no part is called 'sendr'; did you mean sender?
    >>> print(unknown_name("part", "flywheel", ["sender", "fuse"]))
    no part is called 'flywheel'; there are fuse, sender
    """
    names = sorted(set(choices))
    near = nearest(name, names)
    shown = 12
    if near:
        remedy = f"did you mean {' or '.join(near)}?"
    elif names:
        more = f" and {len(names) - shown} more" if len(names) > shown else ""
        remedy = f"there are {', '.join(names[:shown])}{more}"
    else:
        remedy = f"there is no {kind} here at all"
    return UnknownNameError(f"no {kind} is called '{name}'", where=where, remedy=remedy)
