"""What can be set on the bench, and what a setting shows; nothing here draws."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.draw.scenes import Scene, scene
from gaugesim.draw.style import number_text, volts_text
from gaugesim.lessons.chance import refuse_seed
from gaugesim.reading import Reading, Situation, respond
from gaugesim.reading.words import instrument_name, reading_value
from gaugesim.scenario.changes import HEALTHY
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import Fault, all_faults, change, find_fault, parse_fault, quantiles
from gaugesim.scenario.scenarios import stack
from gaugesim.sheet import Quantity, Severity

# a hidden fault moves some needle at least this far [position]
_TELLS = 0.08
NONE = ""
PLACES = 2  # for faults with sliders of their own


@dataclass(frozen=True)
class BenchOptions:
    """What the bench of a circuit offers.

    Parameters
    ----------
    whole : bool
        Whether what the other gauges have is offered too.
    """

    circuit: Circuit
    gauge: str
    whole: bool = False

    @cached_property
    def states(self) -> tuple[str, ...]:
        """States of the sheet."""
        return tuple(self.circuit.sheet.states)

    @cached_property
    def checks(self) -> tuple[str, ...]:
        """No check, then those of the gauge that a needle or a meter answers."""
        names = check_ids(self.circuit, None if self.whole else self.gauge)
        reads = ("needle", "volts", "ohms", "lamp")
        return (
            NONE,
            *(name for name in names if find_check(self.circuit, name, self.gauge).reads in reads),
        )

    def known_check(self, check: str) -> str:
        """A check by the name that `checks` has for it: where there are several gauges, with the gauge's."""
        kind, *targets = check.split(":")
        longer = ":".join([kind, self.gauge, *targets])
        return longer if longer in self.checks and check not in self.checks else check

    @cached_property
    def faults(self) -> tuple[str, ...]:
        """No fault, then those of the gauge and of what it shares, in the order of the sheet."""
        possible = all_faults(self.circuit)
        own = ("", self.gauge)
        return (NONE, *(fault.id for fault in possible if self.whole or fault.part.gauge in own))

    @cached_property
    def check_words(self) -> dict[str, str]:
        """What each check is called."""
        names = (name for name in self.checks if name)
        return {name: find_check(self.circuit, name, self.gauge).words for name in names}

    @cached_property
    def fault_words(self) -> dict[str, str]:
        """What each fault is called."""
        return {name: find_fault(self.circuit, name).words for name in self.faults if name}

    def faults_of(self, element: str) -> list[str]:
        """Faults of the part that an element is."""
        names = (name for name in self.faults if name)
        return [name for name in names if find_fault(self.circuit, name).part.element == element]

    @cached_property
    def quantities(self) -> tuple[Quantity, ...]:
        """Process values, the gauge's own first."""
        own = self.circuit.gauge(self.gauge).reads
        settable = [each for each in self.circuit.sheet.quantities.values() if each.process]
        return tuple(sorted(settable, key=lambda each: each.id != own))


@dataclass(frozen=True)
class Setting:
    """One setting of the bench.

    Attributes
    ----------
    check : str
        ``""`` for none.
    values : mapping
        Process values that differ from the state's.
    faults : tuple of (str, float)
        Faults with their severity as a share of the range of the sheet; ``""`` for none.
    others : tuple of str
        Faults that no slider moves, as for `scene`.
    """

    state: str
    check: str = NONE
    values: Mapping[str, float] = field(default_factory=dict)
    faults: tuple[tuple[str, float], ...] = ((NONE, 0.5), (NONE, 0.5))
    others: tuple[str, ...] = ()

    def with_fault(self, which: int, fault: str, share: float) -> Setting:
        """Another fault or severity in one of the places for them.

        Parameters
        ----------
        which : int
            Number of the place [1].
        share : float
            From 0 to 1 [1].
        """
        faults = list(self.faults)
        faults[which] = (fault, share)
        return replace(self, faults=tuple(faults))


def severity_at(severity: Severity, share: float) -> float:
    """Severity at a share of its range, whatever the prior heaps up at the ends.

    Parameters
    ----------
    share : float
        From 0 to 1 [1].

    Returns
    -------
    float
        In the mode's own unit [1].

    Examples
    --------
    >>> severity_at(Severity("ohms", 1.0, 100.0, 10.0), 0.5)
    10.0
    """
    return float(quantiles(replace(severity, at_ends=(0.0, 0.0)), np.array([share]))[0])


def share_of(severity: Severity, value: float) -> float:
    """The share of its range at which a severity lies; the nearer end for one outside it. From 0 to 1 [1].

    Parameters
    ----------
    value : float
        In the mode's own unit [1].

    Examples
    --------
    >>> share_of(Severity("ohms", 1.0, 100.0, 10.0), 10.0), share_of(Severity("ohms", 1.0, 100.0, 10.0), 0.0)
    (0.5, 0.0)
    """
    low, high = severity.low, severity.high
    if not severity.quantity or low == high:
        return 0.5
    held = min(max(value, low), high)
    if severity.logarithmic:
        return math.log(held / low) / math.log(high / low)
    return (held - low) / (high - low)


def fault_text(circuit: Circuit, fault: str, share: float) -> str:
    """A fault with its severity, as `scene` takes it.

    Parameters
    ----------
    share : float
        Of the range of its severity [1].
    """
    severity = find_fault(circuit, fault).mode.severity
    return f"{fault}@{severity_at(severity, share)!r}" if severity.quantity else fault


def severity_words(circuit: Circuit, fault: str, share: float) -> str:
    """How bad a fault is, for a person. Empty for a fault without degrees.

    Parameters
    ----------
    fault : str
        Its id, ``""`` for none.
    share : float
        Of the range of its severity [1].
    """
    severity = find_fault(circuit, fault).mode.severity if fault else None
    if severity is None or not severity.quantity:
        return ""
    value = severity_at(severity, share)
    if severity.quantity == "ohms":
        return number_text(value, "Ω")
    return f"{value:.3g} times" if severity.quantity == "factor" else f"{value:.3g}"


def on_sliders(
    circuit: Circuit, faults: Sequence[str], gauge: str
) -> tuple[tuple[tuple[str, float], ...], tuple[str, ...]]:
    """Sort faults into those that two pairs of sliders can show, and the others.

    Returns
    -------
    moved : tuple of (str, float)
        Two places: a fault's id with its severity as a share of its range.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.
    """
    offered = BenchOptions(circuit, gauge).faults
    moved: list[tuple[str, float]] = []
    others: list[str] = []
    for text in faults:
        name, change = parse_fault(circuit, text, circuit.parameters(), gauge)
        plain = name.partition("@")[0]
        if plain in offered and len(moved) < PLACES:
            severity = find_fault(circuit, plain).mode.severity
            moved.append((plain, share_of(severity, float(change.severity[0]))))
        else:
            others.append(text)
    return (*moved, *[(NONE, 0.5)] * (PLACES - len(moved))), tuple(others)


def setting_scene(circuit: Circuit, gauge: str, setting: Setting) -> Scene:
    """What a setting shows."""
    faults = [fault_text(circuit, fault, share) for fault, share in setting.faults if fault]
    return scene(circuit, setting.state, setting.check, (*setting.others, *faults), setting.values, gauge)


def hidden_fault(circuit: Circuit, gauge: str, seed: int, state: str | None = None) -> str:
    """Choose a fault that shows, by how often such faults happen.

    ``PART=MODE``, with ``@SEVERITY`` where it has degrees.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> circuit = find("temp_opposed_coil")
    >>> hidden_fault(circuit, "temperature", 3) == hidden_fault(circuit, "temperature", 3)
    True
    """
    refuse_seed(seed)
    random = np.random.default_rng(seed)
    situation = Situation.of(circuit, state)
    faults = [fault for fault in all_faults(circuit) if fault.part.gauge in ("", gauge)]
    drawn: list[tuple[Fault, float, str]] = []
    for fault in faults:
        share = float(random.uniform())
        severity = severity_at(fault.mode.severity, share) if fault.mode.severity.quantity else 0.0
        drawn.append((fault, severity, fault_text(circuit, fault.id, share)))
    changes = [
        change(circuit, fault, np.array([severity]), situation.parameters) for fault, severity, _ in drawn
    ]
    positions = respond(situation, stack([HEALTHY, *changes])).positions[gauge]
    away = np.abs(positions[1:] - positions[0])
    shows = (away > _TELLS) | (np.isnan(positions[1:]) != np.isnan(positions[0]))
    weight = np.where(shows, [fault.weight for fault, _, _ in drawn], 0.0)
    if not weight.any():
        weight = np.ones(len(drawn))
    return drawn[int(random.choice(len(drawn), p=weight / weight.sum()))][2]


def reading_words(reading: Reading | None) -> list[str]:
    """What the instrument shows, for a person. A line, or none."""
    if reading is None:
        return []
    return [f"{instrument_name(reading)}: {reading_value(reading, _figure)}"]


def _figure(value: float, unit: str) -> str:
    return volts_text(value) if unit == "V" else number_text(value, {"ohm": "Ω"}.get(unit, unit))
