"""Text from strangers, made fit to be read on a terminal: nothing in it acts, and it is never too long."""

from __future__ import annotations

import re
from typing import Any

# Control characters of both sets, at what Unicode breaks lines, what turns the direction of writing round,
# and half characters. Tab and line feed are not among them.
ACTING = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
)
LONGEST_SHOWN = 80  # characters of a value that is repeated to whoever wrote it
_REPLACEMENT = "\N{REPLACEMENT CHARACTER}"


def clean(text: str) -> str:
    r"""A text that does nothing but stand there.

    Returns
    -------
    str
        With U+FFFD for each character that would act.

    Examples
    --------
    >>> clean("pump\x1b[2J")
    'pump\ufffd[2J'
    """
    return ACTING.sub(_REPLACEMENT, text)


def cut(text: str, most: int = LONGEST_SHOWN) -> str:
    """A text without its middle, if it is long.

    Parameters
    ----------
    most : int, optional
        Characters that are left of it [1].

    Examples
    --------
    >>> cut("a needle that stands still", 12)
    'a need ... still'
    """
    if len(text) <= most + len(" ... "):
        return text
    half = most // 2
    return f"{text[: most - half].rstrip()} ... {text[-half:].lstrip()}"


def shown(value: Any) -> str:
    """A value as it is repeated in an error.

    Examples
    --------
    >>> shown("high")
    "'high'"
    >>> shown(1 << 100_000)
    'a number of 30104 digits'
    """
    try:
        return cut(repr(value))
    except ValueError:  # Python writes no whole number of more than a few thousand digits
        if isinstance(value, int):
            return f"a number of {int(value.bit_length() * 0.30103) + 1} digits"
        return "a list of numbers without end"
    except RecursionError:
        return "a list within lists without end"
