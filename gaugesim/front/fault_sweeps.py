"""Every fault in turn, or one's own, over the values of parameters."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.errors import CaseError
from gaugesim.front.arguments import looked_at
from gaugesim.front.catalogue import AnyCircuit, find_circuit
from gaugesim.front.given import values_given
from gaugesim.front.plain_rows import degrees, names, readings, rows
from gaugesim.front.snapshots import cautions_of
from gaugesim.notebook import Result
from gaugesim.reading import Response, Situation, respond
from gaugesim.reading.response import burns
from gaugesim.reading.situations import without_process
from gaugesim.scenario.changes import HEALTHY
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.fault import parse_fault
from gaugesim.scenario.scenarios import stack
from gaugesim.sweeps import SEVERITIES
from gaugesim.sweeps import sweep as sweep_all

SOUND = "sound"


MOST_SEVERITIES = 1000


@dataclass(frozen=True)
class Block:
    """What some faults show in one situation.

    Attributes
    ----------
    given : mapping
        The parameters that were set for it.
    faults : tuple of str
        Of each row; `SOUND` for none.
    severity : ndarray, shape (rows,)
        NaN for a fault without degrees [ohm, or the mode's own unit].
    over : ndarray of bool, shape (rows,)
        Whether the check would burn something first.
    """

    situation: Situation
    given: Mapping[str, float]
    faults: tuple[str, ...]
    severity: Floats
    response: Response
    over: NDArray[np.bool_]


@dataclass(frozen=True, repr=False)
class Sweep(Result):
    """What each fault shows, for each value of the parameters.

    Attributes
    ----------
    blocks : tuple of Block
        One for each combination of the parameters' values.
    """

    blocks: tuple[Block, ...]

    @property
    def situation(self) -> Situation:
        """Circuit, state and check of the first block; those of all, but for the parameters given."""
        return self.blocks[0].situation

    @property
    def caption(self) -> str:
        """Circuit, state and check in a line."""
        sheet, situation = self.situation.circuit.sheet, self.situation
        check = f"; {situation.check.words}" if situation.check.id else ""
        return f"{situation.circuit.id}: {sheet.states[situation.state].words}{check}"

    @cached_property
    def columns(self) -> Mapping[str, Any]:
        """Fault, severity, the parameters given, the needle of each gauge, the reading."""
        lengths = [len(block.faults) for block in self.blocks]
        result: dict[str, Any] = {
            "fault": [name for block in self.blocks for name in block.faults],
            "severity": np.concatenate([block.severity for block in self.blocks]),
        }
        for name in self.blocks[0].given:
            result[name] = np.repeat([block.given[name] for block in self.blocks], lengths)
        for gauge in self.situation.gauges:
            positions = [block.response.positions[gauge.id] for block in self.blocks]
            result[gauge.id] = np.concatenate(positions)
        if self.blocks[0].response.reading is not None:
            result[self.situation.check.reads] = readings(
                self.situation, [block.response for block in self.blocks]
            )
        return result

    @property
    def cautions(self) -> tuple[str, ...]:
        """Of the check and of the state."""
        return cautions_of(self.situation)

    def to_dict(self) -> dict[str, Any]:
        """What ``gaugesim sweep --json`` says, with the parameters of each row where some are given."""
        result: list[dict[str, Any]] = []
        for block in self.blocks:
            given = {"given": dict(block.given)} if block.given else {}
            own = rows(block.faults, block.severity, block.situation, block.response, block.over)
            result += [row | given for row in own]
        return {"circuit": self.situation.circuit.id, "rows": result}


@looked_at
def sweep(
    circuit: AnyCircuit,
    state: str | None = None,
    check: str | None = None,
    faults: str | Iterable[str] | None = None,
    given: Mapping[str, float | Sequence[float] | Floats] | None = None,
    severities: int = SEVERITIES,
) -> Sweep:
    """What each fault shows, over the values of parameters.

    Parameters
    ----------
    circuit : str or Circuit
        An id, the path of a ``.cir`` file, or a circuit.
    state : str, optional
        The circuit's usual one if left out.
    check : str, optional
        ``KIND`` or ``KIND:TARGET``; just the needles if left out.
    faults : str or iterable of str, optional
        Each ``PART=MODE``, ``PART=MODE@SEVERITY``, ``PART=OHMS``, or ``sound`` for none; every fault of the
        sheet at every severity if left out.
    given : mapping, optional
        From parameter to its value, or to the values that it is swept over; several make a grid.
    severities : int, optional
        Of each fault of the sheet, beside its typical one [1].

    Returns
    -------
    Sweep
        ``result["fuel"]`` is the fuel needle's position in each row.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.

    Examples
    --------
    >>> import gaugesim as gs
    >>> over = {"coolant_celsius": [40, 80]}
    >>> swept = gs.sweep("temp_two_coil", faults=["sound", "sender=open"], given=over)
    >>> swept["fault"], swept["temperature"].round(2).tolist()
    (['sound', 'sender=open', 'sound', 'sender=open'], [0.0, -0.12, 0.59, -0.12])
    """
    chosen = find_circuit(circuit)
    done = NO_CHECK if check is None else find_check(chosen, check)
    values = values_given(given)
    if not 1 <= severities <= MOST_SEVERITIES:
        problem = f"{severities} is not a number of severities"
        raise CaseError(problem, "", f"give 1 to {MOST_SEVERITIES}")
    blocks = []
    for combination in product(*values.values()):
        here = {name: float(value) for name, value in zip(values, combination, strict=True)}
        situation = Situation.of(chosen, state, done, here)
        if faults is None:
            blocks.append(_every_fault(situation, here, severities))
        else:
            named = (faults,) if isinstance(faults, str) else tuple(faults)
            blocks.append(_named(situation, here, named))
    return Sweep(tuple(blocks))


def _every_fault(situation: Situation, given: Mapping[str, float], severities: int) -> Block:
    swept = sweep_all(situation, count=severities)
    over = burns(situation, swept.scenarios)
    return Block(situation, given, tuple(names(swept)), degrees(swept), swept.response, over)


def _named(situation: Situation, given: Mapping[str, float], faults: Sequence[str]) -> Block:
    made = [
        (SOUND, HEALTHY) if text == SOUND else parse_fault(situation.circuit, text, situation.parameters)
        for text in faults
    ]
    scenarios = stack([change for _, change in made])
    scenarios = without_process(scenarios, frozenset(situation.check.setup.parameters))
    named = tuple(name for name, _ in made)
    shown, over = respond(situation, scenarios), burns(situation, scenarios)
    return Block(situation, given, named, np.full(len(named), np.nan), shown, over)
