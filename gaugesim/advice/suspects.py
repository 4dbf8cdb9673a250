"""The hypotheses of one circuit that are still in question, and what each would show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gaugesim import vocabulary
from gaugesim.advice.look_outcomes import LookedAt
from gaugesim.advice.remedy import repair_of
from gaugesim.arrays import Floats
from gaugesim.diagnosis import Diagnosis, complained_of, fault_name
from gaugesim.evidence import handling
from gaugesim.evidence import likelihood as like
from gaugesim.evidence import observation as obs
from gaugesim.evidence.bayes import Posterior
from gaugesim.evidence.prediction import Prediction
from gaugesim.reading import Response, Situation, respond
from gaugesim.reading.isolated_part import isolated_ohms, isolated_on_meter
from gaugesim.reading.several_checks import fits, respond_to_each
from gaugesim.reading.situations import Key, without_process
from gaugesim.reading.words import NEEDLE_WORDS
from gaugesim.scenario.check import NO_CHECK, Check, Setup
from gaugesim.scenario.scenarios import Scenarios
from gaugesim.sheet import Gauge
from gaugesim.solve.network import Integers
from gaugesim.vocabulary import UNDRIVEN

# what may be seen, and how likely that is under each hypothesis
Shown = tuple[tuple[str, ...], Floats]

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
    repair : str
        Which repair mends it; faults with the same repair are mended together.
    """

    fault: str
    words: str
    repair: str
    circuit: str


class Suspects:
    """The hypotheses of one candidate circuit that are still in question, and what each would show."""

    def __init__(self, entry: Posterior, diagnosis: Diagnosis) -> None:
        self.entry = entry
        cells, circuit = entry.cells, entry.cells.circuit
        self.case = diagnosis.case
        self.gauge = complained_of(self.case, circuit)
        share = diagnosis.circuits[circuit.id]
        kept = np.flatnonzero(entry.fault * share >= BEARING)
        self.kept = kept if kept.size else np.array([int(np.argmax(entry.fault))])
        self.weight = entry.fault[self.kept] * share
        self.faults = [cells.faults[i] for i in self.kept]
        self.repairs = tuple(repair_of(circuit, fault, self.gauge) for fault in self.faults)
        self.hypotheses = tuple(
            Hypothesis(fault_name(circuit, fault, self.gauge), fault.words, repair.name, circuit.id)
            for fault, repair in zip(self.faults, self.repairs, strict=True)
        )
        self.rows, self.row_weight, self.row_of = self._rows()
        self._stacks: dict[tuple[tuple[str, float], ...], Scenarios] = {}
        self._needles: dict[tuple[str, str], Floats] = {}

    def scenarios(self, parameters: Mapping[str, float]) -> Scenarios:
        """The sound circuit, and the faults of ``rows``, in a state.

        Parameters
        ----------
        parameters : mapping
            The state's parameter values.
        """
        key = tuple(sorted(parameters.items()))
        if key not in self._stacks:
            self._stacks[key] = self.entry.cells.scenarios_of(self.rows, parameters)
        return self._stacks[key]

    def _rows(self) -> tuple[Integers, Floats, Integers]:
        """The cells that matter, the sound circuit first."""
        cells, cell = self.entry.cells, self.entry.cell
        position = np.full(len(cells.faults) + 1, -1)
        position[self.kept + 1] = np.arange(len(self.kept))
        of = position[cells.fault + 1]
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

    def tables(self, asked: Sequence[tuple[Check, str]]) -> list[Shown]:
        """What checks would show under each hypothesis; those of one state are answered together.

        Parameters
        ----------
        asked : sequence of (Check, str)
            Checks with the state in which each is done.

        Returns
        -------
        list of (tuple of str, ndarray of shape (hypotheses, classes))
            For each what may be seen, and its probability.
        """
        tables: dict[int, Shown] = {}
        together: dict[tuple[Key, str, str, bool], list[int]] = {}
        bases: dict[Key, Situation] = {}
        for i, (check, state) in enumerate(asked):
            if check.kind.by_hand:
                tables[i] = handling.shown_by_hand(self.faults, check)
                continue
            if check.kind.is_look:
                tables[i] = self._looked_at.table(check, state)
                continue
            base = self._base(check, state)
            if base is not None and fits(base, check):
                bases[base.key] = base
                same = base.key, check.reads, self._shown_by(check).id, check.kind.acting
                together.setdefault(same, []).append(i)
            else:
                tables[i] = self._alone(check, state)
        for (which, *_), members in together.items():
            checks = [asked[i][0] for i in members]
            tables |= zip(members, self._together(bases[which], checks), strict=True)
        return [tables[i] for i in range(len(asked))]

    def _base(self, check: Check, state: str) -> Situation | None:
        """The state as it is before a check's own leads and meters, made once; None if that is of no use."""
        setup = check.setup
        if check.meter is not None or setup.parameters or (setup.kept is not None and len(setup.kept) == 1):
            return None
        bare = Setup(kept=setup.kept, dead=setup.dead)
        name = " ".join(["off"] * setup.dead + [*(setup.kept or ())])
        return self.entry.cells.situation_with(
            state, replace(NO_CHECK, id=name, setup=bare) if name else NO_CHECK
        )

    def _shown_by(self, check: Check) -> Gauge:
        circuit = self.entry.cells.circuit
        return circuit.gauge(check.gauge if check.gauge in circuit.sheet.gauges else self.gauge)

    def _alone(self, check: Check, state: str) -> Shown:
        """A check that has a solution of its own."""
        cells = self.entry.cells
        meter = isolated_on_meter(cells.circuit, check)
        if meter is None:
            situation = cells.situation_with(state, check)
            return self._shown(situation, check, self._respond(situation))[0]
        parameters = {**cells.circuit.parameters(state), **meter.parameters}
        rows = without_process(self.scenarios(parameters), frozenset(meter.parameters))
        reading = isolated_ohms(cells.circuit, parameters, meter, rows)
        return vocabulary.OHMS.classes, self.by_hypothesis(
            obs.ohms_table(near(reading, np.zeros(len(rows), dtype=np.bool_)))
        )

    def sound_look(self, check: Check, state: str) -> str:
        """What a look most probably shows on the sound circuit, in the word of a case file."""
        observable = self._looked_at.observable(check, state)
        return observable.classes[int(np.argmax(observable.slipped[0]))]

    def needle_alone(self, check: Check, state: str) -> Floats:
        """What the needle that a check watches would show in a state with nothing done.

        Returns
        -------
        ndarray, shape (hypotheses, classes)
        """
        gauge = self._shown_by(check)
        if (gauge.id, state) not in self._needles:
            situation = self.entry.cells.situation(state)
            bare = replace(NO_CHECK, gauge=gauge.id)
            self._needles[gauge.id, state] = self._shown(
                situation, bare, self._looked_at.response(situation)
            )[0][1]
        return self._needles[gauge.id, state]

    def _together(self, base: Situation, checks: Sequence[Check]) -> list[Shown]:
        rows = self.scenarios(base.parameters)
        response = respond_to_each(base, checks, rows, needles=checks[0].reads == "needle")
        return self._shown(base, checks[0], response)

    def _shown(self, situation: Situation, check: Check, response: Response) -> list[Shown]:
        """A response in words, of one check or of several that read the same."""
        shape = response.duty.shape
        pulses = response.pulses.reshape(-1)
        classes: tuple[str, ...]
        if check.reads == "needle":
            gauge = self._shown_by(check)
            classes = (*NEEDLE_WORDS, UNDRIVEN)
            acting = needle_classes(gauge, response.positions[gauge.id].reshape(-1), pulses)
        else:
            assert response.reading is not None
            reading = near(response.reading.reshape(-1), pulses)
            sound = np.broadcast_to(response.reading[..., :1], shape).reshape(-1)
            classes = vocabulary.TOPICS[check.reads].classes
            acting = obs.reading_table(check.reads, reading, situation, sound)
        duty = 1.0 if check.kind.acting else USUAL_DUTY
        tables = self.by_hypothesis(acting.reshape(-1, shape[-1], len(classes)), duty)
        return [(classes, table) for table in tables]

    def by_hypothesis(self, acting: Floats, usual: float = USUAL_DUTY) -> Floats:
        """Add up over the cells of each hypothesis, slips included.

        Parameters
        ----------
        acting : ndarray, shape (..., rows, classes)
            Probability of each class in each of ``rows``, the sound circuit first.
        usual : float, optional
            Share of the time that intermittent faults act [1].

        Returns
        -------
        ndarray, shape (..., hypotheses, classes)
        """
        duty = np.where(self.entry.cells.intermittent[self.rows[1:]], usual, 1.0)[:, None]
        shows = duty * acting[..., 1:, :] + (1 - duty) * acting[..., :1, :]
        return self.added_up((1 - like.SLIP) * shows + like.SLIP / shows.shape[-1])

    def added_up(self, shows: Floats) -> Floats:
        """Add up over the cells of each hypothesis.

        Parameters
        ----------
        shows : ndarray, shape (..., rows, classes)
            Probability of each class in each of ``rows`` but the sound circuit's.

        Returns
        -------
        ndarray, shape (..., hypotheses, classes)
        """
        return np.asarray(self._adding @ shows)

    @cached_property
    def comes_and_goes(self) -> NDArray[np.bool_]:
        """Whether each hypothesis is rather one that acts at times, shape (hypotheses,)."""
        return self.share_of(self.entry.cells.intermittent[self.rows[1:]]) > 0.5

    @cached_property
    def _adding(self) -> Floats:
        """Share of each of ``rows`` but the sound one in each hypothesis."""
        adding = np.zeros((len(self.kept), len(self.row_of)))
        adding[self.row_of, np.arange(len(self.row_of))] = self.row_weight
        return adding

    def share_of(self, rows: NDArray[np.bool_]) -> Floats:
        """How likely something holds under each hypothesis.

        Parameters
        ----------
        rows : ndarray of bool, shape (..., rows)
            Whether it does in each of ``rows`` but the sound circuit.

        Returns
        -------
        ndarray, shape (..., hypotheses)
        """
        return np.asarray(rows @ self._adding.T)

    @cached_property
    def _looked_at(self) -> LookedAt:
        return LookedAt(self)

    def response(self, check: Check, state: str) -> tuple[Situation, Response]:
        """What a check shows in each of the rows.

        Returns
        -------
        situation : Situation
        response : Response
        """
        situation = Situation.of(self.entry.cells.circuit, state, check)
        return situation, self._respond(situation)

    def _respond(self, situation: Situation) -> Response:
        return respond(situation, without_process(self.scenarios(situation.parameters), situation.certain))


def needle_classes(gauge: Gauge, positions: Floats, pulses: NDArray[np.bool_]) -> Floats:
    """Probability of each needle word, and of a needle that nothing drives being seen to stay.

    Parameters
    ----------
    positions : ndarray, shape (rows,)
        [1]
    pulses : ndarray of bool, shape (rows,)
        Whether it comes and goes [1].

    Returns
    -------
    ndarray, shape (rows, words + 1)
    """
    spread = np.full((1, len(positions)), POSITION_DEVIATION)
    words = obs.needle_table(gauge, Prediction(positions, ("tolerance",), spread, pulses))
    still = np.where(np.isnan(positions), UNDRIVEN_SEEN, 0.0)[:, None]
    return np.concatenate([words * (1 - still), still], axis=1)


def near(reading: Floats | None, pulses: NDArray[np.bool_]) -> Prediction:
    """A reading with about its tolerance, near enough for a plan.

    Parameters
    ----------
    reading : ndarray, shape (rows,)
        [V or ohm]
    pulses : ndarray of bool, shape (rows,)
        [1]
    """
    assert reading is not None
    return Prediction(reading, ("tolerance",), READING_DEVIATION * np.abs(reading)[None], pulses)
