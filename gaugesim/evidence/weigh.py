"""Likelihood of many cases at once, that were all asked the same questions, in every cell of a circuit."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from gaugesim.evidence import likelihood as like
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.question import Question
from gaugesim.solve.network import Floats, Integers

# how much of "none of these" is sheer surprise, against what this circuit's faults show on average
SURPRISE = 0.2
# how many of a case's numbers may be slips at once
SLIPS = 2

Answers = Sequence[Integers | Floats]


def log_likelihoods(cells: Cells, questions: Sequence[Question], answers: Answers) -> Floats:
    """Likelihood of all answers together.

    Numbers that share tolerances are weighed jointly, so that three readings of one low battery count as one
    low battery; each may be a slip. Words are weighed one by one, each with its tolerance. An intermittent
    fault acts in each entry of a case or not, with one unknown duty for all.

    Parameters
    ----------
    cells : Cells
    questions : sequence of Question
    answers : sequence of ndarray, each of shape (cases,)
        For each question the numbers of the classes, or the numbers, that were answered.

    Returns
    -------
    ndarray, shape (cells, cases)
        Natural logarithms.
    """
    cases = len(answers[0]) if answers else 1
    numbers = [k for k, question in enumerate(questions) if question.is_number]
    total = _numbers([questions[k] for k in numbers], [answers[k] for k in numbers], len(cells.fault), cases)
    for k, question in enumerate(questions):
        if not question.is_number:
            total += np.log(question.slipped)[:, answers[k]]
    acting = np.flatnonzero(cells.intermittent)
    if acting.size and questions:
        total[acting] = _intermittent(questions, answers, acting, cases)
    return total


def _intermittent(questions: Sequence[Question], answers: Answers, acting: Integers, cases: int) -> Floats:
    """Likelihood of all answers under faults that come and go, (acting, cases): a mean over duties."""
    sound = np.zeros_like(acting)
    total = np.zeros((len(like.DUTIES), len(acting), cases))
    together: dict[str, list[tuple[Floats, Floats]]] = {}
    for k, (question, answer) in enumerate(zip(questions, answers, strict=True)):
        if question.comes_and_goes and question.sudden is None:
            rows = question.likelihood(answer)
            # what one entry tells was seen at one time, so the fault acted for all of it or for none
            together.setdefault(question.told.where or str(k), []).append((rows[acting], rows[:1]))
        else:
            total += np.log(question.by_duty(acting, sound)[:, :, answer])
    duty = like.DUTIES[:, None, None]
    for pairs in together.values():
        acts, rests = (np.prod([pair[side] for pair in pairs], axis=0) for side in (0, 1))
        total += np.log(duty * acts + (1 - duty) * rests)
    return np.asarray(np.logaddexp.reduce(total, axis=0) - np.log(len(like.DUTIES)))


def marginal(cells: Cells, question: Question, answer: Integers | Floats) -> Floats:
    """Likelihood of one answer by itself in every cell, slips and duties included.

    Parameters
    ----------
    cells : Cells
    question : Question
    answer : ndarray, shape (cases,)

    Returns
    -------
    ndarray, shape (cells, cases)
    """
    result = question.likelihood(answer)
    acting = np.flatnonzero(cells.intermittent)
    if acting.size:
        result = result.copy()
        if question.is_number:
            duty = like.DUTIES.mean()
            result[acting] = duty * result[acting] + (1 - duty) * result[:1]
        else:
            result[acting] = question.by_duty(acting, np.zeros_like(acting)).mean(axis=0)[:, answer]
    return result


def log_none(cells: Cells, questions: Sequence[Question], answers: Answers) -> Floats:
    """Likelihood if none of the modelled faults is there: what they show on average, and less.

    Parameters
    ----------
    cells : Cells
    questions, answers
        As for `log_likelihoods`.

    Returns
    -------
    ndarray, shape (cases,)
        Natural logarithms.
    """
    total = np.zeros(len(answers[0]) if answers else 1)
    for question, answer in zip(questions, answers, strict=True):
        usual = cells.weight @ marginal(cells, question, answer)
        total += np.log((1 - SURPRISE) * usual + SURPRISE * question.broad)
    return total


def _numbers(questions: Sequence[Question], answers: Answers, n: int, cases: int) -> Floats:
    """Joint log-density of all numbers, with up to `SLIPS` of them slips, (n, cases)."""
    if not questions:
        return np.zeros((n, cases))
    predictions = [question.shown for question in questions]
    names = tuple(dict.fromkeys(name for prediction in predictions for name in prediction.names))
    count = len(questions)
    steps = np.zeros((count, len(names), n))
    means, noise = np.zeros((count, n)), np.zeros((count, n))
    for i, (question, prediction) in enumerate(zip(questions, predictions, strict=True)):
        assert question.noise is not None
        unknown = np.isnan(prediction.mean)
        means[i] = prediction.mean
        # nothing drives it, so it may stand anywhere: a density of about `broad`
        noise[i] = np.where(unknown, 0.4 / question.broad, question.noise)
        for name, step in zip(prediction.names, prediction.steps, strict=True):
            steps[i, names.index(name)] = np.where(unknown, 0.0, step)
    values = np.stack([np.asarray(answer, dtype=float) for answer in answers])
    residuals = values[:, None] - means[:, :, None]
    residuals = np.where(np.isnan(residuals), 0.0, residuals)
    covariance = np.einsum("atn,btn->nab", steps, steps, optimize=True)
    covariance[:, np.arange(count), np.arange(count)] += (noise**2).T
    broad = np.array([question.broad for question in questions])
    parts = []
    for slips in range(min(count, SLIPS) + 1):
        for wrong in combinations(range(count), slips):
            right = [i for i in range(count) if i not in wrong]
            log = len(right) * np.log(1 - like.SLIP) + np.log(like.SLIP * broad[[*wrong]]).sum()
            if right:
                chosen = covariance[:, right][:, :, right]
                parts.append(log + like.joint_log_density(residuals[right], chosen))
            else:
                parts.append(np.full((n, cases), log))
    return np.asarray(np.logaddexp.reduce(parts, axis=0))
