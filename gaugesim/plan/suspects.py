"""The hypotheses of one circuit that are still in question, and what each would show."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.diagnose import Diagnosis, complained_of, fault_name
from gaugesim.evidence import handling
from gaugesim.evidence import likelihood as like
from gaugesim.evidence import observation as obs
from gaugesim.evidence.cells import Prediction
from gaugesim.evidence.posterior import Posterior
from gaugesim.reading import Response, Situation, respond, situation
from gaugesim.reading.situation import without_process
from gaugesim.reading.words import NEEDLE_WORDS, UNDRIVEN
from gaugesim.scenario.check import Check
from gaugesim.scenario.fault import Fault
from gaugesim.sheet import FOUND, Gauge
from gaugesim.solve.network import Floats, Integers

# hypotheses less likely than this do not bear on the plan
BEARING = 1e-3
# cells that hold this much of the probability are asked what a check would show
ASKED, MOST_CELLS = 0.995, 160
# a place that takes longer than this to open is not outside
OUTSIDE_MINUTES = 20.0
# an intermittent fault that brought a complaint acts about this share of the time
USUAL_DUTY = 0.35
# tolerances, near enough for a plan: of a position, and as shares of a reading
POSITION_DEVIATION, READING_DEVIATION = 0.03, 0.03
# a needle that nothing drives is seen to stay where it was
UNDRIVEN_SEEN = 0.9


@dataclass(frozen=True)
class Hypothesis:
    """A fault of one of the candidate circuits that is still in question.

    Attributes
    ----------
    fault : str
        As the ranking calls it.
    words : str
    repair : str
        Which repair mends it; faults with the same repair are mended together.
    circuit : str
    remedy : str
        What mends it, in words.
    """

    fault: str
    words: str
    repair: str
    circuit: str
    remedy: str


class Suspects:
    """The hypotheses of one candidate circuit that are still in question, and what each would show.

    Parameters
    ----------
    entry : Posterior
        Of that circuit.
    diagnosis : Diagnosis
    """

    def __init__(self, entry: Posterior, diagnosis: Diagnosis) -> None:
        self.entry = entry
        cells, circuit = entry.cells, entry.cells.circuit
        self.gauge = complained_of(diagnosis.case, circuit)
        share = diagnosis.circuits[circuit.id]
        kept = np.flatnonzero(entry.fault * share >= BEARING)
        self.kept = kept if kept.size else np.array([int(np.argmax(entry.fault))])
        self.weight = entry.fault[self.kept] * share
        self.hypotheses = tuple(self._hypothesis(int(i)) for i in self.kept)
        self.faults = [cells.faults[i] for i in self.kept]
        self.rows, self.row_weight, self.row_of = self._rows()

    def _hypothesis(self, i: int) -> Hypothesis:
        circuit = self.entry.cells.circuit
        fault = self.entry.cells.faults[i]
        repairs = dict.fromkeys(self._repair(one) for one in fault.singles)
        remedies = dict.fromkeys(f"{one.part.words}: {one.part.repair}" for one in fault.singles)
        name = fault_name(circuit, fault, self.gauge)
        return Hypothesis(name, fault.words, "+".join(repairs), circuit.id, "; ".join(remedies))

    def _repair(self, fault: Fault) -> str:
        """What is mended: the part, or the whole gauge where the fault is inside it."""
        if fault.part.kind not in ("coil", "heater", "movement"):
            return self.entry.cells.circuit.short_name(fault.part.id, self.gauge)
        own = fault.part.gauge in ("", self.gauge)
        return "gauge" if own else f"{fault.part.gauge}_gauge"

    def _rows(self) -> tuple[Integers, Floats, Integers]:
        """The cells that matter, the sound circuit first."""
        cells, cell = self.entry.cells, self.entry.cell
        place = np.full(len(cells.faults) + 1, -1)
        place[self.kept + 1] = np.arange(len(self.kept))
        of = place[cells.fault + 1]
        order = np.argsort(-np.where(of >= 0, cell, -1.0), kind="stable")
        order = order[of[order] >= 0]
        enough = int(np.searchsorted(np.cumsum(cell[order]) / max(cell[order].sum(), 1e-300), ASKED)) + 1
        chosen = {*order[: min(enough, MOST_CELLS)].tolist()}
        # every hypothesis keeps at least its likeliest cell
        chosen |= {int(order[np.argmax(of[order] == i)]) for i in range(len(self.kept))}
        rows = np.array(sorted(chosen), dtype=np.intp)
        weight = self.entry.within[rows]
        total = np.bincount(of[rows], weight, len(self.kept))
        return np.concatenate([[0], rows]), weight / total[of[rows]], of[rows]

    def table(self, check: Check, state: str) -> tuple[tuple[str, ...], Floats]:
        """What a check would show under each hypothesis.

        Parameters
        ----------
        check : Check
        state : str

        Returns
        -------
        classes : tuple of str
        table : ndarray, shape (hypotheses, classes)
        """
        if check.reads == "look":
            return FOUND, handling.found_table(self.faults, check.part)
        if check.reads == "jump":
            gauge = check.part.removeprefix("gauge:") if check.part.startswith("gauge:") else ""
            chance = handling.jump_chance(self.faults, "" if gauge else check.part, gauge)
            return handling.JUMPS, np.stack([1 - chance, chance], axis=1)
        classes, acting = self._cell_table(check, state)
        return classes, self.by_hypothesis(acting)

    def by_hypothesis(self, acting: Floats) -> Floats:
        """Add up over the cells of each hypothesis, intermittent ones at their usual duty, slips included.

        Parameters
        ----------
        acting : ndarray, shape (rows, classes)
            Probability of each class in each of ``rows``, the sound circuit first.

        Returns
        -------
        ndarray, shape (hypotheses, classes)
        """
        duty = np.where(self.entry.cells.intermittent[self.rows[1:]], USUAL_DUTY, 1.0)[:, None]
        shows = duty * acting[1:] + (1 - duty) * acting[:1]
        shows = (1 - like.SLIP) * shows + like.SLIP / shows.shape[1]
        table = np.zeros((len(self.kept), shows.shape[1]))
        np.add.at(table, self.row_of, self.row_weight[:, None] * shows)
        return table

    def response(self, check: Check, state: str) -> tuple[Situation, Response]:
        """What a check shows in each of the rows.

        Parameters
        ----------
        check : Check
        state : str

        Returns
        -------
        where : Situation
        response : Response
        """
        where = situation(self.entry.cells.circuit, state, check)
        rows = self.entry.cells.scenarios(where.parameters).take(self.rows)
        return where, respond(where, without_process(rows, where.known))

    def _cell_table(self, check: Check, state: str) -> tuple[tuple[str, ...], Floats]:
        circuit = self.entry.cells.circuit
        where, response = self.response(check, state)
        if check.reads == "volts":
            reading = near(response.reading, response.pulses)
            return obs.VOLTS, obs.volts_table(reading, obs.battery_volts(where))
        if check.reads == "ohms":
            return obs.OHMS, obs.ohms_table(near(response.reading, response.pulses))
        if check.reads == "lamp":
            return obs.LAMPS, obs.lamp_table(near(response.reading, response.pulses))
        gauge = circuit.gauge(check.gauge if check.gauge in circuit.sheet.gauges else self.gauge)
        return (*NEEDLE_WORDS, UNDRIVEN), needle_classes(gauge, response)


def needle_classes(gauge: Gauge, response: Response) -> Floats:
    """Probability of each needle word, and of a needle that nothing drives being seen to stay.

    Parameters
    ----------
    gauge : Gauge
    response : Response

    Returns
    -------
    ndarray, shape (rows, words + 1)
    """
    mean = response.positions[gauge.id]
    position = Prediction(mean, ("tolerance",), np.full((1, len(mean)), POSITION_DEVIATION), response.pulses)
    words = obs.needle_table(gauge, position)
    still = np.where(np.isnan(mean), UNDRIVEN_SEEN, 0.0)[:, None]
    return np.concatenate([words * (1 - still), still], axis=1)


def near(reading: Floats | None, pulses: NDArray[np.bool_]) -> Prediction:
    """A reading with about its tolerance, near enough for a plan.

    Parameters
    ----------
    reading : ndarray, shape (rows,)
        [V or ohm]
    pulses : ndarray of bool, shape (rows,)
        [1]

    Returns
    -------
    Prediction
    """
    assert reading is not None
    return Prediction(reading, ("tolerance",), READING_DEVIATION * np.abs(reading)[None], pulses)
