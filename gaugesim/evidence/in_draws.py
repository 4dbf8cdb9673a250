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
from copy import copy

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.joint import Numbers
from gaugesim.evidence.observable import Answer, Observable
from gaugesim.evidence.prediction import Prediction
from gaugesim.evidence.shared_draws import DRAWS

# steps into which the range of a value is cut, to look its words up
STEPS = 512
# cases that are worked on at once: what fits a processor's cache
BLOCK = 12


class AnswersInDraws:
    """Observables that are looked at draw by draw, with their answers.

    Parameters
    ----------
    asked : sequence of (Observable, ndarray of shape (cases,))
        At least one: words for a value, and numbers, which are looked at only where they are `followed` and
        compared with what they would be if nothing were known.
    """

    def __init__(self, asked: Sequence[tuple[Observable, Answer]]) -> None:
        self._entries = [
            _ReadNumber(observable) if observable.is_number else _Looked(observable)
            for observable, _ in asked
        ]
        self._answers = [answer for _, answer in asked]
        self._cells = len(asked[0][0].shown.mean)

    def log_likelihoods(
        self, cases: int, numbers: Numbers | None = None, values: Floats | None = None
    ) -> Floats:
        """Likelihood of the answers for each draw of the tolerances.

        Parameters
        ----------
        numbers : Numbers, optional
            What was read besides, which moves every draw.
        values : ndarray, shape (numbers, cases), optional
            In the units of their observables [1].

        Returns
        -------
        ndarray, shape (cells, DRAWS, cases)
            Natural logarithms.
        """
        residuals = None if numbers is None or values is None else numbers.residuals(values)
        return _total(self._moved(numbers), self._answers, residuals, (self._cells, DRAWS, cases))

    def log_means(self, cases: int, numbers: Numbers | None = None, values: Floats | None = None) -> Floats:
        """Likelihood of the answers together, their tolerances averaged over.

        Parameters
        ----------
        cases, numbers, values
            As for `log_likelihoods`.

        Returns
        -------
        ndarray, shape (cells, cases)
            Natural logarithms.
        """
        moved = self._moved(numbers)
        result = np.empty((self._cells, cases))
        for start in range(0, cases, BLOCK):
            block = slice(start, min(start + BLOCK, cases))
            residuals = None if numbers is None or values is None else numbers.residuals(values[:, block])
            some = [answer[block] for answer in self._answers]
            shape = self._cells, DRAWS, block.stop - start
            result[:, block] = log_mean(_total(moved, some, residuals, shape), axis=1)
        return result

    def log_words(self) -> Floats:
        """Likelihood of words alone, nothing having been read besides: many cases have the same words.

        Returns
        -------
        ndarray, shape (cells, cases)
            Natural logarithms.
        """
        answers = [np.asarray(answer, dtype=np.intp).tolist() for answer in self._answers]
        number: dict[tuple[int, ...], int] = {}
        which = [number.setdefault(words, len(number)) for words in zip(*answers, strict=True)]
        used = [sorted({*answer}) for answer in answers]
        tables = [
            entry.given(None, np.array(classes)) for entry, classes in zip(self._entries, used, strict=True)
        ]
        result = np.empty((self._cells, len(number)))
        for words, k in number.items():
            total = np.zeros(tables[0].shape[:2])
            for table, classes, word in zip(tables, used, words, strict=True):
                total += table[:, :, classes.index(word)]
            result[:, k] = log_mean(total, axis=1)
        return result[:, which]

    def _moved(self, numbers: Numbers | None) -> list[_ReadNumber | _Looked]:
        return self._entries if numbers is None else [entry.moved(numbers) for entry in self._entries]


def _total(
    opened: Sequence[_ReadNumber | _Looked],
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

    Examples
    --------
    >>> float(np.exp(log_mean(np.log([0.2, 0.4]), axis=0)).round(9))
    0.3
    """
    top = values.max(axis=axis, keepdims=True)
    mean = np.log(np.exp(values - top).mean(axis=axis, keepdims=True)) + top
    return np.asarray(mean.squeeze(axis))


class _Drawn:
    """Draws of a value, which numbers that were read may have moved."""

    def __init__(self, shown: Prediction) -> None:
        self.parts = shown.parts or ((1.0, shown),)
        self.values = [part.own_draws() for _, part in self.parts]
        self.gains: list[Floats] = []

    def moved(self, numbers: Numbers) -> _Drawn:
        """The same, each draw where the numbers put it; what was read comes in `given`."""
        moved = copy(self)
        pulls = [numbers.pull(part) for _, part in self.parts]
        moved.gains = [gain for gain, _ in pulls]
        moved.values = [values - drawn for values, (_, drawn) in zip(self.values, pulls, strict=True)]
        return moved

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
        for summand in summands[1:]:
            total += summand
        return total


class _ReadNumber:
    """A number in the rows where it is followed: its density, against that if nothing is known."""

    def __init__(self, observable: Observable) -> None:
        self.rows = rows = observable.followed
        assert observable.noise is not None
        self.noise, self.broad = observable.noise[rows, None, None], observable.broad
        self.values = _Drawn(observable.shown.take(rows))

    def moved(self, numbers: Numbers) -> _ReadNumber:
        """The same where numbers have been read besides."""
        moved = copy(self)
        moved.values = self.values.moved(numbers.take(self.rows))
        return moved

    def given(self, residuals: Floats | None, read: Answer) -> Floats:
        """Logarithm of the density of what was read in each case, slips included, (rows, DRAWS, cases)."""
        near = like.density(read, self.values.given(residuals), self.noise) / self.broad
        return np.asarray(np.log((1 - like.SLIP) * near + like.SLIP))


class _Looked:
    """The words for a value: their probabilities looked up for draws of it, slips included."""

    def __init__(self, observable: Observable) -> None:
        self.observable, self.rows = observable, slice(None)
        self.values = _Drawn(observable.shown)
        # ends of what is looked up: what lies beyond is called as they are
        mean, wide = np.nan_to_num(observable.shown.mean), 4 * observable.shown.deviation
        drawn = self.values.given(None)[..., 0]
        self.low = min(float((mean - wide).min()), float(drawn.min()))
        high = max(float((mean + wide).max()), float(drawn.max()))
        self.step = max(high - self.low, 1e-6) / (STEPS - 1)
        self.curves = [self._curve(False)]
        if np.any(observable.shown.pulses):
            self.curves.append(self._curve(True))

    def moved(self, numbers: Numbers) -> _Looked:
        """The same where numbers have been read besides."""
        moved = copy(self)
        moved.values = self.values.moved(numbers)
        return moved

    def _curve(self, pulses: bool) -> Floats:
        """Logarithm of the probability of each class along the range of the value, (STEPS, classes)."""
        assert self.observable.tabulate is not None
        along = self.low + self.step * np.arange(STEPS, dtype=float)
        shown = Prediction(along, (), np.zeros((0, STEPS)), np.full(STEPS, pulses))
        return self._log(self.observable.tabulate(shown))

    def _log(self, table: Floats) -> Floats:
        slip = self.observable.statement.slip
        return np.asarray(np.log((1 - slip) * table + slip * self.observable.broad))

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
        log_likelihood = self.curves[0][:, answer].ravel().take(places)
        if len(self.curves) > 1:
            pulses = self.observable.shown.pulses
            log_likelihood[pulses] = self.curves[1][:, answer].ravel().take(places[pulses])
        return log_likelihood
