"""What an observation is about, in words."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from gaugesim.reading import Situation
from gaugesim.sheet import Gauge, Quantity
from gaugesim.vocabulary import shared_beginning

NOTHING: Mapping[str, float] = MappingProxyType({})
_UNITS = {"celsius": "degC"}
_NEW = {True: "replacing the {}", False: "mending the {}"}
_DOING = {"used": "replacing the {} by a used one", "cleaned": "cleaning and tightening the {}"}


def doing(words: str, how: str, repair: str = "replace") -> str:
    """What was done to a part.

    Parameters
    ----------
    words : str
        The part.
    how : str
        One of the ways in which a case says it.
    repair : str
        What is done of such a part: a nut or a pin is mended, not replaced.

    Examples
    --------
    >>> doing("nut on stud B", "new", "tighten the nut"), doing("fuse", "new")
    ('mending the nut on stud B', 'replacing the fuse')
    """
    new = _NEW[any(word in repair for word in ("replace", "exchange", "fit a "))]
    return _DOING.get(how, new).format(words)


def situated(subject: str, situation: Situation, given: Mapping[str, float] = NOTHING) -> str:
    """What is looked at, under which check, in which state and at which known truth."""
    check, sheet = situation.check, situation.circuit.sheet
    known = "".join(_truth(sheet.quantities[name], value) for name, value in given.items())
    words = "" if check.setup.dead else f" ({sheet.states[situation.state].words}{known})"
    short = f" {check.short.removeprefix(f'with {subject} ')}" if check.id else ""
    return f"{subject}{short}{words}"


def _truth(quantity: Quantity, value: float) -> str:
    unit = _UNITS.get(quantity.unit, quantity.unit)
    figure = f"{100 * value:g} %" if unit == "1" else f"{value:g} {unit}"
    return f"; {quantity.words.partition(',')[0]} {figure}"


def needle_words(gauge: Gauge) -> str:
    """A gauge's needle, with its article."""
    return f"the {gauge.called} needle"


def from_to(before: str, after: str) -> str:
    """Two states, with what they share said once.

    Examples
    --------
    >>> from_to("key on, engine warm, lights off", "key on, engine warm, lights on")
    'key on, engine warm, from lights off to lights on'
    """
    said, then = before.split(", "), after.split(", ")
    shared = shared_beginning([said[:-1], then[:-1]])
    return ", ".join([*said[:shared], f"from {', '.join(said[shared:])} to {', '.join(then[shared:])}"])
