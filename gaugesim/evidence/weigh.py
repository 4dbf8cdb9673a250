"""Likelihood of many cases at once, that were all asked the same questions, in every cell of a circuit."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from gaugesim.evidence import likelihood as like
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.joint import Numbers, log_words, log_words_given
from gaugesim.evidence.question import Question
from gaugesim.solve.network import Floats, Integers

# how much of "none of these" is sheer surprise, against what this circuit's faults show on average
SURPRISE = 0.2
# how many of a case's numbers may be slips at once
SLIPS = 2

Answers = Sequence[Integers | Floats]


def log_likelihoods(cells: Cells, questions: Sequence[Question], answers: Answers) -> Floats:
    """Likelihood of all answers together.

    Answers that share tolerances are weighed jointly, so that three readings of one low battery count as one
    low battery, and three words about one warm day as one warm day; each may be a slip. An intermittent fault
    acts in each entry of a case or not, with one unknown duty for all.

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
    total = np.zeros((len(cells.fault), cases))
    for question, answer in zip(questions, answers, strict=True):
        if question.classes and question.tabulate is None:
            total += np.log(question.slipped)[:, answer]
    worded = [k for k, question in enumerate(questions) if question.tabulate is not None]
    words = [questions[k] for k in worded], [np.asarray(answers[k], dtype=np.intp) for k in worded]
    numbered = [k for k, question in enumerate(questions) if question.is_number]
    alone = log_words(*words) if worded else np.zeros_like(total)
    if numbered:
        numbers = Numbers.of([questions[k] for k in numbered])
        values = np.stack([np.asarray(answers[k], dtype=float) for k in numbered])
        sound, slipped = _log_numbers(numbers, values)
        given = log_words_given(*words, numbers, values) if worded else alone
        # a slip says nothing of the tolerances
        total += np.logaddexp(sound + given, slipped + alone)
    else:
        total += alone
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


def log_none(
    cells: Cells, questions: Sequence[Question], answers: Answers, weight: Floats | None = None
) -> Floats:
    """Likelihood if none of the modelled faults is there: what they show on average, and less.

    Parameters
    ----------
    cells : Cells
    questions, answers
        As for `log_likelihoods`.
    weight : ndarray, shape (cells,), optional
        Prior probability of each cell, if not that of the cells [1].

    Returns
    -------
    ndarray, shape (cases,)
        Natural logarithms.
    """
    total = np.zeros(len(answers[0]) if answers else 1)
    weight = cells.weight if weight is None else weight
    for question, answer in zip(questions, answers, strict=True):
        usual = weight @ marginal(cells, question, answer)
        total += np.log((1 - SURPRISE) * usual + SURPRISE * question.broad)
    return total


def _log_numbers(numbers: Numbers, values: Floats) -> tuple[Floats, Floats]:
    """Joint log-density of all numbers, (cells, cases): with no slip among them, and with some or all."""
    residuals = numbers.residuals(values)
    count = len(values)
    wrong = [
        set(some) for slips in range(min(count, SLIPS + 1)) for some in combinations(range(count), slips)
    ]
    parts = []
    for slips in (*wrong, set(range(count))):
        right = [i for i in range(count) if i not in slips]
        log = len(right) * np.log(1 - like.SLIP) + np.log(like.SLIP * numbers.broad[[*slips]]).sum()
        if right:
            chosen = numbers.covariance[:, right][:, :, right]
            parts.append(log + like.joint_log_density(residuals[right], chosen))
        else:
            parts.append(np.full(residuals.shape[1:], log))
    return parts[0], np.asarray(np.logaddexp.reduce(parts[1:], axis=0))
