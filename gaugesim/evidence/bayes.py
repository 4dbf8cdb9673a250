"""Bayes' rule over the cells of one circuit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.none_of_these import log_none
from gaugesim.evidence.observable import Answer, Observable, Observation
from gaugesim.evidence.weigh import log_likelihoods, marginal

# prior that none of the modelled faults is the cause, assumed: low enough for few false alarms (`evaluate`)
NONE_PRIOR = 0.01


@dataclass(frozen=True)
class Posterior:
    """What a case makes of one circuit.

    Attributes
    ----------
    log_likelihood : ndarray, shape (cells,)
        Of all observations together.
    """

    cells: Cells
    observations: tuple[Observation, ...]
    log_likelihood: Floats

    @cached_property
    def log_none(self) -> float:
        """Logarithm of the probability of all that was seen if the cause is none of the modelled faults."""
        return float(log_none(self.cells, *_asked(self.observations))[0])

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

    @cached_property
    def explained(self) -> Floats:
        """How likely each observation is under each fault, its severity as all the evidence has it.

        Shape (observations, faults).
        """
        rows = [
            self.by_fault(
                self.within * marginal(self.cells, entry.observable, np.array([entry.answer]))[:, 0]
            )
            for entry in self.observations
        ]
        return np.array(rows).reshape(len(self.observations), len(self.cells.faults))


def posterior(cells: Cells, entries: Sequence[Observation]) -> Posterior:
    """Bayes' rule for all observations together, see `log_likelihoods`."""
    likelihood = log_likelihoods(cells, *_asked(entries))[:, 0]
    return Posterior(cells, tuple(entries), likelihood)


def _asked(entries: Sequence[Observation]) -> tuple[list[Observable], list[Answer]]:
    """What was asked, and what was answered, each as one case of a batch."""
    return [entry.observable for entry in entries], [np.array([entry.answer]) for entry in entries]
