"""What every row of a batch shows of one quantity, and how it moves with what answers share."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.evidence.shared_draws import drawn
from gaugesim.solve.network import Integers

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
    rest : ndarray, shape (DRAWS,) or (DRAWS, cells), or None
        Its value in each draw where ``mean`` is NaN: where a needle that nothing drives has come to lie, one
        place for all that is told of a vehicle; or what a probe shows that was held on one side of a bad
        joint or on the other.
    """

    mean: Floats
    names: tuple[str, ...]
    steps: Floats
    pulses: np.ndarray
    bounds: tuple[float, float] = (-np.inf, np.inf)
    parts: tuple[tuple[float, Prediction], ...] = ()
    drawn: Floats | None = None
    counted: int = 0
    rest: Floats | None = None

    @cached_property
    def deviation(self) -> Floats:
        """Standard deviation of each cell's value."""
        return np.asarray(np.sqrt((self.steps**2).sum(axis=0)))

    @property
    def middle(self) -> Floats:
        """Each cell's mean, over the draws where it has none of its own."""
        if self.rest is None:
            return self.mean
        return np.where(np.isnan(self.mean), self.rest.mean(axis=0), self.mean)

    def also(self, name: str, steps: Floats) -> Prediction:
        """The same, moved by one more variable.

        Parameters
        ----------
        steps : ndarray, shape (cells,)
            Change with one deviation of it, in the unit of the quantity.
        """
        return replace(self, names=(*self.names, name), steps=np.concatenate([self.steps, steps[None]]))

    def own_draws(self) -> Floats:
        """Its value in every draw of the variables, whatever its bounds, shape (cells, DRAWS)."""
        if self.drawn is None:
            values = self.mean[:, None] + self.steps.T @ drawn(self.names)
        else:
            values = self.drawn.T + self.steps[self.counted :].T @ drawn(self.names[self.counted :])
        return np.asarray(values if self.rest is None else np.where(np.isnan(values), self.rest.T, values))

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
        """
        parts = self.parts or ((1.0, self),)
        undriven = np.any([np.isnan(part.mean) for _, part in parts], axis=0)
        if all(part.drawn is None for _, part in parts):
            return np.flatnonzero(undriven)
        straight = [replace(part, drawn=None) for _, part in parts]
        off = [part.own_draws() - line.own_draws() for (_, part), line in zip(parts, straight, strict=True)]
        far = np.abs(np.stack(off)) > limit
        return np.flatnonzero(undriven | (far.any(axis=0).mean(axis=1) > share))

    def take(self, rows: Integers) -> Prediction:
        """The same for other rows."""
        return replace(
            self,
            mean=self.mean[rows],
            steps=self.steps[:, rows],
            pulses=self.pulses[rows],
            parts=tuple((factor, part.take(rows)) for factor, part in self.parts),
            drawn=None if self.drawn is None else self.drawn[:, rows],
            rest=self.rest[:, rows] if self.rest is not None and self.rest.ndim > 1 else self.rest,
        )

    def put(self, rows: Integers, other: Prediction) -> Prediction:
        """The same with some rows out of another prediction of the same quantity.

        Parameters
        ----------
        other : Prediction
            Of those rows.
        """
        whole = self.take(np.arange(len(self.mean)))
        pairs = [(whole.mean, other.mean), (whole.steps, other.steps), (whole.pulses, other.pulses)]
        if whole.drawn is not None and other.drawn is not None:
            pairs.append((whole.drawn, other.drawn))
        for array, new in pairs:
            array[..., rows] = new
        return whole

    def in_some_draws(self, rows: Integers, chosen: np.ndarray, other: Prediction) -> Prediction:
        """The same, but another quantity in some draws of some rows.

        Parameters
        ----------
        chosen : ndarray of bool, shape (DRAWS, 1)
            In which draws.
        """
        if not rows.size:
            return self
        rest = np.zeros((len(chosen), len(self.mean)))
        rest[:, rows] = np.where(chosen, other.take(rows).own_draws().T, self.take(rows).own_draws().T)
        mean, steps = self.mean.copy(), self.steps.copy()
        mean[rows], steps[:, rows] = np.nan, 0.0
        own = None if self.drawn is None else self.drawn.copy()
        if own is not None:
            own[:, rows] = np.nan
        if self.rest is not None:
            rest = np.where(np.isnan(self.mean), self.rest.reshape(len(chosen), -1), rest)
        return replace(self, mean=mean, steps=steps, drawn=own, rest=rest)

    def where(self, rows: np.ndarray, other: Prediction) -> Prediction:
        """The same in some rows, and another quantity in the rest, each as a straight line.

        Where there is none, as with a needle that nothing drives, in draws.

        Parameters
        ----------
        rows : ndarray of bool, shape (cells,)
        """
        names = tuple(dict.fromkeys([*self.names, *other.names]))
        steps = np.zeros((len(names), len(self.mean)))
        for part, chosen in ((self, rows), (other, ~rows)):
            for name, step in zip(part.names, part.steps, strict=True):
                steps[names.index(name), chosen] = step[chosen]
        mean = np.where(rows, self.mean, other.mean)
        pulses = np.where(rows, self.pulses, other.pulses)
        rest = np.where(rows, self.in_draws().T, other.in_draws().T) if np.isnan(mean).any() else None
        return Prediction(mean, names, np.nan_to_num(steps), pulses, rest=rest)

    def minus(self, other: Prediction) -> Prediction:
        """The difference of two quantities, which share variables."""
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
