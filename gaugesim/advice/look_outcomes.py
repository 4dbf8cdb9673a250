"""What looks would show under each hypothesis: asked as what somebody tells is asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.bind import asked
from gaugesim.evidence.look_entries import any_answer
from gaugesim.evidence.observable import Observable
from gaugesim.evidence.prediction import Prediction
from gaugesim.evidence.rows import Rows
from gaugesim.evidence.shared_draws import shares
from gaugesim.reading import Response, Situation, Spread, respond, spread
from gaugesim.reading.situations import Key, without_process
from gaugesim.scenario.check import Check
from gaugesim.scenario.fault import Fault, Pair
from gaugesim.scenario.scenarios import Scenarios

if TYPE_CHECKING:
    from gaugesim.advice.suspects import Suspects

# an intermittent fault that brought a complaint is taken by how much of the time it acts
_DUTY_SHARES = like.DUTIES / like.DUTIES.sum()


class LookedAt(Rows):
    """The cells of the suspects, row 0 the sound circuit: `Rows` of which looks are asked."""

    def __init__(self, suspects: Suspects) -> None:
        self._suspects = suspects
        self.circuit = suspects.entry.cells.circuit
        self.faults: tuple[Fault | Pair, ...] = tuple(suspects.faults)
        self.situations = suspects.entry.cells.situations
        self._shown: dict[Key, tuple[Response, Spread]] = {}

    def of_faults(self, values: Floats, sound: Floats | float) -> Floats:
        """See `Rows.of_faults`."""
        first = np.broadcast_to(np.asarray(sound), values.shape[1:])[None]
        return np.concatenate([first, values[self._suspects.row_of]])

    def response(self, situation: Situation) -> Response:
        """See `Rows.response`."""
        return self._both(situation)[0]

    def position(self, situation: Situation, gauge: str) -> Prediction:
        """See `Rows.position`."""
        response, moves = self._both(situation)
        bounds = self.circuit.sheet.gauges[gauge].stops
        rest = like.resting(shares(f"rest@{gauge}"), bounds)
        still = np.zeros(len(response.positions[gauge]), dtype=np.bool_)
        steps = moves.positions[gauge]
        return Prediction(response.positions[gauge], moves.names, steps, still, bounds, rest=rest)

    def reading(self, situation: Situation) -> Prediction:
        """See `Rows.reading`."""
        response, moves = self._both(situation)
        assert response.reading is not None
        assert moves.reading is not None
        return Prediction(response.reading, moves.names, moves.reading, response.pulses)

    def table(self, check: Check, state: str) -> tuple[tuple[str, ...], Floats]:
        """What a look would show under each hypothesis.

        Returns
        -------
        classes : tuple of str
        table : ndarray, shape (hypotheses, classes)
        """
        observable = self.observable(check, state)
        rows = observable.slipped[1:].copy()
        some = np.flatnonzero(self._suspects.entry.cells.intermittent[self._suspects.rows[1:]])
        if some.size:
            by_duty = observable.by_duty(some + 1, np.zeros_like(some))
            rows[some] = np.tensordot(_DUTY_SHARES, by_duty, axes=1)
        return observable.classes, self._suspects.added_up(rows)

    def observable(self, check: Check, state: str) -> Observable:
        """What a look asks."""
        [(observable, _, _)] = asked(any_answer(self.circuit, check, state), self, self._suspects.gauge)
        return observable

    def _both(self, situation: Situation) -> tuple[Response, Spread]:
        if situation.key not in self._shown:
            rows: Scenarios = without_process(
                self._suspects.scenarios(situation.parameters), situation.certain
            )
            response = respond(situation, rows)
            self._shown[situation.key] = response, spread(situation, rows, response)
        return self._shown[situation.key]
