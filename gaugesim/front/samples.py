"""Many circuits of one kind, each as accurate as it happens to be: a Monte Carlo of the tolerances."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError
from gaugesim.evaluation.fleet import Ailment, Fleet
from gaugesim.front.arguments import looked_at
from gaugesim.front.catalogue import AnyCircuit, find_circuit
from gaugesim.front.given import given_once
from gaugesim.front.plain_rows import readings
from gaugesim.front.snapshots import cautions_of
from gaugesim.notebook import Result, encoded
from gaugesim.reading import Response, Situation
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.fault import Fault, all_faults, understood

# of the needles and readings that are given with the caption
QUANTILES = (0.05, 0.5, 0.95)


@dataclass(frozen=True, repr=False)
class Samples(Result):
    """What circuits show whose parts lie anywhere in their tolerances.

    Attributes
    ----------
    variables : mapping
        From each parameter that varies to its value in each circuit, shape (samples,).
    response : Response
        With arrays of shape (samples,).
    """

    situation: Situation
    faults: tuple[str, ...]
    seed: int
    variables: Mapping[str, Floats]
    response: Response

    @property
    def caption(self) -> str:
        """How many circuits, in what state, and 5, 50 and 95 % of each needle."""
        circuit, situation = self.situation.circuit, self.situation
        state = circuit.sheet.states[situation.state].words
        check = f"; {situation.check.words}" if situation.check.id else ""
        faults = f"; {' and '.join(self.faults)}" if self.faults else ""
        bands = "; ".join(
            f"{name} {' '.join(f'{value:.2f}' for value in band)}" for name, band in self.bands.items()
        )
        return f"{len(self)} circuits {circuit.id}: {state}{check}{faults}; 5, 50 and 95 %: {bands}"

    @cached_property
    def columns(self) -> Mapping[str, Any]:
        """A row for each circuit: the needle of each gauge, the reading, then the parameters that vary."""
        result: dict[str, Any] = dict(self.response.positions)
        if self.response.reading is not None:
            result[self.situation.check.reads] = readings(self.situation, [self.response])
        return result | {name: values for name, values in self.variables.items() if name not in result}

    @cached_property
    def bands(self) -> Mapping[str, tuple[float, float, float]]:
        """5, 50 and 95 % of each needle, and of volts or ohms; NaN where a needle is not driven."""
        shown = dict(self.response.positions)
        if self.response.reading is not None and self.situation.check.reads != "lamp":
            shown[self.situation.check.reads] = self.response.reading
        bands = {name: np.quantile(values, QUANTILES) for name, values in shown.items()}
        return {name: (float(low), float(mid), float(high)) for name, (low, mid, high) in bands.items()}

    @property
    def cautions(self) -> tuple[str, ...]:
        """Of the check and of the state."""
        return cautions_of(self.situation)

    def to_dict(self) -> dict[str, Any]:
        """Everything as plain data."""
        return {
            "circuit": self.situation.circuit.id,
            "state": self.situation.state,
            "check": self.situation.check.id or None,
            "faults": list(self.faults),
            "seed": self.seed,
            "samples": encoded(self.columns),
        }


@looked_at
def monte_carlo(
    circuit: AnyCircuit,
    state: str | None = None,
    check: str | None = None,
    faults: str | Iterable[str] = (),
    given: Mapping[str, float] | None = None,
    samples: int = 1000,
    seed: int = 0,
) -> Samples:
    """Draw circuits from their tolerances and solve each anew.

    Parameters
    ----------
    circuit : str or Circuit
        An id, the path of a ``.cir`` file, or a circuit.
    state : str, optional
        The circuit's usual one if left out.
    check : str, optional
        ``KIND`` or ``KIND:TARGET``; just the needles if left out.
    faults : str or iterable of str
        Each ``PART=MODE``, ``PART=MODE@SEVERITY`` or ``PART=OHMS``; all of them in every circuit.
    given : mapping, optional
        Parameters that are known to have other values than the state's, and so do not vary.
    samples : int, optional
        How many circuits [1].
    seed : int, optional
        The same seed draws the same circuits.

    Returns
    -------
    Samples
        ``result["fuel"]`` is the fuel needle's position in each circuit.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.

    Examples
    --------
    >>> import gaugesim as gs
    >>> drawn = gs.monte_carlo("temp_opposed_coil", "running_warm", samples=2000)
    >>> low, middle, high = drawn.bands["temperature"]
    >>> seen = gs.see("temp_opposed_coil", "running_warm").needles["temperature"]
    >>> abs(low - seen.low) < 0.02 and abs(high - seen.high) < 0.02
    True
    """
    if samples < 1:
        raise CaseError(f"{samples} samples say nothing", "", "ask for at least 1, better 1000")
    if seed < 0:
        raise CaseError(f"seed {seed} is below 0", "", "give a whole number from 0")
    chosen = find_circuit(circuit)
    given = given_once(given)
    situation = Situation.of(chosen, state, NO_CHECK if check is None else find_check(chosen, check), given)
    asked = (faults,) if isinstance(faults, str) else tuple(faults)
    made = [understood(chosen, text, count=samples) for text in asked]
    ailment = Ailment(np.arange(samples), _listed(chosen, asked), tuple(make for _, make in made))
    fleet = Fleet(chosen, [ailment], [seed])
    # the first row is the circuit as its sheet has it; after them come intermittent faults at rest
    own = slice(1, 1 + samples)
    shown = fleet.response(situation)
    response = Response(
        {name: positions[own] for name, positions in shown.positions.items()},
        None if shown.reading is None else shown.reading[own],
        shown.pulses[own],
        shown.duty[own],
    )
    return Samples(situation, tuple(name for name, _ in made), seed, fleet.parameters(situation), response)


def _listed(circuit: Circuit, faults: Sequence[str]) -> Fault | None:
    """The fault as the sheet has it, if it is a single one: it may hold the needle, or come and go."""
    listed = {fault.id: fault for fault in all_faults(circuit)}
    return listed.get(faults[0].partition("@")[0]) if len(faults) == 1 else None
