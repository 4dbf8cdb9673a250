"""Words and numbers of one vehicle weighed together, since they share its tolerances.

Three words about a needle on one warm day are not three proofs of how warm it was. What all answers share
is averaged over: a few draws of the tolerances, spread evenly over their distribution and the same for every
cell, each of them moved to where the numbers that were read put it (conditioning by kriging: Journel and
Huijbregts, Mining Geostatistics, 1978; the formula from memory, checked by the tests).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np

from gaugesim.evidence import likelihood as like
from gaugesim.evidence.draws import DRAWS, drawn
from gaugesim.evidence.prediction import Prediction
from gaugesim.evidence.question import Answer, Question
from gaugesim.solve.network import Floats, Integers

# steps into which the range of a value is cut, to look its words up
STEPS = 512
# cases that are worked on at once: what fits a processor's cache
BLOCK = 25
# how many of a case's numbers may be slips at once
SLIPS = 2


@dataclass(frozen=True)
class Numbers:
    """Numbers that were asked for, as jointly normal in every cell.

    Attributes
    ----------
    names : tuple of str
        Shared variables.
    means, noise : ndarray, shape (numbers, cells)
        NaN where nothing drives a needle; standard deviation of each number by itself.
    steps : ndarray, shape (numbers, variables, cells)
    broad : ndarray, shape (numbers,)
        Density of each if nothing is known.
    """

    names: tuple[str, ...]
    means: Floats
    noise: Floats
    steps: Floats
    broad: Floats

    @classmethod
    def of(cls, questions: Sequence[Question]) -> Numbers:
        """Gather the questions that are answered by numbers.

        Parameters
        ----------
        questions : sequence of Question
            At least one.

        Returns
        -------
        Numbers
        """
        names = tuple(dict.fromkeys(name for question in questions for name in question.shown.names))
        shape = (len(questions), len(questions[0].shown.mean))
        means, noise, steps = np.zeros(shape), np.zeros(shape), np.zeros((shape[0], len(names), shape[1]))
        for i, question in enumerate(questions):
            assert question.noise is not None
            unknown = np.isnan(question.shown.mean)
            means[i] = question.shown.mean
            # nothing drives it, so it may stand anywhere: a density of about `broad`
            noise[i] = np.where(unknown, 0.4 / question.broad, question.noise)
            for name, step in zip(question.shown.names, question.shown.steps, strict=True):
                steps[i, names.index(name)] = np.where(unknown, 0.0, step)
        return cls(names, means, noise, steps, np.array([question.broad for question in questions]))

    @cached_property
    def covariance(self) -> Floats:
        """Of the numbers in every cell, shape (cells, numbers, numbers)."""
        result = np.einsum("atn,btn->nab", self.steps, self.steps, optimize=True)
        every = np.arange(len(self.means))
        result[:, every, every] += (self.noise**2).T
        return np.asarray(result)

    def residuals(self, values: Floats) -> Floats:
        """What was read less what is expected.

        Parameters
        ----------
        values : ndarray, shape (numbers, cases)
            In the units of the questions [1].

        Returns
        -------
        ndarray, shape (numbers, cells, cases)
            0 where a needle may stand anywhere.
        """
        return np.nan_to_num(values[:, None] - self.means[:, :, None])

    def pull(self, prediction: Prediction) -> tuple[Floats, Floats]:
        """How a value follows the numbers.

        Parameters
        ----------
        prediction : Prediction

        Returns
        -------
        gain : ndarray, shape (cells, numbers)
            Change of the expected value with each number.
        drawn : ndarray, shape (cells, DRAWS)
            That change for the numbers which the draws themselves would have given.
        """
        shared = np.zeros((len(self.means), len(prediction.mean)))
        for name, step in zip(prediction.names, prediction.steps, strict=True):
            if name in self.names:
                shared += self.steps[:, self.names.index(name)] * step
        gain = np.linalg.solve(self.covariance, shared.T[..., None])[..., 0]
        own = np.einsum("atn,tm->anm", self.steps, self._draws, optimize=True)
        own += self.noise[:, :, None] * drawn([f"reading {i}" for i in range(len(self.means))])[:, None]
        return np.asarray(gain, dtype=float), np.asarray(np.einsum("na,anm->nm", gain, own))

    @cached_property
    def _draws(self) -> Floats:
        return drawn(self.names)


def log_numbers(numbers: Numbers, values: Floats) -> tuple[Floats, Floats]:
    """Joint density of all numbers.

    Parameters
    ----------
    numbers : Numbers
    values : ndarray, shape (numbers, cases)
        In the units of their questions [1].

    Returns
    -------
    sound, slipped : ndarray, shape (cells, cases)
        Natural logarithms: with no slip among them, and with some or all.
    """
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


def log_words(questions: Sequence[Question], answers: Sequence[Integers]) -> Floats:
    """Likelihood of the words for several values together.

    Parameters
    ----------
    questions : sequence of Question
        Each with a value behind it; at least one.
    answers : sequence of ndarray of int, each of shape (cases,)

    Returns
    -------
    ndarray, shape (cells, cases)
        Natural logarithms.
    """
    # many cases have the same words
    unique, which = np.unique(np.stack(answers), axis=1, return_inverse=True)
    tables = [_Looked(question).drawn for question in questions]
    result = np.empty((len(tables[0]), unique.shape[1]))
    for k, words in enumerate(unique.T):
        total = np.zeros(tables[0].shape[:2])
        for table, word in zip(tables, words, strict=True):
            total += table[:, :, word]
        result[:, k] = log_mean(total, axis=1)
    return result[:, which.reshape(-1)]


def log_words_given(
    questions: Sequence[Question], answers: Sequence[Integers], numbers: Numbers, values: Floats
) -> Floats:
    """Likelihood of the words for several values together, given the numbers that were read.

    Parameters
    ----------
    questions, answers
        As for `log_words`.
    numbers : Numbers
    values : ndarray, shape (numbers, cases)
        In the units of their questions [1].

    Returns
    -------
    ndarray, shape (cells, cases)
        Natural logarithms.
    """
    looked = [_Looked(question, numbers) for question in questions]
    cases = values.shape[1]
    result = np.empty((len(numbers.means[0]), cases))
    for start in range(0, cases, BLOCK):
        block = slice(start, min(start + BLOCK, cases))
        residuals = numbers.residuals(values[:, block])
        total = sum(
            entry.given(residuals, answer[block]) for entry, answer in zip(looked, answers, strict=True)
        )
        result[:, block] = log_mean(np.asarray(total), axis=1)
    return result


def log_words_drawn(
    asked: Sequence[tuple[Question, Answer]],
    cases: int,
    numbers: Numbers | None = None,
    values: Floats | None = None,
) -> Floats:
    """Likelihood of words about the first cell for each draw of the tolerances.

    Parameters
    ----------
    asked : sequence of (Question, ndarray of int of shape (cases,))
        Questions with a value behind them, and the answers.
    cases : int
    numbers, values : optional
        The numbers that were read, as for `log_words_given`.

    Returns
    -------
    ndarray, shape (DRAWS, cases)
        Natural logarithms; of shape (0,) if nothing was asked.
    """
    if not asked:
        return np.zeros(0)
    total = np.zeros((DRAWS, cases))
    for question, given in asked:
        answer = np.asarray(given, dtype=np.intp)
        looked = _Looked(question, numbers)
        if numbers is None or values is None:
            total += looked.drawn[0][:, answer]
        else:
            total += looked.given(numbers.residuals(values), answer)[0]
    return total


def log_mean(values: Floats, axis: int) -> Floats:
    """Logarithm of a mean.

    Parameters
    ----------
    values : ndarray
        Natural logarithms [1].
    axis : int

    Returns
    -------
    ndarray

    Examples
    --------
    >>> float(np.exp(log_mean(np.log([0.2, 0.4]), axis=0)).round(9))
    0.3
    """
    top = values.max(axis=axis, keepdims=True)
    mean = np.log(np.exp(values - top).mean(axis=axis, keepdims=True)) + top
    return np.asarray(mean.squeeze(axis))


class _Looked:
    """The words for a value: their probabilities looked up for draws of it, slips included."""

    def __init__(self, question: Question, numbers: Numbers | None = None) -> None:
        self.question = question
        self.parts = question.shown.parts or ((1.0, question.shown),)
        self.values = [part.own_draws() for _, part in self.parts]
        self.undriven = np.isnan(sum(self.values))
        self.values = [np.nan_to_num(values) for values in self.values]
        self.gains: list[Floats] = []
        if numbers is not None:
            for i, (_, part) in enumerate(self.parts):
                gain, drawn = numbers.pull(part)
                self.values[i] = self.values[i] - drawn
                self.gains.append(gain)
        # ends of what is looked up: what lies beyond is called as they are
        mean, wide = np.nan_to_num(question.shown.mean), 4 * question.shown.deviation
        drawn = np.nan_to_num(question.shown.in_draws())
        self.low = min(float((mean - wide).min()), float(drawn.min()))
        high = max(float((mean + wide).max()), float(drawn.max()))
        self.step = max(high - self.low, 1e-6) / (STEPS - 1)
        self.curves = [self._curve(False)]
        if np.any(question.shown.pulses):
            self.curves.append(self._curve(True))

    def _curve(self, pulses: bool) -> Floats:
        """Logarithm of the probability of each class along the range of the value, (STEPS, classes)."""
        assert self.question.tabulate is not None
        along = self.low + self.step * np.arange(STEPS, dtype=float)
        shown = Prediction(along, (), np.zeros((0, STEPS)), np.full(STEPS, pulses))
        return self._log(self.question.tabulate(shown))

    @cached_property
    def _log_undriven(self) -> Floats:
        """Logarithm of the probability of each class where nothing drives the needle, (classes,)."""
        assert self.question.tabulate is not None
        nowhere = Prediction(np.array([np.nan]), (), np.zeros((0, 1)), np.zeros(1, dtype=bool))
        return np.asarray(self._log(self.question.tabulate(nowhere))[0])

    def _log(self, table: Floats) -> Floats:
        return np.asarray(np.log((1 - like.SLIP) * table + like.SLIP * self.question.broad))

    def _places(self, values: Sequence[Floats]) -> Integers:
        """Where values lie on the curves."""
        total: Floats = np.zeros_like(values[0])
        for entry, (sign, part) in zip(values, self.parts, strict=True):
            total += sign * np.clip(entry, *part.bounds)
        total -= self.low - 0.5 * self.step
        total /= self.step
        return np.asarray(np.clip(total, 0, STEPS - 1), dtype=np.intp)

    @property
    def drawn(self) -> Floats:
        """Logarithm of the probability of each class, (cells, DRAWS, classes)."""
        places = self._places(self.values)
        found = self.curves[0][places]
        if len(self.curves) > 1:
            pulses = self.question.shown.pulses
            found[pulses] = self.curves[1][places[pulses]]
        if np.any(self.undriven):
            found[self.undriven] = self._log_undriven
        return found

    def given(self, residuals: Floats, answer: Integers) -> Floats:
        """Logarithm of the probability of each case's answer, (cells, DRAWS, cases)."""
        moved = [
            values[:, :, None] + np.einsum("na,anc->nc", gain, residuals)[:, None]
            for values, gain in zip(self.values, self.gains, strict=True)
        ]
        places = self._places(moved)
        every = np.arange(len(answer))
        found = self.curves[0][:, answer][places, every]
        if len(self.curves) > 1:
            pulses = self.question.shown.pulses
            found[pulses] = self.curves[1][:, answer][places[pulses], every]
        if np.any(self.undriven):
            found[self.undriven] = self._log_undriven[answer]
        return found
