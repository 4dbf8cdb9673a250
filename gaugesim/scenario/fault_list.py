"""Which faults there are: each is a part, a mode and a severity."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError, unknown_name
from gaugesim.sheet import Mode, Part, Severity


@dataclass(frozen=True)
class Fault:
    """One way in which one part fails."""

    part: Part
    mode: Mode

    @property
    def id(self) -> str:
        """``part=mode``."""
        return f"{self.part.id}={self.mode.id}"

    @property
    def words(self) -> str:
        """A sentence without its full stop: "nut on stud B (bias) is loose and makes no contact"."""
        return f"{self.part.words} {self.mode.words}"

    @property
    def singles(self) -> tuple[Fault, ...]:
        """The fault itself, as a `Pair` gives its two."""
        return (self,)

    @property
    def damages_winding(self) -> bool:
        """Whether a winding of a gauge has other ohms or turns, and still carries current."""
        return self.part.kind in ("coil", "heater") and self.mode.id in ("short", "drift_up", "drift_down")

    @cached_property
    def weight(self) -> float:
        """Prior weight relative to the circuit's other faults [1]."""
        whole = sum(mode.weight for mode in self.part.modes.values())
        return self.part.weight * self.mode.weight / whole if whole else 0.0

    def severities(self, count: int) -> Floats:
        """Severities of equal prior weight.

        Parameters
        ----------
        count : int
            How many [1]; a fault without degrees has one.

        Returns
        -------
        ndarray, shape (count,)
            Midpoints of ``count`` equal slices of the prior, in the mode's own unit [1].
        """
        severity = self.mode.severity
        if not severity.quantity:
            return np.zeros(1)
        return quantiles(severity, (np.arange(count) + 0.5) / count)


@dataclass(frozen=True)
class Pair:
    """Two faults at once."""

    first: Fault
    second: Fault

    @property
    def id(self) -> str:
        """``a=mode+b=mode``."""
        return f"{self.first.id}+{self.second.id}"

    @property
    def words(self) -> str:
        """Both faults in words."""
        return f"{self.first.words}, and {self.second.words}"

    @property
    def singles(self) -> tuple[Fault, ...]:
        """The two faults."""
        return (self.first, self.second)


def quantiles(severity: Severity, shares: Floats) -> Floats:
    """Severities below which given shares of the prior lie.

    Parameters
    ----------
    shares : ndarray
        Between 0 and 1 [1].

    Returns
    -------
    ndarray
        In the unit of the severity [1].

    Examples
    --------
    >>> quantiles(Severity("ohms", 1.0, 100.0, 10.0), np.array([0.0, 0.5, 1.0]))
    array([  1.,  10., 100.])
    """
    low, high = severity.low, severity.high
    at_low, at_high = severity.at_ends
    shares = np.clip((shares - at_low) / max(1.0 - at_low - at_high, 1e-9), 0.0, 1.0)
    if severity.logarithmic:
        return np.asarray(np.exp(np.log(low) + shares * (np.log(high) - np.log(low))))
    return np.asarray(low + shares * (high - low))


def all_faults(circuit: Circuit) -> tuple[Fault, ...]:
    """Every part and mode of a circuit's sheet."""
    return tuple(Fault(part, mode) for part in circuit.sheet.parts.values() for mode in part.modes.values())


def find_fault(circuit: Circuit, name: str, gauge: str | None = None) -> Fault:
    """The fault of an id.

    Parameters
    ----------
    name : str
        ``part=mode``.

    Raises
    ------
    CaseError
        If the text is not of that form.
    UnknownNameError
        With the nearest names.
    """
    part_name, sign, mode = name.partition("=")
    if not sign:
        raise CaseError(f"fault {name!r} is not PART=MODE", "", "write for example sender_connector=high")
    part = circuit.part(part_name, gauge)
    if mode not in part.modes:
        raise unknown_name(f"mode of {part.id}", mode, part.modes, circuit.id)
    return Fault(part, part.modes[mode])
