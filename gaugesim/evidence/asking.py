"""Make observables: answered by one of several classes, by a word for a value, by a number, by yes or no."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.errors import CaseError
from gaugesim.evidence import behaviour
from gaugesim.evidence.observable import Observable, Statement, Tabulate
from gaugesim.evidence.prediction import Prediction
from gaugesim.evidence.rows import Rows
from gaugesim.scenario.fault import Fault
from gaugesim.vocabulary import OFTEN, spoken


def of_classes(
    statement: Statement,
    classes: tuple[str, ...],
    table: Floats,
    sudden: Floats | None = None,
    comes_and_goes: bool = True,
    base: Floats | None = None,
) -> Observable:
    """An observable with several answers.

    Parameters
    ----------
    table : ndarray, shape (rows, classes)
        Probability of each; rows sum to 1 [1].
    sudden, comes_and_goes, base : optional
        See `Observable`.
    """
    return Observable(
        statement,
        1.0 / len(classes),
        classes,
        table,
        sudden=sudden,
        comes_and_goes=comes_and_goes,
        base=base,
    )


def yes_or_no(
    statement: Statement, classes: tuple[str, ...], rows: Rows, chance: Callable[[Fault], float], sound: float
) -> Observable:
    """An observable with two answers, the first of which has some chance with each fault.

    Parameters
    ----------
    chance : callable
        From a fault to the chance of the first answer [1]; of two faults at once the one decides that is
        farther from the sound circuit's.
    sound : float
        The sound circuit's chance [1].
    """
    chances = [[chance(fault) for fault in entry.singles] for entry in rows.faults]
    farthest = [max(row, key=lambda chance: abs(chance - sound)) for row in chances]
    first = rows.of_faults(np.array(farthest), sound)
    return of_classes(statement, classes, np.stack([first, 1 - first], axis=1))


def of_value(
    statement: Statement,
    classes: tuple[str, ...],
    prediction: Prediction,
    tabulate: Tabulate,
    sudden: Floats | None = None,
) -> Observable:
    """An observable whose answers are classes of a value.

    Parameters
    ----------
    tabulate : callable
        From a prediction to the table.
    sudden : ndarray, optional
        See `Observable`.
    """
    table = tabulated(prediction, tabulate)
    return Observable(statement, 1.0 / len(classes), classes, table, prediction, tabulate, sudden=sudden)


def tabulated(prediction: Prediction, tabulate: Tabulate) -> Floats:
    """The table of a prediction; where no straight line describes it, averaged over draws."""
    table = tabulate(prediction)
    bent = prediction.bent()
    if bent.size:
        table[bent] = _by_draws(prediction.take(bent), tabulate)
    return table


def _by_draws(prediction: Prediction, tabulate: Tabulate) -> Floats:
    """A table averaged over draws of the value."""
    values = prediction.in_draws()
    flat = Prediction(
        values.ravel(), (), np.zeros((0, values.size)), np.repeat(prediction.pulses, values.shape[1])
    )
    return np.asarray(tabulate(flat).reshape(*values.shape, -1).mean(axis=1))


def of_number(
    statement: Statement, prediction: Prediction, noise: Floats, span: tuple[float, float], unit: str
) -> Observable:
    """An observable that is answered by a number.

    Parameters
    ----------
    noise : ndarray, shape (rows,)
        Standard deviation of the number by itself, in the unit of the prediction [1].
    span : (float, float)
        Where it may lie if nothing is known, in that unit [1].
    unit : str
        ``position``, ``volts`` or ``log ohms``.
    """
    broad = 1.0 / (span[1] - span[0])
    return Observable(statement, broad, prediction=prediction, noise=noise, unit=unit, lowest=span[0])


def how_often(often: str, observable: Observable, word: str | float) -> tuple[Observable, str, str]:
    """What was said to be seen always, sometimes or once.

    Parameters
    ----------
    observable
        Of the words alone.

    Returns
    -------
    observable : Observable
    answer, words : str
        How that is answered.

    Raises
    ------
    CaseError
        For a number.
    """
    if observable.is_number:
        raise CaseError("often goes with a word for the needle", "", "give a word, or leave often out")
    table, tabulate = observable.table, observable.tabulate
    assert table is not None
    assert tabulate is not None
    classes = tuple(f"{name}, {often}" for often in OFTEN.classes for name in observable.classes)
    with_how_often = replace(
        observable,
        broad=1.0 / len(classes),
        classes=classes,
        table=behaviour.always_there(table),
        tabulate=lambda shown: behaviour.always_there(tabulate(shown)),
        sudden=behaviour.now_and_then(table),
        base=np.pad(table, ((0, 0), (0, len(classes) - table.shape[1]))),
    )
    words = f"{spoken(str(word))}{'' if often == 'always' else f', {often}'}"
    return with_how_often, f"{word}, {often}", words
