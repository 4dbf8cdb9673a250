"""Answers drawn for each vehicle of a fleet: how people speak, how meters err, and slips."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.evaluation.fleet import Fleet
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.observable import Answer, Observable
from gaugesim.solve.network import Integers


def draw_answers(
    fleet: Fleet, observables: Sequence[Observable], random: np.random.Generator, lasting: bool = False
) -> tuple[Answer, ...]:
    """Answers of every vehicle to every observable.

    An intermittent fault has one duty for a vehicle, and acts or rests for all that one entry tells.

    Parameters
    ----------
    observables : sequence of Observable
        About the rows of the fleet.
    random : numpy.random.Generator
    lasting : bool
        Whether every intermittent fault is there nearly always.

    Returns
    -------
    tuple of ndarray, each of shape (vehicles,)
        Numbers of classes, or numbers in the unit of the observable.
    """
    duty = random.integers(len(like.DUTIES), size=len(fleet.intermittent))
    if lasting:
        duty[:] = np.argmax(like.DUTIES)
    acting: dict[str, np.ndarray] = {}
    answers: list[Answer] = []
    for k, observable in enumerate(observables):
        rows = np.arange(1, fleet.size + 1)
        if observable.comes_and_goes and observable.sudden is None:
            where = observable.statement.where or str(k)
            if where not in acting:
                acting[where] = random.random(len(duty)) < like.DUTIES[duty]
            rows[fleet.intermittent] = np.where(acting[where], rows[fleet.intermittent], fleet.resting)
        if observable.is_number:
            answers.append(_number(fleet, observable, rows, random))
            continue
        chances = observable.slipped[rows]
        if observable.sudden is not None:
            mixed = observable.by_duty(1 + fleet.intermittent, fleet.resting)
            chances[fleet.intermittent] = mixed[duty, np.arange(len(duty))]
        answers.append(_class(chances, random))
    return tuple(answers)


def _class(chances: Floats, random: np.random.Generator) -> Integers:
    steps = np.cumsum(chances, axis=1)
    return np.asarray((random.random((len(chances), 1)) * steps[:, -1:] > steps).sum(axis=1), dtype=np.intp)


def _number(fleet: Fleet, observable: Observable, rows: Integers, random: np.random.Generator) -> Floats:
    assert observable.noise is not None
    read = observable.shown.mean[rows] + observable.noise[rows] * random.standard_normal(len(rows))
    for name, step in zip(observable.shown.names, observable.shown.steps, strict=True):
        read += step[rows] * fleet.draws(name)
    # a slip may stand anywhere
    anywhere = random.random(len(rows)) < like.SLIP
    broad = observable.lowest + random.random(len(rows)) / observable.broad
    return np.where(anywhere, broad, read)
