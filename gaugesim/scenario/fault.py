"""Faults: which there are, how they are written, and what they do.

Each is a part, a mode and a severity, and becomes a change of a few branches.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError
from gaugesim.expression import ExpressionError, read_number
from gaugesim.scenario.changes import HEALTHY, Change, merge
from gaugesim.scenario.effect import Make, change, combine, exchanged
from gaugesim.scenario.fault_list import Fault, Pair, all_faults, find_fault, quantiles

__all__ = [
    "HEALTHY",
    "Change",
    "Fault",
    "Pair",
    "all_faults",
    "change",
    "combine",
    "exchanged",
    "find_fault",
    "merge",
    "parse_fault",
    "parse_faults",
    "quantiles",
    "understood",
]

_WITH_SEVERITY = re.compile(r"^(?P<fault>[^@]+)@(?P<severity>.+)$")


def parse_fault(
    circuit: Circuit, text: str, parameters: Mapping[str, float], gauge: str | None = None
) -> tuple[str, Change]:
    """Read ``PART=MODE``, ``PART=MODE@SEVERITY`` or ``PART=OHMS``.

    Returns
    -------
    change : Change
        Of one severity: the one given, or the mode's typical one.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.
    """
    name, make = understood(circuit, text, gauge)
    return name, make(parameters)


def parse_faults(
    circuit: Circuit, texts: Sequence[str], parameters: Mapping[str, float], gauge: str | None = None
) -> tuple[tuple[str, ...], Change]:
    """Read several faults that are there at once, see `parse_fault` and `combine`."""
    made = [understood(circuit, text, gauge) for text in texts]
    return tuple(name for name, _ in made), combine([make for _, make in made], parameters)


def understood(circuit: Circuit, text: str, gauge: str | None = None, count: int = 1) -> tuple[str, Make]:
    """What a fault is to be called, and what it does to parameter values.

    Parameters
    ----------
    count : int, optional
        In how many circuits at once it is, all of one severity [1].

    Returns
    -------
    make : callable
        From parameter values, floats or arrays of shape (count,), to the change.
    """
    part_name, _, value = text.partition("=")
    try:
        ohms = float("inf") if value.strip().lower() == "inf" else read_number(value.strip())
    except ExpressionError:
        match = _WITH_SEVERITY.match(text)
        fault = find_fault(circuit, match["fault"] if match else text, gauge)
        if not match:
            typical = np.full(count, fault.mode.severity.typical)
            return fault.id, lambda parameters: change(circuit, fault, typical, parameters)
        try:
            given = np.full(count, read_number(match["severity"]))
        except ExpressionError as error:
            raise CaseError(f"severity in {text!r}: {error}", "", "write for example pin=high@47") from None
        if not fault.mode.severity.quantity:
            raise CaseError(f"{fault.id} has no degrees of severity", "", f"write {fault.id}") from None
        severity = fault.mode.severity
        if not severity.low <= given[0] <= severity.high and given[0] != severity.typical:
            raise CaseError(
                f"severity in {text!r} is out of range",
                "",
                f"give {severity.low:g} to {severity.high:g} ({severity.quantity})",
            ) from None
        return f"{fault.id}@{match['severity']}", lambda parameters: change(circuit, fault, given, parameters)
    part = circuit.part(part_name, gauge)
    if not part.element:
        raise CaseError(
            f"{part.id} has no resistance of its own", "", f"give one of its modes: {', '.join(part.modes)}"
        )
    own = Change(np.full(count, ohms), branches={part.element: np.full(count, ohms)})
    return text, lambda parameters: own
