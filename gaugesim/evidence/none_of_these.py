"""None of the modelled faults: what it may show is anything, but not everywhere.

A fault that no sheet lists still shows much as some listed fault does, and leaves most of the circuit as it
was. So some listed fault tells what to expect of each entry of a case, but in an unknown share of them, each
by itself, the vehicle shows something else: as the listed faults do on average, or as nothing known does.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.in_draws import log_mean
from gaugesim.evidence.observable import Answers, Observable
from gaugesim.evidence.weigh import marginal


def log_none(cells: Cells, observables: Sequence[Observable], answers: Answers) -> Floats:
    """Likelihood of all answers if none of the modelled faults is there.

    Parameters
    ----------
    answers : sequence of ndarray, each of shape (cases,)

    Returns
    -------
    ndarray, shape (cases,)
        Natural logarithms.
    """
    cases = len(answers[0]) if answers else 1
    believed = np.flatnonzero(cells.weight)
    # for each entry of the case, as each cell has it and as it is if that says nothing
    entries: dict[str, tuple[Floats, Floats]] = {}
    for k, (observable, answer) in enumerate(zip(observables, answers, strict=True)):
        each = marginal(cells, observable, answer)
        usual = cells.weight @ each
        other = (1 - like.SURPRISE) * usual + like.SURPRISE * observable.broad
        where = observable.statement.where or str(k)
        before = entries.get(where, (1.0, 1.0))
        entries[where] = np.asarray(before[0] * each[believed]), np.asarray(before[1] * other)
    shares = like.SHOWN_SHARES[:, None, None]
    total = np.zeros((len(shares), len(believed), cases))
    for alike, other in entries.values():
        total += np.log((1 - shares) * alike + shares * other)
    by_cell = log_mean(total, axis=0) + np.log(cells.weight[believed])[:, None]
    return np.asarray(np.logaddexp.reduce(by_cell, axis=0))
