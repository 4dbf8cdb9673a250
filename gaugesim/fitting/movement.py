"""A movement with open parameters: what the needle, a voltmeter and an ohmmeter would show.

The circuit around it, taken from a shipped one, is solved once; parameter sets and resistors are small
corrections of that.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.fitting.points import CoilPoint
from gaugesim.fitting.reduced_network import ReducedNetwork
from gaugesim.movement import MOVEMENTS, Prior, PriorKnowledge, Unknowns
from gaugesim.movement import Movement as Kind
from gaugesim.reading.instruments import OPEN_READING, ohms_reading
from gaugesim.scenario.check import METER, OHMMETER_OHMS, OHMMETER_VOLTS
from gaugesim.sheet import Gauge, Part, roles
from gaugesim.solve.network import Path

# the battery's volts for which the rest of the circuit is solved; currents go in proportion
UNIT_VOLTS = 12.0


@dataclass(frozen=True)
class OpenMovement:
    """One kind of movement in one shipped circuit, with its parameters open.

    Attributes
    ----------
    sign : int
        1 where the position rises with the needle's angle, or with the heater's power; -1 where it falls.
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
        return self.circuit.prefix(self.gauge.id)

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
        return tuple(name for name in roles().stud_ids if f"{self.prefix}{name}" in points)

    @cached_property
    def coils(self) -> int:
        """How many windings it has."""
        return sum(part.kind in ("coil", "heater") for part in self.parts)

    @cached_property
    def kind(self) -> Kind:
        """What kind of movement it is."""
        return MOVEMENTS[self.gauge.movement]

    @cached_property
    def _free(self) -> dict[str, Prior]:
        unit = self.circuit.sheet.regulator
        design_volts = unit.design_volts if unit else "supply_volts"
        knowledge = PriorKnowledge(self._coil_names, design_volts, self.sweep_degrees, self.regulator_volts)
        return self.kind.free(self.gauge, knowledge)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The free parameters in the order of the vectors below."""
        return (*(part.parameter for part in self.parts), *self._free)

    @cached_property
    def priors(self) -> tuple[Prior, ...]:
        """What is plausible for each."""
        return (*[self.kind.ohms] * len(self.parts), *self._free.values())

    @cached_property
    def _coil_names(self) -> list[str]:
        by_element = {part.element: part.parameter for part in self.parts}
        return [by_element[coil.element] for coil in self.gauge.coils]

    @cached_property
    def _parameters(self) -> dict[str, float]:
        """The state in which the needle is watched: key on, engine not running."""
        state = "key_on_cold" if "key_on_cold" in self.circuit.sheet.states else None
        given = {"battery_volts": UNIT_VOLTS, "ambient_celsius": self.ambient_celsius}
        return self.circuit.parameters(state, given)

    @cached_property
    def _values(self) -> Mapping[str, float]:
        return self.circuit.values(self._parameters)

    @cached_property
    def _warmth(self) -> Floats:
        """Ohms of each part's element over its parameter: copper warms with the air."""
        values = self.circuit.parameter_values(self._parameters)
        return np.array([self._values[part.element] / values[part.parameter] for part in self.parts])

    @cached_property
    def _lead(self) -> str:
        points = self.circuit.sheet.points
        name = f"{self.prefix}sender_lead"
        return points[name].node if name in points else ""

    @cached_property
    def _opened(self) -> ReducedNetwork:
        """The circuit with the gauge's parts open, a resistor in place of the sender."""
        network = self.circuit.network(self._values)
        if self._lead:
            connector = self.circuit.part(roles().lead_end, self.gauge.id).element
            network = network.with_ohms({connector: np.inf})
        elements = tuple(part.element for part in self.parts)
        path = (self._lead, "0") if self._lead else ()
        return ReducedNetwork(network, elements, path, self._nodes, elements)

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
        """Ohms of the parts in the circuit, shape (sets, parts) [ohm].

        Parameters
        ----------
        vectors : ndarray, shape (sets, parameters)
            Parameter sets [1].
        """
        return np.asarray(np.exp(vectors[:, : len(self.parts)]) * self._warmth)

    def unknowns(self, vectors: Floats) -> Unknowns:
        """Parameter sets as the kind of movement takes them.

        Parameters
        ----------
        vectors : ndarray, shape (sets, parameters)
            Parameter sets [1].
        """
        count = len(self.parts)
        parameters = [part.parameter for part in self.parts]
        coils = tuple(parameters.index(name) for name in self._coil_names)
        free = vectors[:, count:]
        return Unknowns(self.gauge, self.sign, self.ohms(vectors), free, self.names[count:], coils)

    def ends(self, of: Unknowns) -> Floats:
        """Currents with the sender's lead off and with it grounded, shape (sets, 2, parts) [A]."""
        return self._opened.solved(of.ohms, np.array([0.0, np.inf]))[1]

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
        of, count = self.unknowns(vectors), len(ohms)
        # the ends of the needle's way, lead off and lead grounded, come along
        volts, amperes = self._opened.solved(of.ohms, np.concatenate([siemens, [0.0, np.inf]]))
        share = supply_volts / UNIT_VOLTS
        volts = volts[:, :count] * share[:, None]
        held = self.kind.held(of)
        closed = np.ones(volts.shape[:2]) if held is None else self._closed_share(held, volts)
        unit = self.circuit.sheet.regulator
        # heat goes as the square of a steady current, and as the time for which a pulsing one flows
        heats = closed**2 if unit and unit.steady else closed
        positions = self.kind.needle(of, amperes * np.append(share, [1.0, 1.0])[:, None], heats)
        lead = np.maximum(volts[..., 0], 0.0) * closed if self._lead else np.full(closed.shape, np.nan)
        return positions, lead

    def _closed_share(self, held: Floats, volts: Floats) -> Floats:
        """Share of the time for which the regulator's contact is closed, or of its full current [1]."""
        unit = self.circuit.sheet.regulator
        if unit is None:
            return np.ones(volts.shape[:-1])
        felt = volts[..., -2] - volts[..., -1]
        if unit.steady:
            held = np.minimum(held, felt - self.circuit.parameter_values({})[unit.dropout_volts])
        ratio = np.maximum(held, 0.0) / np.maximum(felt, 1e-9)
        return np.minimum(ratio**2 if unit.convention == "rms" else ratio, 1.0)

    def coil_ohms(self, vectors: Floats, point: CoilPoint) -> Floats | None:
        """What an ohmmeter shows on the gauge off the panel.

        Parameters
        ----------
        vectors : ndarray, shape (sets, parameters)
            Parameter sets [1].

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
    def _heads(self) -> dict[tuple[str, ...], ReducedNetwork]:
        return {}

    def _head(self, studs: tuple[str, ...]) -> ReducedNetwork:
        """The gauge off the panel, an ohmmeter between two of its studs."""
        inside = set(self.circuit.gauge_elements(self.gauge))
        network = self.circuit.network(self._values)
        network = network.with_ohms({name: np.inf for name in network.names if name not in inside})
        first, second = (self.circuit.sheet.points[f"{self.prefix}{stud}"].node for stud in studs)
        meter = Path(METER, first, second, OHMMETER_OHMS, OHMMETER_VOLTS)
        elements = tuple(part.element for part in self.parts if part.element in inside)
        return ReducedNetwork(network.with_paths([meter]), elements, (), (), (METER,))
