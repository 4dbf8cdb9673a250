"""What would be seen: needles, the check's reading, every voltage and current."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError, unknown_name
from gaugesim.front.arguments import looked_at
from gaugesim.front.catalogue import AnyCircuit, find_circuit
from gaugesim.front.given import given_once
from gaugesim.notebook import Result, encoded
from gaugesim.reading import (
    Appearance,
    Needle,
    OperatingPoint,
    Reading,
    Situation,
    Why,
    one_by_one,
    operating_point,
    why,
)
from gaugesim.reading import see as show
from gaugesim.reading.exact import Solver
from gaugesim.reading.response import burns
from gaugesim.reading.situations import without_process
from gaugesim.scenario.caution import check_cautions
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.fault import parse_faults
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.solve import nodal
from gaugesim.transients import see_at
from gaugesim.vocabulary import spoken

if TYPE_CHECKING:
    from gaugesim.draw.scenes import Scene

LONGEST_SECONDS = 3600
ENGINES = ("nodal", "ngspice")
# the caution of a check that would burn something
WOULD_BURN = "would_burn"


@dataclass(frozen=True, repr=False)
class Snapshot(Result):
    """What one moment of a circuit shows.

    Attributes
    ----------
    situation : Situation
        The circuit in its state, with the check applied.
    asked, faults : tuple of str
        The faults as they were written, and their ids.
    given : mapping
        Parameters that beat the state's.
    at : float or None
        Seconds since the key was turned; None once all has settled.
    engine : str
        ``nodal`` or ``ngspice``.
    shown : gaugesim.reading.Appearance
        Needles and reading with the numbers behind them.
    point : OperatingPoint
        Every voltage and current.
    """

    situation: Situation
    asked: tuple[str, ...]
    faults: tuple[str, ...]
    given: Mapping[str, float]
    at: float | None
    engine: str
    shown: Appearance
    point: OperatingPoint

    @property
    def circuit(self) -> Circuit:
        """The circuit."""
        return self.situation.circuit

    @property
    def state(self) -> str:
        """Id of the state."""
        return self.situation.state

    @property
    def check(self) -> str | None:
        """Id of the check; None for looking at the needles."""
        return self.situation.check.id or None

    @property
    def needles(self) -> Mapping[str, Needle]:
        """From gauge to its needle."""
        return self.shown.needles

    @property
    def reading(self) -> Reading | None:
        """What the check's instrument shows; None if it reads none."""
        return self.shown.reading

    @property
    def voltages(self) -> Mapping[str, float]:
        """From node to its voltage against battery negative [V]; NaN where it is cut off from everything."""
        return self.point.voltages

    @property
    def currents(self) -> Mapping[str, float]:
        """From branch to its current, first node to second [A]."""
        return self.point.currents

    @property
    def duty(self) -> float | None:
        """Share of the time in which the regulator's contact is closed, where it pulses [1]; else None.

        Voltages and currents are means over its pulses then.
        """
        unit, share = self.circuit.sheet.regulator, float(self.shown.response.duty[0])
        return share if unit and not unit.steady and 0 < share < 1 else None

    @property
    def caption(self) -> str:
        """Circuit, state, check and faults in a line."""
        sheet = self.circuit.sheet
        check = f"; {self.situation.check.words}" if self.check else ""
        faults = f"; {' and '.join(self.faults)}" if self.faults else ""
        moment = "" if self.at is None else f", {self.at:g} s after the key was turned"
        return f"{self.circuit.id}: {sheet.states[self.state].words}{moment}{check}{faults}"

    @cached_property
    def columns(self) -> Mapping[str, Sequence[Any]]:
        """A row for each needle and one for the reading: its 5 and 95 %, words or the unit."""
        rows: list[tuple[Any, ...]] = [
            (name, needle.position, needle.low, needle.high, spoken(needle.word))
            for name, needle in self.needles.items()
        ]
        if self.reading is not None:
            more = "open" if self.reading.open else "pulses" if self.reading.pulses else self.reading.unit
            rows.append((self.reading.kind, self.reading.value, self.reading.low, self.reading.high, more))
        names = ("what", "is", "low", "high", "in words")
        return dict(zip(names, map(list, zip(*rows, strict=True)), strict=True))

    @property
    def cautions(self) -> tuple[str, ...]:
        """Of the check and of the state; first, if the check would burn something with these faults."""
        own = cautions_of(self.situation)
        burnt = self.situation.circuit.sheet.cautions.get(WOULD_BURN)
        return (burnt.words, *own) if burnt and self.burns else own

    @property
    def burns(self) -> bool:
        """Whether the check's leads, its resistor or a sender carry more than they bear."""
        return bool(burns(self.situation, _scenarios(self.situation, self.asked)[1]).any())

    @cached_property
    def why(self) -> Why:
        """Why the needles stand there: the currents with their ways, fields or heat, sound beside faulty."""
        return why(self.situation, _scenarios(self.situation, self.asked)[1] if self.asked else None)

    @cached_property
    def scene(self) -> Scene:
        """The same moment to draw, see `gaugesim.front.plot`."""
        from gaugesim.draw.scenes import scene

        return scene(self.circuit, self.state, self.situation.check.id, self.asked, self.given)

    def to_dict(self) -> dict[str, Any]:
        """What ``gaugesim read --json`` says."""
        moment: dict[str, Any] = {} if self.at is None else {"at": self.at}
        if self.duty is not None:
            moment["pulsing"] = {"duty": self.duty, "nodes": "mean", "currents": "mean"}
        beware = {"cautions": list(self.cautions)} if self.check else {}
        return {
            "circuit": self.circuit.id,
            "state": self.state,
            "check": self.check,
            "faults": list(self.faults),
            "engine": self.engine,
            "needles": encoded(self.needles),
            "reading": reading_data(self.reading),
            "nodes": encoded(self.voltages),
            "currents": encoded(self.currents),
            **moment,
            **beware,
        }


@looked_at
def see(
    circuit: AnyCircuit,
    state: str | None = None,
    check: str | None = None,
    faults: str | Iterable[str] = (),
    given: Mapping[str, float] | None = None,
    at: float | None = None,
    engine: str = "nodal",
) -> Snapshot:
    """What should be seen: needles, the reading of a check, every voltage and current.

    Parameters
    ----------
    circuit : str or Circuit
        An id, the path of a ``.cir`` file, or a circuit.
    state : str, optional
        The circuit's usual one if left out.
    check : str, optional
        ``KIND`` or ``KIND:TARGET``.
    faults : str or iterable of str
        Each ``PART=MODE``, ``PART=MODE@SEVERITY`` or ``PART=OHMS``.
    given : mapping, optional
        Parameters that have other values than the state's.
    at : float, optional
        Seconds after the key was turned [s]; without it, once all has settled.
    engine : str, optional
        ``nodal`` or ``ngspice``.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right, as the command says it.

    Examples
    --------
    >>> import gaugesim as gs
    >>> loose = gs.see("temp_opposed_coil", "running_warm", faults="stud_bias=open")
    >>> loose.needles["temperature"].word
    'half'
    >>> sound = gs.see("temp_opposed_coil", "key_on_cold", check="sender_lead_volts")
    >>> round(sound.reading.value, 2)
    12.47
    """
    chosen = find_circuit(circuit)
    if engine not in ENGINES:
        raise unknown_name("engine", engine, ENGINES)
    asked = (faults,) if isinstance(faults, str) else tuple(faults)
    given = given_once(given)
    situation = Situation.of(chosen, state, NO_CHECK if check is None else find_check(chosen, check), given)
    names, scenarios = _scenarios(situation, asked)
    solve = _solver(engine)
    shown = show(situation, scenarios, None if engine == "nodal" else one_by_one(situation, solve))
    if at is not None:
        shown = _moment(situation, asked, engine, at, given, shown)
    point = operating_point(situation, scenarios, shown.response, solve)
    return Snapshot(situation, asked, names, dict(given or {}), at, engine, shown, point)


def _scenarios(situation: Situation, asked: Sequence[str]) -> tuple[tuple[str, ...], Scenarios]:
    """The faults together, with their ids."""
    names, change = parse_faults(situation.circuit, asked, situation.parameters)
    # a sender out in known water does not feel what the engine's really is
    return names, without_process(stack([change]), frozenset(situation.check.setup.parameters))


def _moment(
    situation: Situation,
    faults: Sequence[str],
    engine: str,
    at: float,
    given: Mapping[str, float] | None,
    settled: Appearance,
) -> Appearance:
    """The needles at a moment; the regulator's contact closed or open as it is then."""
    if situation.check is not NO_CHECK or len(faults) > 1 or engine != "nodal":
        raise CaseError(
            "--at goes with no --check, no second --fault and no other engine",
            "",
            "leave --at out for the settled circuit",
        )
    if not 0 < at <= LONGEST_SECONDS:
        raise CaseError(f"--at is {at:g} s", "", f"give a time above zero, {LONGEST_SECONDS} s at most")
    needles, closed = see_at(situation.circuit, situation.state, at, faults[0] if faults else None, given)
    unit, response = situation.circuit.sheet.regulator, settled.response
    if unit and not unit.steady:
        response = replace(response, duty=np.array([float(closed)]))
    return replace(settled, needles=needles, response=response)


def _solver(engine: str) -> Solver:
    if engine == "nodal":
        return nodal.solve
    from gaugesim.solve import spice

    return spice.solve


def reading_data(reading: Reading | None) -> dict[str, Any] | None:
    """A reading for JSON.

    Returns
    -------
    dict or None
        ``pulses`` and ``open`` only where they are true, ``volts`` only for a lamp.
    """
    if reading is None:
        return None
    data: dict[str, Any] = encoded(reading)
    seldom = ("pulses", "open", "volts")
    return {
        name: value
        for name, value in data.items()
        if name not in seldom or not (value is None or value is False)
    }


def cautions_of(situation: Situation) -> tuple[str, ...]:
    """What to beware of in a situation: of its check and its state, the worst first."""
    return tuple(
        caution.words for caution in check_cautions(situation.circuit, situation.check, situation.state)
    )
