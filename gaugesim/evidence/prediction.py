"""What every row of a batch shows of one quantity, and how it moves with what answers share."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from gaugesim.evidence.draws import drawn
from gaugesim.solve.network import Floats, Integers

# a needle that is off its straight line by more than this share of the scale in any draw is followed there
BENT = 0.02
# and one that is read as a number, by how much in which share of the draws
BENT_READ, OFTEN_BENT = 0.04, 1 / 16


@dataclass(frozen=True)
class Prediction:
    """What every cell shows of one quantity.

    Attributes
    ----------
    mean : ndarray, shape (cells,)
        NaN where a needle is not driven.
    names : tuple of str
        Shared variables.
    steps : ndarray, shape (variables, cells)
        Change with one deviation of each.
    pulses : ndarray of bool, shape (cells,)
    bounds : (float, float)
        What it cannot pass: a needle's stops.
    parts : tuple of (float, Prediction)
        What it is the sum of, each with its factor; empty for one that is measured as it is.
    drawn : ndarray, shape (DRAWS, cells), or None
        Its value in each draw of the first ``counted`` variables, where that is no matter of first order.
    counted : int
        How many that are.
    """

    mean: Floats
    names: tuple[str, ...]
    steps: Floats
    pulses: np.ndarray
    bounds: tuple[float, float] = (-np.inf, np.inf)
    parts: tuple[tuple[float, Prediction], ...] = ()
    drawn: Floats | None = None
    counted: int = 0

    @cached_property
    def deviation(self) -> Floats:
        """Standard deviation of each cell's value."""
        return np.asarray(np.sqrt((self.steps**2).sum(axis=0)))

    def own_draws(self) -> Floats:
        """Its value in every draw of the variables, whatever its bounds, shape (cells, DRAWS)."""
        if self.drawn is None:
            return self.mean[:, None] + self.steps.T @ drawn(self.names)
        return np.asarray(self.drawn.T + self.steps[self.counted :].T @ drawn(self.names[self.counted :]))

    def in_draws(self) -> Floats:
        """Its value in every draw of the variables; NaN where nothing drives a needle, (cells, DRAWS)."""
        parts = self.parts or ((1.0, self),)
        return np.asarray(sum(factor * np.clip(part.own_draws(), *part.bounds) for factor, part in parts))

    def bent(self, limit: float = BENT, share: float = 0.0) -> Integers:
        """Rows whose value is no matter of first order: a stop, friction or a turn of the field is near.

        Parameters
        ----------
        limit : float, optional
            By how much it is off its straight line [1].
        share : float, optional
            In more than which share of the draws [1].

        Returns
        -------
        ndarray of int
        """
        parts = self.parts or ((1.0, self),)
        if all(part.drawn is None for _, part in parts):
            return np.zeros(0, dtype=np.intp)
        straight = [replace(part, drawn=None) for _, part in parts]
        off = [part.own_draws() - line.own_draws() for (_, part), line in zip(parts, straight, strict=True)]
        # where nothing drives a needle in some draw, and where nothing does at first sight
        odd = np.isnan(np.stack(off)) != np.isnan(self.mean)[:, None]
        far = np.abs(np.nan_to_num(np.stack(off))) > limit
        return np.flatnonzero((odd | far).any(axis=0).mean(axis=1) > share)

    def take(self, rows: Integers) -> Prediction:
        """The same for other rows.

        Parameters
        ----------
        rows : ndarray of int

        Returns
        -------
        Prediction
        """
        return replace(
            self,
            mean=self.mean[rows],
            steps=self.steps[:, rows],
            pulses=self.pulses[rows],
            parts=tuple((factor, part.take(rows)) for factor, part in self.parts),
            drawn=None if self.drawn is None else self.drawn[:, rows],
        )

    def put(self, rows: Integers, other: Prediction) -> Prediction:
        """The same with some rows out of another prediction of the same quantity.

        Parameters
        ----------
        rows : ndarray of int
        other : Prediction
            Of those rows.

        Returns
        -------
        Prediction
        """
        whole = self.take(np.arange(len(self.mean)))
        pairs = [(whole.mean, other.mean), (whole.steps, other.steps), (whole.pulses, other.pulses)]
        if whole.drawn is not None and other.drawn is not None:
            pairs.append((whole.drawn, other.drawn))
        for array, new in pairs:
            array[..., rows] = new
        return whole

    def minus(self, other: Prediction) -> Prediction:
        """The difference of two quantities, which share variables.

        Parameters
        ----------
        other : Prediction

        Returns
        -------
        Prediction
        """
        names = tuple(dict.fromkeys([*self.names, *other.names]))
        steps = np.zeros((len(names), len(self.mean)))
        for sign, part in ((1.0, self), (-1.0, other)):
            for name, step in zip(part.names, part.steps, strict=True):
                steps[names.index(name)] += sign * step
        return Prediction(
            self.mean - other.mean,
            names,
            steps,
            self.pulses | other.pulses,
            parts=((1.0, self), (-1.0, other)),
        )
