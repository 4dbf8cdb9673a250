"""Likelihood of many cases at once, that were all asked the same observables, in every cell of a circuit."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.in_draws import AnswersInDraws
from gaugesim.evidence.intermittent import log_intermittent
from gaugesim.evidence.joint import Numbers, log_numbers
from gaugesim.evidence.observable import Answers, Observable
from gaugesim.solve.network import Integers


def log_likelihoods(cells: Cells, observables: Sequence[Observable], answers: Answers) -> Floats:
    """Likelihood of all answers together.

    Answers that share tolerances are weighed jointly, so that three readings of one low battery count as one
    low battery, and three words about one warm day as one warm day; each may be a slip. An intermittent fault
    acts in each entry of a case or not, with one unknown duty for all.

    Parameters
    ----------
    answers : sequence of ndarray, each of shape (cases,)
        For each observable the numbers of the classes, or the numbers, that were answered.

    Returns
    -------
    ndarray, shape (cells, cases)
        Natural logarithms.
    """
    cases = len(answers[0]) if answers else 1
    total = np.zeros((len(cells.fault), cases))
    for observable, answer in zip(observables, answers, strict=True):
        if observable.classes and observable.tabulate is None:
            total += np.log(observable.slipped)[:, answer]
    asked = list(zip(observables, answers, strict=True))
    words = [(observable, answer) for observable, answer in asked if observable.tabulate is not None]
    read = [(observable, answer) for observable, answer in asked if observable.is_number]
    # each number's own error is drawn by its place among them, which must not be that in the file
    read.sort(key=lambda pair: pair[0].statement.subject)
    looked = AnswersInDraws(words) if words else None
    alone = looked.log_words() if looked else np.zeros_like(total)
    if read:
        numbers = Numbers.of([observable for observable, _ in read])
        values = np.stack([np.asarray(answer, dtype=float) for _, answer in read])
        sound, slipped = log_numbers(numbers, values)
        drawn = words + [(observable, answer) for observable, answer in read if observable.followed.size]
        every = np.zeros(len(total), dtype=np.bool_)
        for observable, _ in read:
            every[observable.followed] = True
        followed = np.flatnonzero(every)
        if followed.size:
            # what is looked at draw by draw may be a slip too, which is part of its own density
            some = [(observable.take(followed), answer) for observable, answer in drawn]
            alone[followed] = AnswersInDraws(some).log_means(cases)
            looked = AnswersInDraws(drawn)
        given = looked.log_means(cases, numbers, values) if looked else alone
        # a slip says nothing of the tolerances
        total += np.logaddexp(sound + given, slipped + alone)
    else:
        total += alone
    acting = np.flatnonzero(cells.intermittent)
    if acting.size and observables:
        total[acting] = log_intermittent(observables, answers, acting, cases)
    return total


def marginal(cells: Cells, observable: Observable, answer: Integers | Floats) -> Floats:
    """Likelihood of one answer by itself in every cell, slips and duties included.

    Parameters
    ----------
    answer : ndarray, shape (cases,)

    Returns
    -------
    ndarray, shape (cells, cases)
    """
    result = observable.likelihood(answer)
    acting = np.flatnonzero(cells.intermittent)
    if acting.size and (observable.comes_and_goes or not observable.is_number):
        result = result.copy()
        if observable.is_number:
            duty = like.DUTIES.mean()
            result[acting] = duty * result[acting] + (1 - duty) * result[:1]
        else:
            result[acting] = observable.by_duty(acting, np.zeros_like(acting)).mean(axis=0)[:, answer]
    return result
