"""What can be asked: the cells of a circuit, or a fleet of vehicles."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.evidence.prediction import Prediction
from gaugesim.reading import Response, Situation
from gaugesim.reading.situations import Key, situation_key
from gaugesim.scenario.check import NO_CHECK, Check, find_check
from gaugesim.scenario.fault import Fault, Pair


class Rows(Protocol):
    """A batch whose row 0 is the sound circuit: the cells of a circuit, or a sample of vehicles."""

    circuit: Circuit
    faults: tuple[Fault | Pair, ...]
    situations: dict[Key, Situation]

    def of_faults(self, values: Floats, sound: Floats | float) -> Floats:
        """Spread a value of every fault over the rows."""

    def situation(
        self, state: str | None, check: str = "", given: Mapping[str, float] | None = None
    ) -> Situation:
        """A situation, made once.

        Parameters
        ----------
        check : str
            A check's id, empty for none.
        """
        return self.situation_with(state, find_check(self.circuit, check) if check else NO_CHECK, given)

    def situation_with(
        self, state: str | None, check: Check, given: Mapping[str, float] | None = None
    ) -> Situation:
        """A situation with a check that is at hand, made once."""
        state, given = state or self.circuit.sheet.default_state, given or {}
        key = situation_key(state, check, given)
        if key not in self.situations:
            self.situations[key] = Situation.of(self.circuit, state, check, given)
        return self.situations[key]

    def response(self, situation: Situation) -> Response:
        """What every row shows."""

    def position(self, situation: Situation, gauge: str) -> Prediction:
        """Needle position of every row."""

    def reading(self, situation: Situation) -> Prediction:
        """Reading of every row."""

    def sound(self, situation: Situation, gauge: str = "") -> Prediction:
        """What every row would show with nothing wrong and its tolerances as they are.

        Parameters
        ----------
        gauge : str, optional
            Whose needle; without one the check's instrument.
        """
        shown = self.position(situation, gauge) if gauge else self.reading(situation)
        # row 0 is moved by its tolerances as the others are by theirs
        return shown.take(np.zeros(len(shown.mean), dtype=int))
