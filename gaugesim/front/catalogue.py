"""Circuits: which there are, and one of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from gaugesim import circuit as files
from gaugesim.describe import part_value
from gaugesim.front.arguments import looked_at
from gaugesim.notebook import Result, picked
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import all_faults

# an id, the path of a ``.cir`` file, or a circuit
AnyCircuit = str | Path | files.Circuit


@dataclass(frozen=True, repr=False)
class ListedCircuit(Result, files.Circuit):
    """A circuit as a netlist and its sheet have it, and what can be asked of it.

    Its columns are its parts with their sound values.
    """

    @property
    def caption(self) -> str:
        """Its words and its id."""
        return f"{self.sheet.words} ({self.id})"

    @cached_property
    def columns(self) -> Mapping[str, Sequence[Any]]:
        """The parts that have a resistance: id, words, ohms, and where 95 of 100 lie."""
        parts = [(part, part_value(self, part)) for part in self.sheet.parts.values()]
        rows = [(part, value) for part, value in parts if value is not None]
        shown = {name: [getattr(value, name) for _, value in rows] for name in ("ohms", "low", "high")}
        return {"part": [part.id for part, _ in rows], "words": [part.words for part, _ in rows], **shown}

    @property
    def gauges(self) -> tuple[str, ...]:
        """Ids of its gauges."""
        return tuple(self.sheet.gauges)

    @property
    def states(self) -> dict[str, str]:
        """Its operating states: from id to words."""
        return {state.id: state.words for state in self.sheet.states.values()}

    @property
    def checks(self) -> tuple[str, ...]:
        """Every check that makes sense on it."""
        return check_ids(self)

    @property
    def faults(self) -> dict[str, str]:
        """Every fault of its parts: from ``PART=MODE`` to words."""
        return {fault.id: fault.words for fault in all_faults(self)}

    def to_dict(self) -> dict[str, Any]:
        """What ``gaugesim circuits CIRCUIT --json`` says of it."""
        return circuit_data(self)

    @looked_at
    def to_pyspice(self, state: str | None = None, given: Mapping[str, float] | None = None) -> Any:
        """Hand the circuit over to PySpice, for what this program does not do.

        Parameters
        ----------
        state : str, optional
            The circuit's usual one if left out.
        given : mapping, optional
            Parameters that have other values than the state's.

        Returns
        -------
        PySpice.Spice.Netlist.Circuit
            See `gaugesim.solve.spice.handover.pyspice_circuit`.

        Raises
        ------
        EngineError
            If ngspice is missing.
        """
        from gaugesim.solve.spice.handover import pyspice_circuit

        return pyspice_circuit(self, self.parameters(state, given))


def circuit_data(circuit: files.Circuit) -> dict[str, Any]:
    """A circuit as JSON has it."""
    sheet = circuit.sheet
    return {
        "id": circuit.id,
        **picked(sheet, "words movement default_state"),
        "gauges": list(sheet.gauges),
        "states": [picked(state, "id words set") for state in sheet.states.values()],
        "checks": list(check_ids(circuit)),
        "faults": [fault.id for fault in all_faults(circuit)],
        "parts": [_part_data(circuit, name) for name in sheet.parts],
        "points": [picked(point, "id words node place") for point in sheet.points.values()],
        "places": [picked(place, "id words setup_minutes") for place in sheet.places.values()],
    }


def _part_data(circuit: files.Circuit, name: str) -> dict[str, Any]:
    part = circuit.sheet.parts[name]
    value = part_value(circuit, part)
    shown = picked(value, "ohms low high") if value else dict.fromkeys(("ohms", "low", "high"))
    own = {name: text or None for name, text in picked(part, "gauge element parameter").items()}
    return {**picked(part, "id words place"), **own, **shown, "modes": list(part.modes)}


@dataclass(frozen=True, repr=False)
class Circuits(Result):
    """The circuits that can be found."""

    circuits: tuple[ListedCircuit, ...]

    @property
    def caption(self) -> str:
        """How many there are."""
        return f"{len(self.circuits)} circuits"

    @cached_property
    def columns(self) -> Mapping[str, Sequence[Any]]:
        """Id, words and movement of each."""
        return {
            "id": [circuit.id for circuit in self.circuits],
            "words": [circuit.sheet.words for circuit in self.circuits],
            "movement": [circuit.sheet.movement for circuit in self.circuits],
        }

    def to_dict(self) -> dict[str, Any]:
        """What ``gaugesim circuits --json`` says."""
        return {"circuits": [circuit_data(circuit) for circuit in self.circuits]}


@looked_at
def circuits(netlists: Path | str | None = None) -> Circuits:
    """All circuits that can be found.

    Parameters
    ----------
    netlists : path, optional
        A folder searched before those of ``GAUGESIM_NETLISTS`` and the shipped ones.

    Examples
    --------
    >>> import gaugesim as gs
    >>> "boat_panel" in gs.circuits()["id"]
    True
    """
    folder = None if netlists is None else Path(netlists)
    return Circuits(tuple(find_circuit(name, folder) for name in files.available(folder)))


@looked_at
def find_circuit(name: AnyCircuit, netlists: Path | str | None = None) -> ListedCircuit:
    """One circuit.

    Parameters
    ----------
    name : str, path or ListedCircuit
        An id, or the path of a ``.cir`` file with its sheet beside it.
    netlists : path, optional
        A folder searched before those of ``GAUGESIM_NETLISTS`` and the shipped ones.

    Raises
    ------
    NetlistError, SheetError, UnknownNameError
        What is wrong and what would be right.

    Examples
    --------
    >>> import gaugesim as gs
    >>> circuit = gs.find_circuit("temp_opposed_coil")
    >>> circuit.faults["stud_bias=open"]
    'nut on stud B (bias) is loose and makes no contact'
    """
    if isinstance(name, ListedCircuit):
        return name
    if not isinstance(name, files.Circuit):
        name = files.find(str(name), None if netlists is None else Path(netlists))
    return ListedCircuit(name.netlist, name.sheet)
