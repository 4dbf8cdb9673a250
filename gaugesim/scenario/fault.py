"""Faults: each is a part, a mode and a severity, and becomes a change of a few branches."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError, unknown_name
from gaugesim.expression import ExpressionError, read_number
from gaugesim.scenario.change import HEALTHY, Change, merge
from gaugesim.sheet import Mode, Part, Severity
from gaugesim.solve.network import OPEN_OHMS, Floats

__all__ = [
    "HEALTHY",
    "Change",
    "Fault",
    "all_faults",
    "change",
    "exchanged",
    "find_fault",
    "merge",
    "parse_fault",
    "quantiles",
]


@dataclass(frozen=True)
class Fault:
    """One way in which one part fails.

    Attributes
    ----------
    part : Part
    mode : Mode
    """

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
    """Two faults at once.

    Attributes
    ----------
    first, second : Fault
    """

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
    severity : Severity
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
    if severity.logarithmic:
        return np.asarray(np.exp(np.log(low) + shares * (np.log(high) - np.log(low))))
    return np.asarray(low + shares * (high - low))


def all_faults(circuit: Circuit) -> tuple[Fault, ...]:
    """Every part and mode of a circuit's sheet.

    Parameters
    ----------
    circuit : Circuit

    Returns
    -------
    tuple of Fault
    """
    return tuple(Fault(part, mode) for part in circuit.sheet.parts.values() for mode in part.modes.values())


def find_fault(circuit: Circuit, name: str, gauge: str | None = None) -> Fault:
    """The fault of an id.

    Parameters
    ----------
    circuit : Circuit
    name : str
        ``part=mode``.
    gauge : str, optional
        The gauge complained of, whose name may be left out in front of the part's.

    Returns
    -------
    Fault

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


_WITH_SEVERITY = re.compile(r"^(?P<fault>[^@]+)@(?P<severity>.+)$")


def parse_fault(
    circuit: Circuit, text: str, parameters: Mapping[str, float], gauge: str | None = None
) -> tuple[str, Change]:
    """Read ``PART=MODE``, ``PART=MODE@SEVERITY`` or ``PART=OHMS``.

    Parameters
    ----------
    circuit : Circuit
    text : str
    parameters : mapping
        The state's parameter values.
    gauge : str, optional
        The gauge complained of.

    Returns
    -------
    id : str
        The fault as it is to be called.
    change : Change
        Of one severity: the one given, or the mode's typical one.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.
    """
    part_name, _, value = text.partition("=")
    try:
        ohms = float("inf") if value.strip().lower() == "inf" else read_number(value.strip())
    except ExpressionError:
        match = _WITH_SEVERITY.match(text)
        fault = find_fault(circuit, match["fault"] if match else text, gauge)
        severity = fault.mode.severity
        if not match:
            return fault.id, change(circuit, fault, np.array([severity.typical]), parameters)
        try:
            given = read_number(match["severity"])
        except ExpressionError as error:
            raise CaseError(f"severity in {text!r}: {error}", "", "write for example pin=high@47") from None
        if not severity.quantity:
            raise CaseError(f"{fault.id} has no degrees of severity", "", f"write {fault.id}") from None
        return f"{fault.id}@{match['severity']}", change(circuit, fault, np.array([given]), parameters)
    part = circuit.part(part_name, gauge)
    if not part.element:
        raise CaseError(
            f"{part.id} has no resistance of its own", "", f"give one of its modes: {', '.join(part.modes)}"
        )
    if ohms < 0:
        raise CaseError(f"{text!r}: a resistance is not negative", "", "give ohms, 0 or more")
    return text, Change(np.array([ohms]), branches={part.element: np.array([ohms])})


def change(circuit: Circuit, fault: Fault, severity: Floats, parameters: Mapping[str, float]) -> Change:
    """What a fault changes in a state.

    Parameters
    ----------
    circuit : Circuit
    fault : Fault
    severity : ndarray, shape (n,)
        In the mode's own unit [1]; what it is for a mode without degrees does not matter.
    parameters : mapping
        The state's parameter values.
    values : mapping, optional
        Element values of the sound circuit in that state, if they are at hand.

    Returns
    -------
    Change
    """
    part, mode = fault.part, fault.mode
    values = circuit.values(parameters)
    if mode.set:
        return _parameter_change(circuit, mode, severity, parameters)
    n = len(severity)
    if mode.id == "stuck" and not part.element:
        return Change(severity, stuck={part.gauge: severity})
    if mode.id == "weak" and not part.element:
        return Change(severity, strength={part.gauge: severity})
    if mode.id == "crossed":
        return _crossed(circuit, part, severity, values)
    if mode.id in ("to_ground", "leak", "to_feed"):
        far = circuit.sheet.points["panel_feed" if mode.id == "to_feed" else "body"].node
        return Change(severity, paths={(part.chafes, far): severity})
    if mode.id == "no_ground" and circuit.sheet.regulator:
        return Change(severity, branches={circuit.sheet.regulator.heater: np.full(n, np.inf)})
    before = float(values[part.element])
    if mode.id in ("open", "intermittent", "stuck_open"):
        after = np.full(n, np.inf)
    elif mode.id in ("stuck_closed", "bypassed"):
        after = np.zeros(n)
    elif mode.severity.quantity == "factor":
        after = before * severity
    elif mode.id == "short":
        after = severity
    else:
        after = before + severity
    turns = {part.element: severity} if mode.id == "short" and mode.severity.quantity == "factor" else {}
    return Change(severity, branches={part.element: after}, turns=turns)


def _parameter_change(
    circuit: Circuit, mode: Mode, severity: Floats, parameters: Mapping[str, float]
) -> Change:
    """The change that a mode's own expressions make, wherever the netlist carries it."""
    known = circuit.parameter_values(parameters)
    known["x"] = severity
    changed = {
        name: np.broadcast_to(np.asarray(expression(known.__getitem__), dtype=float), severity.shape)
        for name, expression in mode.set.items()
    }
    before = circuit.values(parameters)
    moved = circuit.netlist.moved_by(changed)
    after = circuit.netlist.values({**parameters, **changed}, moved)
    branches, volts = {}, {}
    for element in moved:
        if element.kind not in "rv" or np.all(after[element.name] == before[element.name]):
            continue
        value = np.broadcast_to(np.asarray(after[element.name], dtype=float), severity.shape)
        if element.kind == "v":
            volts[element.name] = value
        else:
            # in a netlist an open can only be written as a large number; as a fault it is exact
            branches[element.name] = np.where(value >= OPEN_OHMS, np.inf, value)
    return Change(severity, branches=branches, volts=volts, parameters=changed)


def _crossed(circuit: Circuit, part: Part, severity: Floats, values: Mapping[str, float]) -> Change:
    """Two gauges' leads exchanged, at the senders or at the gauges."""
    at = "stud_sender" if part.id == "gauge_leads" else "sender_connector"
    first, second = part.crosses or tuple(circuit.sheet.gauges)[:2]
    branches, paths = exchanged(circuit, first, second, at, values)
    n = len(severity)
    return Change(
        severity,
        branches={name: np.full(n, np.inf) for name in branches},
        paths={nodes: np.full(n, ohms) for nodes, ohms in paths.items()},
    )


def exchanged(
    circuit: Circuit, first: str, second: str, at: str, values: Mapping[str, float]
) -> tuple[tuple[str, ...], dict[tuple[str, str], float]]:
    """Exchange the leads of two gauges at a joint that both have.

    Parameters
    ----------
    circuit : Circuit
    first, second : str
        Gauges.
    at : str
        The joint's part id without the gauge's name.
    values : mapping
        Element values [ohm].

    Returns
    -------
    opened : tuple of str
        Elements that come apart.
    joined : dict
        Resistance [ohm] of the new joints by their nodes.
    """
    one = circuit.netlist.element(circuit.part(at, first).element)
    two = circuit.netlist.element(circuit.part(at, second).element)
    joined = {
        (one.node_a, two.node_b): float(values[one.name]),
        (two.node_a, one.node_b): float(values[two.name]),
    }
    return (one.name, two.name), joined
