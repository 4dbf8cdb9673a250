"""Needles against time after a change of state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any

from gaugesim.circuit import Circuit
from gaugesim.errors import unknown_name
from gaugesim.front.arguments import looked_at
from gaugesim.front.catalogue import AnyCircuit, find_circuit
from gaugesim.front.given import given_once
from gaugesim.notebook import Result, encoded
from gaugesim.scenario.caution import in_order
from gaugesim.transients import Disturbance, Transient, WarmUp
from gaugesim.transients import transient as follow


@dataclass(frozen=True, repr=False)
class Followed(Result):
    """Needles and the regulator's output from one settled state into another.

    Attributes
    ----------
    state_from, state_to : str
    run : gaugesim.transients.Transient
        Times and courses.
    """

    circuit: Circuit
    state_from: str
    state_to: str
    fault: str | None
    run: Transient

    @property
    def caption(self) -> str:
        """From which state into which, with what fault."""
        states = self.circuit.sheet.states
        fault = f"; {self.fault}" if self.fault else ""
        before, after = (states[name].words for name in (self.state_from, self.state_to))
        return f"{self.circuit.id}: from {before} to {after}{fault}"

    @cached_property
    def columns(self) -> Mapping[str, Any]:
        """Seconds, the position of each needle, the regulator's volts, the coolant's warmth, and contacts."""
        result: dict[str, Any] = {"seconds": self.run.times, **self.run.positions}
        if self.run.regulator_volts is not None:
            result |= {"regulator_volts": self.run.regulator_volts, "contact": self.run.contact}
        if self.run.coolant is not None:
            result["coolant_celsius"] = self.run.coolant.celsius
        return result | {"touches": self.run.touches}

    @property
    def cautions(self) -> tuple[str, ...]:
        """Of both states."""
        states = [self.circuit.sheet.states[name] for name in (self.state_from, self.state_to)]
        names = [name for state in states for name in state.cautions]
        return tuple(caution.words for caution in in_order(self.circuit, names))

    def to_dict(self) -> dict[str, Any]:
        """Everything as plain data."""
        return {
            "circuit": self.circuit.id,
            "from": self.state_from,
            "to": self.state_to,
            "fault": self.fault,
            "course": encoded(self.columns),
        }


@looked_at
def transient(
    circuit: AnyCircuit,
    state_to: str | None = None,
    state_from: str = "key_off",
    seconds: float = 60.0,
    fault: str | None = None,
    given: Mapping[str, float] | None = None,
    step_seconds: float = 0.05,
    warm_up: bool = False,
    **disturbance: Any,
) -> Followed:
    """Follow the needles from one settled state into another.

    Parameters
    ----------
    circuit : str or Circuit
        An id, the path of a ``.cir`` file, or a circuit.
    state_to : str, optional
        The circuit's usual one if left out.
    state_from : str, optional
    seconds : float, optional
        How long to follow them [s].
    fault : str, optional
        ``PART=MODE``, ``PART=MODE@SEVERITY`` or ``PART=OHMS``.
    given : mapping, optional
        Parameters that have other values than both states'.
    step_seconds : float, optional
        Distance between two results [s].
    warm_up : bool, optional
        Start the engine as cold as the first state says and let it warm up, with its thermostat and a lagging
        sender.
    **disturbance
        What makes a needle restless: ``slosh`` of the tank, ``wiper_ohms`` of noise, ``contact_share`` of an
        intermittent joint and more, see `gaugesim.transients.Disturbance`.

    Returns
    -------
    Followed
        ``result["fuel"]`` is the fuel needle's position at each of ``result["seconds"]``.

    Raises
    ------
    CaseError, UnknownNameError, ValueError
        What is wrong and what would be right.

    Examples
    --------
    >>> import gaugesim as gs
    >>> run = gs.transient("cluster_bimetal_5v", seconds=60)
    >>> run["fuel"][[0, -1]].round(2).tolist()
    [-0.1, 0.49]
    """
    chosen = find_circuit(circuit)
    names = [field.name for field in fields(Disturbance)]
    for name in disturbance:
        if name not in names:
            raise unknown_name("disturbance", name, names)
    state = chosen.sheet.default_state if state_to is None else state_to
    restless, engine = looked_at(Disturbance)(**disturbance), WarmUp() if warm_up else None
    run = follow(chosen, state_from, state, seconds, fault, given_once(given), restless, step_seconds, engine)
    return Followed(chosen, state_from, state, fault, run)
