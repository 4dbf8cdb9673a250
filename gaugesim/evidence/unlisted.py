"""None of the modelled faults: what it may show is anything, but not everywhere.

A fault that no sheet lists still leaves most of the circuit sound. So each entry of a case was either told
of something that it leaves alone, and then is as probable as on a sound vehicle, tolerances shared with all
other such entries; or it shows, as the listed faults do on average or as nothing known does.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gaugesim.evidence import likelihood as like
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.in_draws import log_mean
from gaugesim.evidence.intermittent import Entry, log_at_times
from gaugesim.evidence.question import Answers, Question
from gaugesim.evidence.weigh import marginal
from gaugesim.solve.network import Floats


def log_none(cells: Cells, questions: Sequence[Question], answers: Answers) -> Floats:
    """Likelihood of all answers if none of the modelled faults is there.

    Parameters
    ----------
    cells : Cells
    questions : sequence of Question
    answers : sequence of ndarray, each of shape (cases,)

    Returns
    -------
    ndarray, shape (cases,)
        Natural logarithms.
    """
    cases = len(answers[0]) if answers else 1
    total = np.zeros(cases)
    together: dict[str, list[int]] = {}
    shows = []
    for k, (question, answer) in enumerate(zip(questions, answers, strict=True)):
        usual = cells.weight @ marginal(cells, question, answer)
        shows.append((1 - like.SURPRISE) * usual + like.SURPRISE * question.broad)
        if question.comes_and_goes and question.sudden is None:
            together.setdefault(question.told.where or str(k), []).append(k)
        else:
            total += np.log(shows[k])
    if together:
        entries = [Entry([questions[k] for k in ks], [answers[k] for k in ks]) for ks in together.values()]
        acts = [np.prod([shows[k] for k in ks], axis=0)[None] for ks in together.values()]
        every = [np.ones(1, dtype=bool)] * len(entries)
        total += log_mean(log_at_times(entries, acts, every, like.SHOWN_SHARES), axis=0)[0]
    return total
