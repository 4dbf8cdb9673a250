"""One moment to draw: a circuit in a state, with a check on it and faults in it, solved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from gaugesim.circuit import Circuit
from gaugesim.reading import Appearance, OperatingPoint, Situation, operating_point, respond, see
from gaugesim.reading.situations import without_process
from gaugesim.scenario.changes import HEALTHY, Change
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.fault import parse_fault, parse_faults
from gaugesim.scenario.scenarios import Scenarios, stack


@dataclass(frozen=True)
class Scene:
    """A circuit in a state, with a check and faults, and what is seen there.

    Attributes
    ----------
    scenarios : Scenarios
        One row: the faults together.
    faults : mapping
        From fault id to words.
    marks : mapping
        From branch to the id of the fault in it; a path that a fault adds is called ``NODE:NODE``.
    point : OperatingPoint
        Node voltages [V] and branch currents [A].
    """

    situation: Situation
    scenarios: Scenarios
    faults: Mapping[str, str]
    marks: Mapping[str, str]
    seen: Appearance
    point: OperatingPoint

    @property
    def circuit(self) -> Circuit:
        """The circuit."""
        return self.situation.circuit

    @property
    def title(self) -> str:
        """Circuit, state and check in words."""
        state = self.circuit.sheet.states[self.situation.state].words
        check = "" if self.situation.check is NO_CHECK else f"\n{self.situation.check.words}"
        return f"{self.circuit.sheet.words}\n{state}{check}"

    @cached_property
    def usual(self) -> OperatingPoint:
        """The same without the faults."""
        sound = stack([HEALTHY])
        return operating_point(self.situation, sound, respond(self.situation, sound))

    @property
    def fault_words(self) -> str:
        """The faults in one line, empty without any."""
        return "; ".join(self.faults.values())


def scene(
    circuit: Circuit,
    state: str | None = None,
    check: str = "",
    faults: Sequence[str] = (),
    given: Mapping[str, float] | None = None,
    gauge: str | None = None,
) -> Scene:
    """Put a circuit into a state, apply a check and faults, and solve it.

    Parameters
    ----------
    check : str, optional
        ``KIND`` or ``KIND:TARGET``; none if left out.
    faults : sequence of str
        ``PART=MODE``, ``PART=MODE@SEVERITY`` or ``PART=OHMS``; the later one wins where both decide the same.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> loose = scene(find("temp_opposed_coil"), "running_warm", faults=["stud_bias=open"])
    >>> round(loose.seen.needles["temperature"].position, 3)
    0.5
    """
    situation = Situation.of(circuit, state, find_check(circuit, check, gauge) if check else NO_CHECK, given)
    names, together = parse_faults(circuit, faults, situation.parameters, gauge)
    words: dict[str, str] = {}
    marks: dict[str, str] = {}
    for name, text in zip(names, faults, strict=True):
        _, change = parse_fault(circuit, text, situation.parameters, gauge)
        words[name] = _words(circuit, text, gauge)
        marks |= dict.fromkeys(_marked(circuit, text, change, gauge), name)
    # a sender out in known water does not feel what the engine's really is
    scenarios = without_process(stack([together]), frozenset(situation.check.setup.parameters))
    seen = see(situation, scenarios)
    return Scene(
        situation, scenarios, words, marks, seen, operating_point(situation, scenarios, seen.response)
    )


def _words(circuit: Circuit, text: str, gauge: str | None) -> str:
    part_name, _, value = text.partition("=")
    part = circuit.part(part_name, gauge)
    mode = value.partition("@")[0]
    return f"{part.words} {part.modes[mode].words}" if mode in part.modes else f"{part.words} is {value} ohm"


def _marked(circuit: Circuit, text: str, change: Change, gauge: str | None) -> list[str]:
    """The branches in which a fault shows."""
    part = circuit.part(text.partition("=")[0], gauge)
    paths = [f"{a}:{b}" for a, b in change.paths]
    if part.element and not paths:
        return [part.element]
    sheet = circuit.sheet
    held = {*change.stuck, *change.strength}
    inside = [
        name for each in sheet.gauges.values() if each.id in held for name in circuit.gauge_elements(each)
    ]
    return [*change.branches, *paths, *inside]
