"""Numbers of one vehicle weighed together, as they share its tolerances: three low volts, one battery."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.observable import Observable
from gaugesim.evidence.prediction import Prediction
from gaugesim.evidence.shared_draws import drawn
from gaugesim.solve.network import Integers

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
    def of(cls, observables: Sequence[Observable], straight: bool = False) -> Numbers:
        """Gather the observables that are answered by numbers.

        Parameters
        ----------
        observables : sequence of Observable
            At least one.
        straight : bool, optional
            Whether those count as normal too that no straight line describes. If not, they say nothing here.
        """
        names = tuple(dict.fromkeys(name for observable in observables for name in observable.shown.names))
        shape = (len(observables), len(observables[0].shown.mean))
        means, noise, steps = np.zeros(shape), np.zeros(shape), np.zeros((shape[0], len(names), shape[1]))
        for i, observable in enumerate(observables):
            assert observable.noise is not None
            means[i] = observable.shown.mean
            if not straight:
                means[i, observable.followed] = np.nan
            unknown = np.isnan(means[i])
            # nothing drives it, so it may stand anywhere: a density of about `broad`
            noise[i] = np.where(unknown, 0.4 / observable.broad, observable.noise)
            for name, step in zip(observable.shown.names, observable.shown.steps, strict=True):
                steps[i, names.index(name)] = np.where(unknown, 0.0, step)
        return cls(names, means, noise, steps, np.array([observable.broad for observable in observables]))

    def take(self, rows: Integers) -> Numbers:
        """The same for other cells."""
        return replace(
            self, means=self.means[:, rows], noise=self.noise[:, rows], steps=self.steps[:, :, rows]
        )

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
            In the units of the observables [1].

        Returns
        -------
        ndarray, shape (numbers, cells, cases)
            0 where a needle may stand anywhere.
        """
        return np.nan_to_num(values[:, None] - self.means[:, :, None])

    def pull(self, prediction: Prediction) -> tuple[Floats, Floats]:
        """How a value follows the numbers.

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
    values : ndarray, shape (numbers, cases)
        In the units of their observables [1].

    Returns
    -------
    sound, slipped : ndarray, shape (cells, cases)
        Natural logarithms: with no slip among them, and with some or all.
    """
    count = len(values)
    distances = Distances(numbers, values)
    parts = []
    for slips in range(min(count, SLIPS + 1)):
        for wrong in combinations(range(count), slips):
            square, log_volume = distances.without(wrong)
            log = (count - slips) * np.log((1 - like.SLIP) / np.sqrt(2 * np.pi))
            log += np.log(like.SLIP * numbers.broad[[*wrong]]).sum()
            parts.append(log - log_volume[:, None] - 0.5 * square)
    # all of them wrong
    parts.append(np.full_like(parts[0], np.log(like.SLIP * numbers.broad).sum()))
    return parts[0], np.asarray(np.logaddexp.reduce(parts[1:], axis=0))


class Distances:
    """How far numbers are from what every cell expects, whichever of them are left out.

    Leaving some out is a small correction of what all together come to, from a block of the inverse matrix
    (Schur's complement).

    Parameters
    ----------
    values : ndarray, shape (numbers, cases)
        In the units of their observables [1].
    known : ndarray of bool, shape (numbers, cases), optional
        Which of the values count; all if left out.
    """

    def __init__(self, numbers: Numbers, values: Floats, measured: np.ndarray | None = None) -> None:
        residuals = numbers.residuals(values)
        if measured is not None:
            residuals = residuals * measured[:, None]
        self._precision = np.linalg.inv(numbers.covariance)
        self._log_volume = 0.5 * np.linalg.slogdet(numbers.covariance)[1]
        self._pulled = np.moveaxis(self._precision @ np.moveaxis(residuals, 0, 1), 1, 0)
        self._whole = (residuals * self._pulled).sum(axis=0)

    def without(self, some: Sequence[int]) -> tuple[Floats, Floats]:
        """Leave some of the numbers out.

        Returns
        -------
        square : ndarray, shape (cells, cases)
            Squared Mahalanobis distance of the others.
        log_volume : ndarray, shape (cells,)
            Logarithm of the square root of their covariance's determinant.
        """
        if not some:
            return self._whole, self._log_volume
        index = np.array(some)
        block = self._precision[:, index][:, :, index]
        pulled = np.moveaxis(self._pulled[index], 0, 1)
        correction = (pulled * np.linalg.solve(block, pulled)).sum(axis=1)
        # rounding must not make a distance negative
        square = np.maximum(self._whole - correction, 0.0)
        return square, self._log_volume + 0.5 * np.linalg.slogdet(block)[1]
