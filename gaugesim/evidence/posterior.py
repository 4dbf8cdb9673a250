"""Bayes' rule over the cells of one circuit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np

from gaugesim.evidence import likelihood as like
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.observation import Observation
from gaugesim.solve.network import Floats

# prior that none of the modelled faults is the cause, assumed: 2 to 5 of a hundred
NONE_PRIOR = 0.03
# how much of "none of these" is sheer surprise, against what this circuit's faults show on average
SURPRISE = 0.2


@dataclass(frozen=True)
class Posterior:
    """What a case makes of one circuit.

    Attributes
    ----------
    cells : Cells
    observations : tuple of Observation
    log_likelihood : ndarray, shape (cells,)
        Of all observations together.
    log_none : float
        The same for "none of these".
    """

    cells: Cells
    observations: tuple[Observation, ...]
    log_likelihood: Floats
    log_none: float

    @cached_property
    def log_evidence(self) -> float:
        """Logarithm of the probability of all that was seen, on this circuit."""
        return float(np.logaddexp(self._log_faults, np.log(NONE_PRIOR) + self.log_none))

    @cached_property
    def _log_cells(self) -> Floats:
        with np.errstate(divide="ignore"):
            return np.asarray(np.log((1 - NONE_PRIOR) * self.cells.weight) + self.log_likelihood)

    @cached_property
    def _log_faults(self) -> float:
        return float(np.logaddexp.reduce(self._log_cells))

    @cached_property
    def cell(self) -> Floats:
        """Probability of each cell; with `none_of_these` they sum to 1."""
        return np.asarray(np.exp(self._log_cells - self.log_evidence))

    @cached_property
    def none_of_these(self) -> float:
        """Probability that the cause is none of the modelled faults."""
        return float(np.exp(np.log(NONE_PRIOR) + self.log_none - self.log_evidence))

    @cached_property
    def fault(self) -> Floats:
        """Probability of each fault, shape (faults,)."""
        return self.by_fault(self.cell)

    def by_fault(self, values: Floats) -> Floats:
        """Sum a value of every cell over the cells of each fault.

        Parameters
        ----------
        values : ndarray, shape (cells,)

        Returns
        -------
        ndarray, shape (faults,)
        """
        return np.asarray(
            np.bincount(self.cells.fault + 1, values, len(self.cells.faults) + 1)[1:], dtype=float
        )

    @cached_property
    def within(self) -> Floats:
        """Weight of each cell within its fault, given all that was seen, shape (cells,)."""
        log = np.where(np.isfinite(self._log_cells), self._log_cells, -1e300)
        best = np.full(len(self.cells.faults) + 1, -np.inf)
        np.maximum.at(best, self.cells.fault + 1, log)
        share = np.exp(log - best[self.cells.fault + 1])
        total = np.bincount(self.cells.fault + 1, share, len(self.cells.faults) + 1)
        return np.asarray(share / total[self.cells.fault + 1])

    def explain(self) -> Floats:
        """How likely each observation is under each fault, its severity as all the evidence has it.

        Returns
        -------
        ndarray, shape (observations, faults)
        """
        rows = [self.by_fault(self.within * marginal(self.cells, entry)) for entry in self.observations]
        return np.array(rows).reshape(len(self.observations), len(self.cells.faults))


def marginal(cells: Cells, entry: Observation) -> Floats:
    """Likelihood of one observation in every cell, slips and duties included.

    Parameters
    ----------
    cells : Cells
    entry : Observation

    Returns
    -------
    ndarray, shape (cells,)
    """
    result = (1 - like.SLIP) * entry.likelihood + like.SLIP * entry.broad
    acting = cells.intermittent
    if np.any(acting):
        result = result.copy()
        result[acting] = _by_duty(entry, acting).mean(axis=0)
    return result


def _by_duty(entry: Observation, acting: np.ndarray) -> Floats:
    """Likelihood of one observation under the intermittent cells for each duty, (duties, cells)."""
    if entry.by_duty is not None:
        mixed = entry.by_duty[:, acting]
    else:
        duty = like.DUTIES[:, None]
        mixed = duty * entry.likelihood[acting] + (1 - duty) * entry.likelihood[0]
    return (1 - like.SLIP) * mixed + like.SLIP * entry.broad


def posterior(cells: Cells, entries: Sequence[Observation]) -> Posterior:
    """Bayes' rule for all observations together.

    Numbers that share tolerances are weighed jointly, so that three readings of one low battery count as one
    low battery; each may be a slip. Words are weighed one by one, each with its tolerance. An intermittent
    fault acts in each observation or not, with one unknown duty for all.

    Parameters
    ----------
    cells : Cells
    entries : sequence of Observation

    Returns
    -------
    Posterior
    """
    n = len(cells.fault)
    numbers = [entry for entry in entries if entry.number is not None]
    words = [entry for entry in entries if entry.number is None]
    total = _numbers(numbers, n)
    for entry in words:
        total = total + np.log((1 - like.SLIP) * entry.likelihood + like.SLIP * entry.broad)
    acting = cells.intermittent
    if np.any(acting) and entries:
        log = sum((np.log(_by_duty(entry, acting)) for entry in entries), np.zeros((1, 1)))
        total[acting] = np.logaddexp.reduce(log, axis=0) - np.log(len(like.DUTIES))
    log_none = sum((np.log(_none(cells, entry)) for entry in entries), 0.0)
    return Posterior(cells, tuple(entries), total, float(log_none))


def _none(cells: Cells, entry: Observation) -> float:
    """Probability of an observation if none of the faults is there: what they show on average, and less."""
    usual = float(cells.weight @ marginal(cells, entry))
    return (1 - SURPRISE) * usual + SURPRISE * entry.broad


def _numbers(entries: Sequence[Observation], n: int) -> Floats:
    """Joint log-density of all numbers, with up to two of them slips."""
    if not entries:
        return np.zeros(n)
    names = tuple(dict.fromkeys(name for entry in entries for name in entry.number.prediction.names))  # type: ignore[union-attr]
    steps = np.zeros((len(entries), len(names), n))
    means, noise = np.zeros((len(entries), n)), np.zeros((len(entries), n))
    values, broad = np.zeros(len(entries)), np.zeros(len(entries))
    for i, entry in enumerate(entries):
        number = entry.number
        assert number is not None
        values[i], broad[i] = number.value, entry.broad
        unknown = np.isnan(number.prediction.mean)
        means[i] = np.where(unknown, number.value, number.prediction.mean)
        # nothing drives it, so it may stand anywhere: a density of about `broad`
        noise[i] = np.where(unknown, 0.4 / entry.broad, number.noise)
        for name, step in zip(number.prediction.names, number.prediction.steps, strict=True):
            steps[i, names.index(name)] = np.where(unknown, 0.0, step)
    parts = []
    for slips in range(min(len(entries), 2) + 1):
        for wrong in combinations(range(len(entries)), slips):
            right = [i for i in range(len(entries)) if i not in wrong]
            log = np.full(n, slips * np.log(like.SLIP) + len(right) * np.log(1 - like.SLIP))
            log = log + np.log(broad[list(wrong)]).sum()
            if right:
                log = log + like.joint_density(values[right], means[right], steps[right], noise[right])
            parts.append(log)
    return np.asarray(np.logaddexp.reduce(parts, axis=0))
