"""A movement with open parameters: what the needle, a voltmeter and an ohmmeter would show.

The circuit around it, taken from a shipped one, is solved once; parameter sets and resistors are small
corrections of that.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.fit import priors
from gaugesim.fit.opened import Opened
from gaugesim.fit.points import STUDS, CoilPoint
from gaugesim.fit.priors import Prior
from gaugesim.reading.instruments import OPEN_READING, ohms_reading
from gaugesim.scenario.check import METER, OHMMETER_OHMS, OHMMETER_VOLTS
from gaugesim.sheet import Gauge, Part
from gaugesim.solve.network import Floats, Path

# the battery's volts for which the rest of the circuit is solved; currents go in proportion
UNIT_VOLTS = 12.0


@dataclass(frozen=True)
class Movement:
    """One kind of movement in one shipped circuit, with its parameters open.

    Attributes
    ----------
    circuit : Circuit
        What stands around the gauge.
    sign : int
        1 where the position rises with the needle's angle, or with the heater's power; -1 where it falls.
    sweep_degrees : float or None
        Angle between the end marks, if it was measured.
    ambient_celsius : float
        Around the gauge while its ohms were measured.
    regulator_volts : float or None
        What a regulator in front of a bimetal gauge holds, if that is known.
    """

    circuit: Circuit
    gauge: Gauge
    sign: int = 1
    sweep_degrees: float | None = None
    ambient_celsius: float = 20.0
    regulator_volts: float | None = None

    @property
    def topology(self) -> str:
        """The movement's kind in words."""
        return self.gauge.topology

    @cached_property
    def prefix(self) -> str:
        """What stands in front of the ids of the gauge's parts."""
        return f"{self.gauge.id}_" if f"{self.gauge.id}_movement" in self.circuit.sheet.parts else ""

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """Its parts with ohms to be found: those in the gauge, and resistors beside it that steer it."""
        inside = set(self.circuit.gauge_elements(self.gauge))
        return tuple(
            part
            for part in self.circuit.sheet.parts.values()
            if part.element in inside or (part.kind == "series_resistor" and part.gauge == self.gauge.id)
        )

    @cached_property
    def studs(self) -> tuple[str, ...]:
        """Its studs, by their ids without the gauge's name."""
        points = self.circuit.sheet.points
        return tuple(name for name in STUDS if f"{self.prefix}{name}" in points)

    @cached_property
    def coils(self) -> int:
        """How many windings it has."""
        return sum(part.kind in ("coil", "heater") for part in self.parts)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The free parameters in the order of the vectors below."""
        names = [part.parameter for part in self.parts]
        if self.gauge.movement == "air_core":
            names += [f"{name}_turns" for name in self._coil_names[1:]]
            names += [f"{self._coil_names[1]}_degrees"] if self._free_angle else []
            return (*names, "sweep_degrees", "middle_degrees")
        if self.gauge.movement == "bimetal":
            return (*names, self._design_volts, "rest", "rise")
        return (*names, "at_12_volts", "slope")

    @cached_property
    def priors(self) -> tuple[Prior, ...]:
        """What is plausible for each."""
        if self.gauge.movement == "air_core":
            sweep = priors.SWEEP
            if self.sweep_degrees is not None:
                sweep = Prior(float(np.log(self.sweep_degrees)), priors.SWEEP_MEASURED)
            angle = [priors.COIL_DEGREES] if self._free_angle else []
            others = [priors.OTHER_TURNS] * (len(self.gauge.coils) - 1)
            turns = priors.TURNS.get(self.topology, others)
            return (*[priors.COIL] * len(self.parts), *turns, *angle, sweep, priors.MIDDLE)
        if self.gauge.movement == "bimetal":
            held = priors.HELD_VOLTS
            if self.regulator_volts is not None:
                held = Prior(float(np.log(self.regulator_volts)), 0.015)
            return (*[priors.HEATER] * len(self.parts), held, priors.REST, priors.RISE)
        return (*[priors.SERIES] * len(self.parts), priors.AT_12_VOLTS, priors.VOLTMETER_SLOPE)

    @cached_property
    def _free_angle(self) -> bool:
        # of two coils in parallel the angle is the maker's choice; the others stand at right angles
        return self.topology == "two-coil"

    @cached_property
    def _coil_names(self) -> list[str]:
        by_element = {part.element: part.parameter for part in self.parts}
        return [by_element[coil.element] for coil in self.gauge.coils]

    @cached_property
    def _parameters(self) -> dict[str, float]:
        """The state in which the needle is watched: key on, engine not running."""
        state = "key_on_cold" if "key_on_cold" in self.circuit.sheet.states else None
        known = {"battery_volts": UNIT_VOLTS, "ambient_celsius": self.ambient_celsius}
        return self.circuit.parameters(state, known)

    @cached_property
    def _values(self) -> Mapping[str, float]:
        return self.circuit.values(self._parameters)

    @cached_property
    def _warmth(self) -> Floats:
        """Ohms of each part's element over its parameter: copper warms with the air."""
        known = self.circuit.parameter_values(self._parameters)
        return np.array([self._values[part.element] / known[part.parameter] for part in self.parts])

    @cached_property
    def _lead(self) -> str:
        points = self.circuit.sheet.points
        name = f"{self.prefix}sender_lead"
        return points[name].node if name in points else ""

    @cached_property
    def _opened(self) -> Opened:
        """The circuit with the gauge's parts open, a resistor in place of the sender."""
        network = self.circuit.network(self._values)
        if self._lead:
            connector = self.circuit.part("sender_connector", self.gauge.id).element
            network = network.with_ohms({connector: np.inf})
        elements = tuple(part.element for part in self.parts)
        path = (self._lead, "0") if self._lead else ()
        return Opened(network, elements, path, self._nodes, elements)

    @cached_property
    def _nodes(self) -> tuple[str, ...]:
        """The sender's lead, and the ends of the regulator's heater, where there are such."""
        unit = self.circuit.sheet.regulator
        heater = self.circuit.netlist.element(unit.heater) if unit else None
        ends = (heater.node_a, heater.node_b) if heater else ()
        return (*([self._lead] if self._lead else []), *ends)

    def start(self) -> tuple[Floats, Floats]:
        """Middle and deviation of the priors, each of shape (parameters,)."""
        return (
            np.array([prior.middle for prior in self.priors]),
            np.array([prior.deviation for prior in self.priors]),
        )

    def ohms(self, vectors: Floats) -> Floats:
        """Ohms of the parts in the circuit.

        Parameters
        ----------
        vectors : ndarray, shape (sets, parameters)
            Parameter sets [1].

        Returns
        -------
        ndarray, shape (sets, parts)
            [ohm].
        """
        return np.asarray(np.exp(vectors[:, : len(self.parts)]) * self._warmth)

    def turns(self, vectors: Floats) -> tuple[Floats, Floats]:
        """Ampere-turns and directions of the coils of an air-core movement.

        Parameters
        ----------
        vectors : ndarray, shape (sets, parameters)
            Parameter sets [1].

        Returns
        -------
        turns, degrees : ndarray, shape (sets, coils)
            The first coil's turns are those of the shipped circuit: only ratios move the needle.
        """
        coils, at = self.gauge.coils, len(self.parts)
        ratios = np.exp(vectors[:, at : at + len(coils) - 1])
        turns = coils[0].turns * np.concatenate([np.ones((len(vectors), 1)), ratios], axis=1)
        degrees = np.tile([coil.degrees for coil in coils], (len(vectors), 1)).astype(float)
        if self._free_angle:
            degrees[:, 1] = vectors[:, at + len(coils) - 1]
        return turns, degrees

    def _way(self, vectors: Floats, currents: Floats) -> tuple[Floats, Floats]:
        """Fields as complex numbers, (sets, resistors), and the direction half way between the last two."""
        turns, degrees = self.turns(vectors)
        parameters = [part.parameter for part in self.parts]
        columns = [parameters.index(name) for name in self._coil_names]
        directed = turns * np.exp(1j * np.radians(degrees))
        field = (currents[..., columns] * directed[:, None, :]).sum(axis=-1)
        opened, grounded = field[:, -2:-1], field[:, -1:]
        # from one end to the other the direction of a sum of two fields turns by less than half a turn
        return field, opened * np.exp(0.5j * np.angle(grounded / opened))

    def scale_degrees(self, vectors: Floats) -> tuple[Floats, Floats]:
        """Directions of the low and of the top mark of an air-core movement.

        Parameters
        ----------
        vectors : ndarray, shape (sets, parameters)
            Parameter sets [1].

        Returns
        -------
        low, high : ndarray, shape (sets,)
            [degree].
        """
        _, currents = self._opened.solved(self.ohms(vectors), np.array([0.0, np.inf]))
        middle = np.degrees(np.angle(self._way(vectors, currents)[1][:, 0])) + vectors[:, -1]
        half = self.sign * np.exp(vectors[:, -2]) / 2
        return middle - half, middle + half

    def scale_amounts(self, vectors: Floats) -> tuple[Floats, Floats]:
        """Heater power, or coil current, at the low and at the top mark of any other movement.

        Parameters
        ----------
        vectors : ndarray, shape (sets, parameters)
            Parameter sets [1].

        Returns
        -------
        low, high : ndarray, shape (sets,)
            [W] or [A].
        """
        first, rise = vectors[:, -2], self.sign * np.exp(vectors[:, -1])
        if self.gauge.movement == "bimetal":
            full = np.exp(2 * vectors[:, 1]) / self.ohms(vectors)[:, 0]
            return -first / rise * full, (1 - first) / rise * full
        total = self.ohms(vectors).sum(axis=1)
        return (12.0 - first / rise) / total, (12.0 + (1 - first) / rise) / total

    def needle(self, vectors: Floats, ohms: Floats, supply_volts: Floats) -> tuple[Floats, Floats]:
        """What the needle and a voltmeter on the sender's lead show.

        Parameters
        ----------
        vectors : ndarray, shape (sets, parameters)
            Parameter sets [1].
        ohms : ndarray, shape (resistors,)
            In place of the sender [ohm].
        supply_volts : ndarray, shape (resistors,)
            Of the battery [V].

        Returns
        -------
        positions : ndarray, shape (sets, resistors)
            As if there were no stops [position].
        volts : ndarray, shape (sets, resistors)
            [V].
        """
        with np.errstate(divide="ignore"):
            siemens = 1.0 / ohms
        count = len(ohms)
        # the ends of the needle's way, lead off and lead grounded, come along
        volts, every = self._opened.solved(self.ohms(vectors), np.concatenate([siemens, [0.0, np.inf]]))
        volts, currents = volts[:, :count], every[:, :count]
        share = supply_volts / UNIT_VOLTS
        lead = np.full(volts.shape[:2], np.nan)
        if self._lead:
            lead = np.maximum(volts[..., 0], 0.0) * share
        first, second = vectors[:, -2, None], vectors[:, -1, None]
        if self.gauge.movement == "air_core":
            field, middle = self._way(vectors, every)
            angle = np.degrees(np.angle(field[:, :count] / middle))
            positions = 0.5 + self.sign * (angle - second) / np.exp(first)
        elif self.gauge.movement == "bimetal":
            held, heater = np.exp(vectors[:, 1:2]), self.ohms(vectors)[:, :1]
            closed = self._closed_share(held, volts * share[:, None])
            watts = closed * (currents[..., 0] * share) ** 2 * heater
            positions = first + self.sign * np.exp(second) * watts * heater / held**2
            lead = lead * closed
        else:
            across = currents[..., 0] * share * self.ohms(vectors).sum(axis=1, keepdims=True)
            positions = first + self.sign * np.exp(second) * (across - 12.0)
        return positions, lead

    @property
    def _design_volts(self) -> str:
        return self.circuit.sheet.regulator.design_volts if self.circuit.sheet.regulator else "supply_volts"

    def _closed_share(self, held: Floats, volts: Floats) -> Floats:
        """Share of the time for which the regulator's contact is closed [1]."""
        unit = self.circuit.sheet.regulator
        if unit is None:
            return np.ones(volts.shape[:-1])
        felt = volts[..., -2] - volts[..., -1]
        ratio = held / np.maximum(felt, 1e-9)
        return np.minimum(ratio**2 if unit.convention == "rms" else ratio, 1.0)

    def coil_ohms(self, vectors: Floats, point: CoilPoint) -> Floats | None:
        """What an ohmmeter shows on the gauge off the panel.

        Parameters
        ----------
        vectors : ndarray, shape (sets, parameters)
            Parameter sets [1].
        point : CoilPoint
            Between which studs, or on which part.

        Returns
        -------
        ndarray, shape (sets,), or None
            ``inf`` where nothing joins the two studs [ohm]; None if the movement has no such stud or part.
        """
        if point.part:
            ids = [part.id.removeprefix(self.prefix) for part in self.parts]
            return self.ohms(vectors)[:, ids.index(point.part)] if point.part in ids else None
        if not set(point.between) <= set(self.studs):
            return None
        if point.between not in self._heads:
            self._heads[point.between] = self._head(point.between)
        head = self._heads[point.between]
        columns = [k for k, part in enumerate(self.parts) if part.element in head.branches]
        _, amperes = head.solved(self.ohms(vectors)[:, columns], np.zeros(1))
        shown = ohms_reading(-amperes[:, 0, 0])
        return np.where(shown < OPEN_READING, shown, np.inf)

    @cached_property
    def _heads(self) -> dict[tuple[str, ...], Opened]:
        return {}

    def _head(self, studs: tuple[str, ...]) -> Opened:
        """The gauge off the panel, an ohmmeter between two of its studs."""
        inside = set(self.circuit.gauge_elements(self.gauge))
        network = self.circuit.network(self._values)
        network = network.with_ohms({name: np.inf for name in network.names if name not in inside})
        first, second = (self.circuit.sheet.points[f"{self.prefix}{stud}"].node for stud in studs)
        meter = Path(METER, first, second, OHMMETER_OHMS, OHMMETER_VOLTS)
        elements = tuple(part.element for part in self.parts if part.element in inside)
        return Opened(network.with_paths([meter]), elements, (), (), (METER,))
