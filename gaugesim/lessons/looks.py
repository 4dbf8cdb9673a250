"""What is seen by looking, listening or feeling: asked of one vehicle as it is asked of the suspects."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.bind import asked
from gaugesim.evidence.look_entries import any_answer
from gaugesim.evidence.prediction import Prediction
from gaugesim.evidence.rows import Rows
from gaugesim.reading import Response, Situation, respond
from gaugesim.reading.situations import Key
from gaugesim.scenario.check import Check
from gaugesim.scenario.fault import Fault, Pair

if TYPE_CHECKING:
    from gaugesim.lessons.vehicle import FaultyVehicle


class OneVehicle(Rows):
    """The sound circuit, and a vehicle with what is left of its fault: `Rows` of which looks are asked.

    Parameters
    ----------
    acts : bool
        Whether the fault acts at that moment.
    """

    def __init__(self, vehicle: FaultyVehicle, acts: bool) -> None:
        self.circuit = vehicle.circuit
        self._vehicle, self._acts = vehicle, acts
        self.faults: tuple[Fault | Pair, ...] = tuple(fault for fault, _ in vehicle.left)
        self.situations: dict[Key, Situation] = {}
        self._pairs: dict[Key, tuple[Response, Response]] = {}

    def of_faults(self, values: Floats, sound: Floats | float) -> Floats:
        """See `Rows.of_faults`; of two faults the one decides that is farther from the sound circuit's."""
        sound = np.asarray(sound)
        own = max(values, key=lambda value: float(np.abs(value - sound).sum()), default=sound)
        return np.stack([np.broadcast_to(sound, np.shape(own)), own])

    def situation_with(
        self, state: str | None, check: Check, given: Mapping[str, float] | None = None
    ) -> Situation:
        """See `Rows.situation_with`."""
        sound = super().situation_with(state, check, given)
        if sound.key not in self._pairs:
            own, row = self._vehicle.row(sound.state, check, self._acts)
            self._pairs[sound.key] = respond(sound), respond(own, row)
        return sound

    def response(self, situation: Situation) -> Response:
        """See `Rows.response`; that of the vehicle alone."""
        return self._pairs[situation.key][1]

    def position(self, situation: Situation, gauge: str) -> Prediction:
        """See `Rows.position`; a vehicle has no tolerances, it is as it is."""
        bounds = self.circuit.sheet.gauges[gauge].stops
        stand = np.array([float(response.positions[gauge][0]) for response in self._pairs[situation.key]])
        # a needle that nothing drives mostly lies at its low stop
        return _certain(np.where(np.isnan(stand), like.resting(np.zeros(2), bounds), stand), bounds)

    def reading(self, situation: Situation) -> Prediction:
        """See `Rows.reading`."""
        shown = [response.reading for response in self._pairs[situation.key]]
        return _certain(np.array([np.nan if response is None else float(response[0]) for response in shown]))

    def chances(self, check: Check, state: str) -> tuple[tuple[str, ...], Floats]:
        """What a look may show on this vehicle, and the chance of each, shape (classes,)."""
        entry = any_answer(self.circuit, check, state)
        [(question, _, _)] = asked(entry, self, self._vehicle.gauge)
        assert question.table is not None
        return question.classes, question.table[1]


def _certain(values: Floats, bounds: tuple[float, float] = (-np.inf, np.inf)) -> Prediction:
    return Prediction(values, (), np.zeros((0, 2)), np.zeros(2, dtype=np.bool_), bounds)
