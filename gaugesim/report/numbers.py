"""Readings as numbers, as they travel in the page: what each check shows in every cell of every suspect."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from gaugesim import vocabulary
from gaugesim.advice.check_advice import needle_place
from gaugesim.advice.jobs import Job, Option
from gaugesim.advice.suspects import POSITION_DEVIATION, USUAL_DUTY, Suspects, near
from gaugesim.arrays import Floats
from gaugesim.evidence import likelihood as like
from gaugesim.evidence import observation as obs
from gaugesim.reading import Response, Situation, respond
from gaugesim.reading.situations import without_process
from gaugesim.reading.words import WORD_PLACES, word_limits
from gaugesim.report.entries import measured
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids

# digits of what travels
DIGITS = 6
# needles are read off a scale with nothing written beyond its ends
SCALE = (0.0, 1.0)


@dataclass(frozen=True)
class PageCell:
    """One severity of a suspect.

    Attributes
    ----------
    suspect : int
        -1 for the sound circuit that the cells after it are compared with.
    weight : float
        Its share of the suspect [1].
    acts : float
        In which share of the time [1].
    """

    suspect: int
    weight: float
    acts: float


@dataclass(frozen=True)
class PageNumber:
    """What a check shows as a number.

    Attributes
    ----------
    kind : str
        ``needle`` [position], ``volts`` [V] or ``ohms`` [ohm].
    middle : tuple of float or None
        In each cell; of ohms the natural logarithm of their sum with ``floor``. None for anything.
    spread : tuple of float
        Its standard deviation, with that of the reading.
    span : float
        Width of all that may be read.
    floor : float
        0 where the number itself is meant [ohm].
    limits : tuple of float
        Where one word gives way to the next, in the order of the check's outcomes.
    entry : str
        Its lines for the case file, up to the number.
    """

    kind: str
    middle: tuple[float | None, ...]
    spread: tuple[float, ...]
    span: float
    floor: float
    limits: tuple[float, ...]
    entry: str


def page_cells(work: Job) -> tuple[PageCell, ...]:
    """The severities of all suspects, in the order in which a number tells of them."""
    return tuple(_cells(work))


def _cells(work: Job) -> Iterator[PageCell]:
    first = 0
    for part in work.suspects:
        yield PageCell(-1, 0.0, 1.0)
        intermittent = part.entry.cells.intermittent[part.rows[1:]]
        for suspect, weight, comes in zip(part.row_of, part.row_weight, intermittent, strict=True):
            acts = USUAL_DUTY if comes else 1.0
            yield PageCell(first + int(suspect), _rounded(float(weight)), acts)
        first += len(part.kept)


def page_number(work: Job, option: Option) -> PageNumber | None:
    """What a check shows as a number in every cell. None where it reads no number."""
    if option.check.kind.acting:  # the page's cells have one share of the time for all checks
        return None
    # of a needle that is only looked at, a word says as much beside what the owner has told of it
    if option.check.kind.is_look or option.check.reads not in ("needle", "volts", "ohms"):
        return None
    responses = [_response(part, option) for part in work.suspects]
    stands = WORD_PLACES.get(needle_place(work, option), math.nan)
    shown = [
        _shown(part, option, stands, *pair) if pair else _anything(part)
        for part, pair in zip(work.suspects, responses, strict=True)
    ]
    middle, spread = (np.concatenate(pair) for pair in zip(*shown, strict=True))
    # the checks are those of the likeliest circuit
    assert responses[0] is not None
    situation, response = responses[0]
    span, floor = _scale(option.check.reads)
    return PageNumber(
        option.check.reads,
        tuple(None if math.isnan(value) else _rounded(value) for value in middle.tolist()),
        tuple(map(_rounded, spread.tolist())),
        span,
        floor,
        tuple(map(_rounded, _limits(option, situation, response))),
        f"{measured(work, option)}{option.check.reads} = ",
    )


def _response(part: Suspects, option: Option) -> tuple[Situation, Response] | None:
    """What the check shows on one candidate circuit; None where it cannot be made there."""
    circuit = part.entry.cells.circuit
    if option.check.id not in check_ids(circuit, part.gauge) or option.state not in circuit.sheet.states:
        return None
    check = find_check(circuit, option.check.id, part.gauge)
    situation = part.entry.cells.situation_with(option.state, check)
    return situation, respond(
        situation, without_process(part.scenarios(situation.parameters), situation.certain)
    )


def _anything(part: Suspects) -> tuple[Floats, Floats]:
    return np.full(len(part.rows), np.nan), np.ones(len(part.rows))


def _shown(
    part: Suspects, option: Option, stands: float, situation: Situation, response: Response
) -> tuple[Floats, Floats]:
    """Middle and spread in each cell of one candidate circuit, its sound circuit first."""
    circuit = situation.circuit
    if option.check.reads == "needle":
        gauge = option.check.gauge if option.check.gauge in circuit.sheet.gauges else part.gauge
        position = np.clip(response.positions[gauge], *SCALE)
        position = np.where(np.isnan(position), stands, position)
        return position, np.full(len(position), math.hypot(POSITION_DEVIATION, like.NEEDLE_NUMBER_SPREAD))
    reading, make = near(response.reading, response.pulses), circuit.sheet.make_spread
    if option.check.reads == "volts":
        shown = obs.of_any_make(reading, obs.battery_volts(situation), make)
        noise = obs.volts_noise(shown)
    else:
        shown, noise = obs.log_ohms(reading, make)
    return shown.middle, np.asarray(np.hypot(shown.deviation, noise))


def _scale(reads: str) -> tuple[float, float]:
    """Width of all that may be read, and what is added to it before the logarithm is taken."""
    if reads == "needle":
        return SCALE[1] - SCALE[0], 0.0
    low, high = like.VOLTS_SPAN if reads == "volts" else like.LOG_OHMS_SPAN
    return high - low, 0.0 if reads == "volts" else like.OHMS_FLOOR


def _limits(option: Option, situation: Situation, response: Response) -> tuple[float, ...]:
    """Where one outcome gives way to the next, as the likelihoods of their words have it."""
    if option.check.reads == "needle":
        return tuple(word_limits(situation.circuit.gauge(option.check.gauge)).tolist())
    if option.check.reads == "volts":
        return tuple(share * obs.battery_volts(situation) for share in vocabulary.VOLTS.limits)
    assert response.reading is not None
    high = max(float(response.reading[0]), 0.5) * like.OHM_HIGH_FACTOR
    none, top = (10.0**decades for decades in vocabulary.OHMS.limits)
    return none, max(high, none), max(high, top)


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")
