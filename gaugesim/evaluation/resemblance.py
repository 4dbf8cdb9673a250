"""Whether what is wrong with a vehicle could show much the same as some fault that the sheet lists."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from gaugesim.evidence.joint import Distances, Numbers
from gaugesim.evidence.observable import Observable

# least distance from every listed fault, at any severity, in standard deviations of tolerances and meter
DISTANCE = 5.0
# readings that may be left out for that: what a slip of the meter may explain is no proof of anything
LEFT_OUT = 2
# vehicles that are looked at together: what fits into memory
AT_ONCE = 200


def told_from_listed(listed: Sequence[Observable], shown: Sequence[Observable], cases: int) -> np.ndarray:
    """Which vehicles' readings lie far from all that the listed faults show.

    Parameters
    ----------
    listed : sequence of Observable
        About the cells of the circuit.
    shown : sequence of Observable
        The same about vehicles without tolerances of their own; rows 1 to ``cases``.

    Returns
    -------
    ndarray of bool, shape (cases,)
        Whether the Mahalanobis distance of the numbers among the readings from every cell is at least
        `DISTANCE`, whichever `LEFT_OUT` readings are left out.
    """
    kept = [k for k, observable in enumerate(listed) if observable.is_number]
    if len(kept) <= LEFT_OUT:
        return np.zeros(cases, dtype=bool)
    numbers = Numbers.of([listed[k] for k in kept], straight=True)
    values = np.stack([shown[k].shown.mean[1 : 1 + cases] for k in kept])
    apart = np.empty(cases, dtype=bool)
    for start in range(0, cases, AT_ONCE):
        some = slice(start, start + AT_ONCE)
        # a needle that nothing drives may stand anywhere: no proof
        measured = ~np.isnan(values[:, some])
        distances = Distances(numbers, np.nan_to_num(values[:, some]), measured)
        squares = (distances.without(out)[0].min(axis=0) for out in combinations(range(len(kept)), LEFT_OUT))
        apart[some] = np.min(list(squares), axis=0) >= DISTANCE**2
    return apart
