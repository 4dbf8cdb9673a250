"""A large problem cut down to what bears on the next step: the most promising checks, few outcomes each."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.compacted import Batch, Compact, plogp, restrict
from gaugesim.planning.expected_gain import expected_bits, setup_minutes, shared_setup_minutes
from gaugesim.planning.problem import Integers
from gaugesim.planning.prune import not_dominated

# up to so many checks, and so many outcomes, a problem is taken as it is
MOST_CHECKS = 24
MOST_OUTCOMES = 4
# checks are compared, and outcomes merged, by the likeliest faults
_COMPARED_FAULTS = 30
# how many checks are compared for each that is kept
_COMPARED_CHECKS = 3


def sketch(everything: Compact, batch: Batch) -> Compact:
    """Keep the checks that are likely to be of use soon, and merge outcomes that mean nearly the same.

    Nothing is lost where there are few checks with few outcomes.
    """
    checks = np.flatnonzero(batch.remaining[0])
    many = len(checks) > MOST_CHECKS
    if many:
        checks = _promising(everything, batch)
    # those of many have been compared by the likeliest faults already
    compact = restrict(everything, batch, checks, pruned=not many)
    if compact.checks and compact.likelihood.shape[1] > MOST_OUTCOMES:
        weight = compact.initial.weight[0]
        compact = replace(compact, likelihood=merged(compact.likelihood, weight, likeliest(weight)))
    return compact


def likeliest(weight: Floats) -> Integers:
    """The faults by which checks are compared, and outcomes merged. Rising.

    Parameters
    ----------
    weight : ndarray, shape (faults,)
        [1]
    """
    return np.sort(np.argsort(-weight, kind="stable")[:_COMPARED_FAULTS])


def _promising(compact: Compact, batch: Batch) -> Integers:
    """Checks that tell most for their minutes, those that another one makes superfluous left out."""
    bits = expected_bits(compact, batch)
    own = compact.check_minutes
    charged = bits / (own + setup_minutes(compact, batch))
    shared = bits / (own + shared_setup_minutes(compact, batch, bits > 0))
    rank = np.minimum(np.argsort(np.argsort(-charged[0])), np.argsort(np.argsort(-shared[0])))
    order = np.argsort(rank, kind="stable")[: _COMPARED_CHECKS * MOST_CHECKS]
    order = order[bits[0, order] > 0]
    likelihood = compact.likelihood[order][:, :, likeliest(batch.weight[0])]
    kept = not_dominated(likelihood, own[order], compact.check_needs[order] & batch.closed)
    return np.sort(order[kept[:MOST_CHECKS]])


def merged(likelihood: Floats, weight: Floats, heavy: Integers, most: int = MOST_OUTCOMES) -> Floats:
    """Merge the two outcomes of each check between which least is told, until few are left.

    Parameters
    ----------
    likelihood : ndarray, shape (checks, outcomes, faults)
        [1]
    weight : ndarray, shape (faults,)
        [1]

    Returns
    -------
    ndarray, shape (checks, fewer outcomes, faults)
    """
    likelihood = likelihood.copy()
    every = np.arange(len(likelihood))
    while likelihood.shape[1] > most:
        joint = likelihood[:, :, heavy] * weight[heavy]
        first, second = np.triu_indices(joint.shape[1], 1)
        bits = _told(joint)
        lost = bits[:, first] + bits[:, second] - _told(joint[:, first] + joint[:, second])
        pair = np.argmin(lost, axis=1)
        likelihood[every, first[pair]] += likelihood[every, second[pair]]
        kept = np.ones(likelihood.shape[:2], dtype=np.bool_)
        kept[every, second[pair]] = False
        likelihood = likelihood[kept].reshape(len(likelihood), -1, likelihood.shape[2])
    return likelihood


def _told(joint: Floats) -> Floats:
    """What each outcome adds to the information of its check, up to terms that merging does not change."""
    bits: Floats = plogp(joint).sum(axis=-1) - plogp(joint.sum(axis=-1))
    return bits
