"""Words, and what no straight line describes, in draws of the tolerances that all of a vehicle shares.

Three words about a needle on one warm day are not three proofs of how warm it was. What all answers share
is averaged over: a few draws of the tolerances, spread evenly over their distribution and the same for every
cell, each of them moved to where the numbers that were read put it (conditioning by kriging: Journel and
Huijbregts, Mining Geostatistics, 1978; the formula from memory, checked by the tests). A needle that a stop
holds, that nothing drives in some of the draws or that turns round in others is looked at in each of them,
even if it was read as a number.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from gaugesim.evidence import likelihood as like
from gaugesim.evidence.draws import DRAWS
from gaugesim.evidence.joint import Numbers
from gaugesim.evidence.prediction import Prediction
from gaugesim.evidence.question import Answer, Question
from gaugesim.solve.network import Floats

# steps into which the range of a value is cut, to look its words up
STEPS = 512
# cases that are worked on at once: what fits a processor's cache
BLOCK = 12


def log_words(asked: Sequence[tuple[Question, Answer]]) -> Floats:
    """Likelihood of the words for several values together.

    Parameters
    ----------
    asked : sequence of (Question, ndarray of int of shape (cases,))
        Each with a value behind it; at least one.

    Returns
    -------
    ndarray, shape (cells, cases)
        Natural logarithms.
    """
    # many cases have the same words
    answers = zip(*(np.asarray(answer, dtype=np.intp).tolist() for _, answer in asked), strict=True)
    number: dict[tuple[int, ...], int] = {}
    which = [number.setdefault(words, len(number)) for words in answers]
    tables = [_Looked(question).drawn for question, _ in asked]
    result = np.empty((len(tables[0]), len(number)))
    for words, k in number.items():
        total = np.zeros(tables[0].shape[:2])
        for table, word in zip(tables, words, strict=True):
            total += table[:, :, word]
        result[:, k] = log_mean(total, axis=1)
    return result[:, which]


def log_in_draws(
    asked: Sequence[tuple[Question, Answer]],
    cases: int,
    numbers: Numbers | None = None,
    values: Floats | None = None,
) -> Floats:
    """Likelihood of answers for each draw of the tolerances.

    Parameters
    ----------
    asked : sequence of (Question, ndarray of shape (cases,))
        At least one: words for a value, and numbers, which are looked at only where they are `followed` and
        compared with what they would be if nothing were known.
    cases : int
    numbers : Numbers, optional
        What was read besides, which moves every draw.
    values : ndarray, shape (numbers, cases), optional
        In the units of their questions [1].

    Returns
    -------
    ndarray, shape (cells, DRAWS, cases)
        Natural logarithms.
    """
    shape = len(asked[0][0].shown.mean), DRAWS, cases
    residuals = None if numbers is None or values is None else numbers.residuals(values)
    return _total(_opened(asked, numbers), [answer for _, answer in asked], residuals, shape)


def log_words_given(
    asked: Sequence[tuple[Question, Answer]],
    cases: int,
    numbers: Numbers | None = None,
    values: Floats | None = None,
) -> Floats:
    """Likelihood of answers together, their tolerances averaged over.

    Parameters
    ----------
    asked, cases, numbers, values
        As for `log_in_draws`.

    Returns
    -------
    ndarray, shape (cells, cases)
        Natural logarithms.
    """
    opened = _opened(asked, numbers)
    result = np.empty((len(asked[0][0].shown.mean), cases))
    for start in range(0, cases, BLOCK):
        block = slice(start, min(start + BLOCK, cases))
        residuals = None if numbers is None or values is None else numbers.residuals(values[:, block])
        some = [answer[block] for _, answer in asked]
        shape = len(result), DRAWS, block.stop - start
        result[:, block] = log_mean(_total(opened, some, residuals, shape), axis=1)
    return result


def _opened(asked: Sequence[tuple[Question, Answer]], numbers: Numbers | None) -> list[_Read | _Looked]:
    return [
        _Read(question, numbers) if question.is_number else _Looked(question, numbers)
        for question, _ in asked
    ]


def _total(
    opened: Sequence[_Read | _Looked],
    answers: Sequence[Answer],
    residuals: Floats | None,
    shape: tuple[int, int, int],
) -> Floats:
    """Sum over all answers, (cells, DRAWS, cases)."""
    total = np.zeros(shape)
    for entry, answer in zip(opened, answers, strict=True):
        near = residuals if residuals is None else residuals[:, entry.rows]
        total[entry.rows] += entry.given(near, answer)
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


class _Drawn:
    """Draws of a value, each moved to where the numbers that were read put it."""

    def __init__(self, shown: Prediction, numbers: Numbers | None) -> None:
        self.parts = shown.parts or ((1.0, shown),)
        self.values = [part.own_draws() for _, part in self.parts]
        self.undriven = np.isnan(sum(self.values))
        self.values = [np.nan_to_num(values) for values in self.values]
        self.gains: list[Floats] = []
        if numbers is not None:
            for i, (_, part) in enumerate(self.parts):
                gain, drawn = numbers.pull(part)
                self.values[i] = self.values[i] - drawn
                self.gains.append(gain)

    def given(self, residuals: Floats | None) -> Floats:
        """The value in each draw and case, shape (cells, DRAWS, cases), or (..., 1) if nothing was read."""
        summands = []
        for i, (values, (factor, part)) in enumerate(zip(self.values, self.parts, strict=True)):
            shift = 0.0
            if residuals is not None:
                shift = np.einsum("na,anc->nc", self.gains[i], residuals)[:, None]
            moved = values[:, :, None] + shift
            if np.isfinite(part.bounds).any():
                np.clip(moved, *part.bounds, out=moved)
            summands.append(moved if factor == 1.0 else factor * moved)
        total: Floats = summands[0]
        for one in summands[1:]:
            total += one
        return total


class _Read:
    """A number in the rows where it is followed: its density, against that if nothing is known."""

    def __init__(self, question: Question, numbers: Numbers | None) -> None:
        self.rows = rows = question.followed
        assert question.noise is not None
        self.noise, self.broad = question.noise[rows, None, None], question.broad
        self.drawn = _Drawn(question.shown.take(rows), None if numbers is None else numbers.take(rows))

    def given(self, residuals: Floats | None, read: Answer) -> Floats:
        """Logarithm of the density of what was read in each case, slips included, (rows, DRAWS, cases)."""
        near = like.density(read, self.drawn.given(residuals), self.noise) / self.broad
        near = np.where(self.drawn.undriven[..., None], 1.0, near)
        return np.asarray(np.log((1 - like.SLIP) * near + like.SLIP))


class _Looked:
    """The words for a value: their probabilities looked up for draws of it, slips included."""

    def __init__(self, question: Question, numbers: Numbers | None = None) -> None:
        self.question, self.rows = question, slice(None)
        self.values = _Drawn(question.shown, numbers)
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

    @property
    def drawn(self) -> Floats:
        """Logarithm of the probability of each class, (cells, DRAWS, classes)."""
        every = np.arange(len(self.question.classes))
        return self.given(None, every)

    def given(self, residuals: Floats | None, answer: Answer) -> Floats:
        """Logarithm of the probability of each case's answer, (cells, DRAWS, cases)."""
        along = self.values.given(residuals)
        along -= self.low - 0.5 * self.step
        along /= self.step
        answer = np.asarray(answer, dtype=np.intp)
        # one flat index for step and case, which is looked up quickest
        places = np.clip(along, 0, STEPS - 1, out=along).astype(np.intp)
        every = np.arange(len(answer))
        places = places * len(answer) + every
        found = self.curves[0][:, answer].ravel().take(places)
        if len(self.curves) > 1:
            pulses = self.question.shown.pulses
            found[pulses] = self.curves[1][:, answer].ravel().take(places[pulses])
        if np.any(self.values.undriven):
            found[self.values.undriven] = self._log_undriven[answer]
        return found
