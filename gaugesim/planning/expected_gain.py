"""What checks are expected to tell, and what repairs alone would take after them, for many states at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.compacted import NEGLIGIBLE, Batch, Compact, plogp
from gaugesim.planning.problem import Booleans, Integers
from gaugesim.planning.repairs import repair_minutes, repairs_alone

# a check that is expected to tell less tells nothing
USELESS_BITS = 1e-6
# a bundle of more checks than this is judged by its best ones
_BUNDLE_CHECKS = 3


def expected_bits(compact: Compact, batch: Batch) -> Floats:
    """Information that each check is expected to give about which fault it is.

    Returns
    -------
    ndarray, shape (n, checks)
        [bit]; zero for a check that has been done.
    """
    if not compact.checks:
        return np.zeros((len(batch), 0))
    total = batch.weight.sum(axis=1)
    chance = (batch.weight @ compact.flat) / total[:, None]
    entropy = -plogp(chance).reshape(len(batch), compact.checks, -1).sum(axis=2)
    bits = entropy - (batch.weight @ compact.row_bits) / total[:, None]
    return np.where(batch.remaining & (bits > USELESS_BITS), bits, 0.0)


def setup_minutes(compact: Compact, batch: Batch) -> Floats:
    """Time to open what each check needs, shape (n, checks) [min]."""
    minutes: Floats = (batch.closed * compact.setup_minutes) @ compact.check_needs.T
    return minutes


def shared_setup_minutes(compact: Compact, batch: Batch, useful: Booleans) -> Floats:
    """The same, each place's time shared out among the useful checks that need it, shape (n, checks) [min].

    Parameters
    ----------
    useful : ndarray of bool, shape (n, checks)
    """
    sharing = np.maximum(useful.astype(np.float64) @ compact.check_needs, 1.0)
    minutes: Floats = (batch.closed * compact.setup_minutes / sharing) @ compact.check_needs.T
    return minutes


def repair_minutes_after(compact: Compact, batch: Batch, checks: Integers) -> Floats:
    """Expected time of repairs alone after each of some checks, times the state's weight, shape (n, m) [min].

    Parameters
    ----------
    checks : ndarray of int, shape (n, m)
        For each state the checks to look at.
    """
    return after_each(compact, batch, checks).minutes_of_checks


@dataclass(frozen=True, eq=False)
class Successors:
    """The states that may follow some checks in each of several states.

    Attributes
    ----------
    row, column : ndarray of int, shape (k,)
        The state and the check that each follows.
    minutes : ndarray, shape (k,)
        Expected time of repairs alone from there on, times the state's weight [min].
    times : ndarray, shape (k, repairs)
        When each repair is made then [min].
    minutes_of_checks : ndarray, shape (n, m)
        The same for each check, over all that it may show [min].
    """

    row: Integers
    column: Integers
    batch: Batch
    minutes: Floats
    times: Floats
    minutes_of_checks: Floats


def after_each(
    compact: Compact, batch: Batch, checks: Integers, times: Floats | None = None, least_weight: float = 0.0
) -> Successors:
    """Every outcome of some checks followed by repairs alone.

    Parameters
    ----------
    checks : ndarray of int, shape (n, m)
        For each state the checks to look at.
    times : ndarray, shape (n, repairs), optional
        When each repair is made if nothing is checked [min]; needed for the next.
    least_weight : float, optional
        Outcomes of less weight are no states of their own: after them the order of repairs stays as it was.
    """
    chance = (batch.weight @ compact.flat).reshape(len(batch), *compact.likelihood.shape[:2])
    rows = np.arange(len(batch))[:, None]
    least = np.maximum(NEGLIGIBLE * batch.weight.sum(axis=1), least_weight)
    likely = (chance > least[:, None, None])[rows, checks]
    row, column, outcome = np.nonzero(likely)
    done = checks[row, column]
    remaining = batch.remaining[row]
    remaining[np.arange(len(row)), done] = False
    weight = batch.weight.take(row, axis=0)
    weight *= compact.likelihood[done, outcome]
    after = Batch(
        weight,
        compact.opened_by(batch.closed[row], done),
        remaining,
    )
    minutes, times_after = repairs_alone(compact, after)
    of_checks = np.zeros(checks.shape)
    if times is not None:
        unchanged = (batch.weight * times[:, compact.repair_of]) @ compact.flat
        of_checks += np.where(likely, 0.0, unchanged.reshape(chance.shape)[rows, checks]).sum(axis=2)
    np.add.at(of_checks, (row, column), minutes)
    return Successors(row, column, after, minutes, times_after, of_checks)


@dataclass(frozen=True, eq=False)
class Bundles:
    """Checks that share a closed place, taken together; the columns are bundles.

    Attributes
    ----------
    minutes : ndarray, shape (n, m)
        Of all its checks and of opening the place [min]; infinite where the place is open.
    after : ndarray, shape (n, m)
        Expected time of repairs alone after all of them, times the state's weight [min].
    """

    minutes: Floats
    after: Floats


def bundles(compact: Compact, batch: Batch, bits: Floats) -> Bundles:
    """Two and three checks that open the same closed place, the best ones by information for their minutes.

    Parameters
    ----------
    bits : ndarray, shape (n, checks)
        What each check alone is expected to tell [bit].
    """
    count = len(batch)
    columns: list[tuple[Floats, Floats]] = []
    for group in compact.shared_places:
        rows = np.flatnonzero((batch.closed & compact.check_needs[group[0]]).any(axis=1))
        if not rows.size:
            continue
        rate = bits[rows[:, None], group] / compact.check_minutes[group]
        checks = group[np.argsort(-rate, axis=1, kind="stable")[:, :_BUNDLE_CHECKS]]
        part = batch.take(rows)
        total = part.weight.sum(axis=1)
        opening = setup_minutes(compact, part)[:, group[0]]
        own = np.cumsum(compact.check_minutes[checks], axis=1)
        seen = part.weight[:, None, :] * compact.likelihood[checks[:, 0]]
        for k in range(1, checks.shape[1]):
            seen = (seen[:, :, None] * compact.likelihood[checks[:, k]][:, None]).reshape(
                len(rows), -1, compact.faults
            )
            chance = seen.sum(axis=2)
            row, outcome = np.nonzero(chance > NEGLIGIBLE * total[:, None])
            closed = compact.opened_by(part.closed[row], checks[row, 0])
            left = repair_minutes(compact, Batch(seen[row, outcome], closed, part.remaining[row]))
            minutes, after = np.full(count, np.inf), np.zeros(count)
            minutes[rows] = opening + own[:, k]
            after[rows] = np.bincount(row, left, len(rows))
            columns.append((minutes, after))
    if not columns:
        return Bundles(np.zeros((count, 0)), np.zeros((count, 0)))
    return Bundles(*(np.stack(values, axis=1) for values in zip(*columns, strict=True)))
