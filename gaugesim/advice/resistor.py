"""The best resistor: which one in place of the sender splits the suspects best, and where to probe then."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from gaugesim.advice.hazard import burning
from gaugesim.advice.jobs import Job
from gaugesim.advice.suspects import OUTSIDE_MINUTES, Suspects, near, needle_classes
from gaugesim.advice.telling import information
from gaugesim.arrays import Floats
from gaugesim.errors import GaugesimError
from gaugesim.evidence import observation as obs
from gaugesim.planning.problem import BELIEVED
from gaugesim.reading import Response, Situation
from gaugesim.scenario.apparatus import voltmeter
from gaugesim.scenario.caution import in_order
from gaugesim.scenario.check import Check, find_check
from gaugesim.scenario.kinds.checks import SUBSTITUTE
from gaugesim.sheet import Point
from gaugesim.solve.network import GROUND

# IEC 60063: the E12 series; decades that mean anything in place of a gauge's sender
E12 = (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)
DECADES = (1, 10)
# how many resistors are tried together with a second point
TRIED = 3


@dataclass(frozen=True)
class ExpectedReading:
    """What one suspect would show with the resistor in place.

    Attributes
    ----------
    position : float
        Needle, NaN if nothing drives it.
    volts : float
        At the second point [V]; NaN without one.
    """

    fault: str
    words: str
    position: float
    volts: float


@dataclass(frozen=True)
class BestResistor:
    """The resistor that is worth most.

    Attributes
    ----------
    check : str
        The check that it makes.
    state_words : str
        In which state.
    bits : float
        What the needle is expected to tell with it.
    point, point_words : str
        The second point that tells most beside it; empty if none tells anything.
    both_bits : float
        What needle and point tell together.
    expected : tuple of ExpectedReading
        For each suspect, likeliest first.
    cautions : tuple of str
        Of the check and of the second point, the worst first.
    """

    ohms: float
    check: str
    state_words: str
    bits: float
    point: str
    point_words: str
    both_bits: float
    expected: tuple[ExpectedReading, ...]
    cautions: tuple[str, ...]


def best_resistor(work: Job) -> BestResistor | None:
    """The resistor of the E12 series that splits the remaining suspects best, key on and engine stopped.

    None where the lead cannot be taken off a sender, or may be live: any resistor there would burn; and for a
    fault that comes and goes, which none shows.
    """
    suspects = work.suspects[0]
    states = work.circuit.sheet.states
    state = "key_on_cold" if "key_on_cold" in states else work.circuit.sheet.default_state
    weight = suspects.weight / suspects.weight.sum()
    if weight[suspects.comes_and_goes].sum() > 0.5:
        return None
    tried: list[tuple[float, float, Check, Situation, Response]] = []
    values = [float(digit * decade) for decade in DECADES for digit in E12]
    try:
        checks = [find_check(work.circuit, SUBSTITUTE.check(f"{ohms:g}"), suspects.gauge) for ohms in values]
    except GaugesimError:
        return None
    chance = burning(suspects, [(check, state) for check in checks], work.diagnosis.case) @ weight
    for ohms, check, burns in zip(values, checks, chance, strict=True):
        if burns > BELIEVED:
            continue
        situation, response = suspects.response(check, state)
        bits = information(
            weight,
            suspects.by_hypothesis(
                needle_classes(
                    situation.circuit.gauge(check.gauge), response.positions[check.gauge], response.pulses
                )
            ),
        )
        tried.append((bits, ohms, check, situation, response))
    tried.sort(key=lambda entry: -entry[0])
    best = None
    for bits, ohms, check, situation, response in tried[:TRIED]:
        for point, both, volts in _with_point(suspects, weight, check, state, work.opened):
            if best is None or both > best[0]:
                best = (both, bits, ohms, check, situation, response, point, volts)
    if best is None:
        return None
    both, bits, ohms, check, situation, response, point, volts = best
    positions = response.positions[check.gauge]
    rows = _typical_rows(suspects)
    order = np.argsort(-suspects.weight, kind="stable")
    expected = tuple(
        ExpectedReading(
            suspects.hypotheses[i].fault,
            suspects.hypotheses[i].words,
            float(positions[rows[i]]),
            float(volts[rows[i]]),
        )
        for i in order
    )
    beware = [*check.cautions, *work.circuit.sheet.places[point.place].cautions]
    engine = states[state].engine
    cautions = tuple(
        caution.words for caution in in_order(work.circuit, (*beware, *states[state].cautions), engine)
    )
    return BestResistor(
        ohms, check.id, states[state].words, bits, point.id, point.words, both, expected, cautions
    )


def _with_point(
    suspects: Suspects, weight: Floats, check: Check, state: str, opened: frozenset[str]
) -> Iterator[tuple[Point, float, Floats]]:
    """The same resistor with a voltmeter on each point that can be reached."""
    circuit = suspects.entry.cells.circuit
    for point in circuit.sheet.points.values():
        place = circuit.sheet.places[point.place]
        reached = place.id in opened or place.setup_minutes <= OUTSIDE_MINUTES
        if not reached or point.node == GROUND or point.gauge not in ("", suspects.gauge):
            continue
        meter = voltmeter(circuit.sheet.earth, point.node, GROUND)
        both = replace(check, setup=replace(check.setup, paths=(*check.setup.paths, meter)), reads="volts")
        situation, response = suspects.response(both, state)
        needle = needle_classes(circuit.gauge(check.gauge), response.positions[check.gauge], response.pulses)
        volts = obs.volts_table(near(response.reading, response.pulses), obs.battery_volts(situation))
        joint = (needle[:, :, None] * volts[:, None, :]).reshape(len(needle), -1)
        assert response.reading is not None
        yield point, information(weight, suspects.by_hypothesis(joint)), response.reading


def _typical_rows(suspects: Suspects) -> list[int]:
    """For each suspect the row of its likeliest cell."""
    return [
        1 + int(np.argmax(np.where(suspects.row_of == i, suspects.row_weight, -1.0)))
        for i in range(len(suspects.kept))
    ]
