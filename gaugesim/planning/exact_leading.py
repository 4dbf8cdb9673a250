"""The optimum over the checks that lead: all others, and repairs that are hardly the right ones, come last.

Where checks can err the table of an optimal plan grows with every check by a factor, so that it cannot hold a
hundred of them. Those that lead are chosen anew at every step.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.compacted import Compact, restrict
from gaugesim.planning.exact_erring import Erring, table_size
from gaugesim.planning.rollout import promising_checks
from gaugesim.planning.shortlist import likeliest, merged

# checks and outcomes of each in the table, and repairs after which there may be checks again
_CHECKS, _OUTCOMES, _INTERLEAVED = 6, 3, 3


def leading_values(compact: Compact, most_entries: float) -> Floats:
    """Least expected time of each step, if only the leading checks are done, times the state's weight.

    Parameters
    ----------
    most_entries : float
        Size of the table; the more it may hold, the more checks lead, up to six.

    Returns
    -------
    ndarray, shape (checks + repairs,)
        [min]; infinite for steps that do not lead.
    """
    values = np.full(compact.checks + compact.repairs, np.inf)
    for most in range(min(_CHECKS, compact.checks), 0, -1):
        checks = promising_checks(compact, compact.initial, most)[0]
        small = restrict(compact, compact.initial, np.sort(checks[checks >= 0]))
        weight = small.initial.weight[0]
        if small.checks and small.likelihood.shape[1] > _OUTCOMES:
            small = replace(small, likelihood=merged(small.likelihood, weight, likeliest(weight), _OUTCOMES))
        if table_size(small, _INTERLEAVED) <= most_entries:
            values[small.numbers_in(compact)] = Erring(small, _INTERLEAVED).step_values()
            break
    return values
