"""Faults that show in some entries of a case only: each was seen while the fault acted, or while it rested.

While it rests the vehicle is a sound one, and all that was told of it then shares its tolerances: three words
about a half-full tank are no three proofs. What was told while the fault acted is weighed entry by entry, as
what is open leaves the tolerances little to say.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.in_draws import AnswersInDraws, log_mean
from gaugesim.evidence.joint import Numbers, log_numbers
from gaugesim.evidence.observable import Answers, Observable
from gaugesim.solve.network import Integers

# entries of a case that are followed one by one; what is told in more of them is weighed by itself
MOST_ENTRIES = 8
# a fault that changes the probability of no answer by more than this does not touch an entry
TOUCHES = 1e-6


def log_intermittent(
    observables: Sequence[Observable], answers: Answers, acting: Integers, cases: int
) -> Floats:
    """Likelihood of all answers under faults that come and go: a mean over how often they act.

    Parameters
    ----------
    answers : sequence of ndarray, each of shape (cases,)
    acting : ndarray of int, shape (k,)
        Rows of the faults; row 0 is the sound circuit.

    Returns
    -------
    ndarray, shape (k, cases)
        Natural logarithms.
    """
    total = np.zeros((len(like.DUTIES), len(acting), cases))
    together: dict[str, list[int]] = {}
    for k, (observable, answer) in enumerate(zip(observables, answers, strict=True)):
        if observable.comes_and_goes and observable.sudden is None:
            # what one entry tells was seen at one time, so the fault acted for all of it or for none
            together.setdefault(observable.statement.where or str(k), []).append(k)
        elif observable.is_number:  # it was waited for until the fault acted
            total += np.log(observable.take(acting).likelihood(answer))
        else:
            total += np.log(observable.by_duty(acting, np.zeros_like(acting))[:, :, answer])
    entries = [Reported([observables[k] for k in ks], [answers[k] for k in ks]) for ks in together.values()]
    acts = [entry.likelihood(acting) for entry in entries]
    touched = [entry.touched(acting) for entry in entries]
    if entries:
        total += log_at_times(entries, acts, touched, like.DUTIES)
    return log_mean(total, axis=0)


class Reported:
    """What one entry of a case tells.

    Parameters
    ----------
    answers : sequence of ndarray, each of shape (cases,)
    """

    def __init__(self, observables: Sequence[Observable], answers: Answers) -> None:
        self.observables, self.answers = list(observables), list(answers)
        sound = np.zeros(1, dtype=np.intp)
        asked = [
            (observable.take(sound), answer) for observable, answer in zip(observables, answers, strict=True)
        ]
        self.numbers = [(observable, answer) for observable, answer in asked if observable.is_number]
        self.words = [
            (observable, answer)
            for observable, answer in asked
            if observable.tabulate is not None or observable.followed.size
        ]
        self.tables = [
            (observable, answer)
            for observable, answer in asked
            if observable.classes and observable.tabulate is None
        ]

    @property
    def tolerant(self) -> float:
        """How far tolerances move what it tells of the sound circuit, against how sharply it is told."""
        moves = [0.0]
        for observable, _ in [*self.numbers, *self.words]:
            moves.append(float(np.nan_to_num(observable.shown.deviation[0]) * observable.broad))
        return max(moves)

    def likelihood(self, rows: Integers) -> Floats:
        """Of some rows while the fault acts, tolerances by themselves, shape (rows, cases)."""
        each = [
            observable.take(rows).likelihood(answer)
            for observable, answer in zip(self.observables, self.answers, strict=True)
        ]
        return np.asarray(np.prod(each, axis=0))

    def touched(self, rows: Integers) -> np.ndarray:
        """Which rows show anything else than the sound circuit, bool of shape (rows,)."""
        result = np.zeros(len(rows), dtype=bool)
        for observable in self.observables:
            if observable.table is not None:
                off = np.abs(observable.table[rows] - observable.table[:1]).max(axis=1)
            else:
                off = np.abs(observable.shown.mean[rows] - observable.shown.mean[0]) * observable.broad
                off = np.where(np.isnan(off), 1.0, off)
            result |= off > TOUCHES
        return result


def log_at_times(
    entries: Sequence[Reported], acts: Sequence[Floats], touched: Sequence[np.ndarray], duties: Floats
) -> Floats:
    """Likelihood of what entries tell of faults that act in some of them and rest in the others.

    Parameters
    ----------
    entries : sequence of Reported
        At least one.
    acts : sequence of ndarray, each of shape (k, cases)
        Likelihood of each entry under each fault while it acts.
    touched : sequence of ndarray of bool, each of shape (k,)
        Whether each fault shows in the entry at all.
    duties : ndarray, shape (duties,)
        Chance that it acts in any entry [1].

    Returns
    -------
    ndarray, shape (duties, k, cases)
        Natural logarithms.
    """
    duty = duties[:, None, None]
    # those that tolerances tie to others come first, the rest are weighed by themselves
    order = sorted(range(len(entries)), key=lambda e: -entries[e].tolerant)
    total = np.zeros((len(duties), *acts[0].shape))
    for e in order[MOST_ENTRIES:]:
        total += np.log(duty * acts[e] + (1 - duty) * entries[e].likelihood(np.zeros(1, dtype=np.intp)))
    order = order[:MOST_ENTRIES]
    cases = acts[0].shape[1]
    resting = _resting([entries[e] for e in order], cases)
    by_count = np.zeros((len(order) + 1, *acts[0].shape))
    for some in range(2 ** len(order)):
        inside = [e for k, e in enumerate(order) if some >> k & 1]
        able = np.all([touched[e] for e in inside], axis=0) if inside else np.ones(len(acts[0]), dtype=bool)
        if not able.any():
            continue
        # the entries that are left were seen while it rested
        term = np.broadcast_to(resting[2 ** len(order) - 1 - some], (int(able.sum()), cases))
        for e in inside:
            term = term * acts[e][able]
        by_count[len(inside), able] += term
    count = np.sum([touched[e] for e in order], axis=0)
    result = np.zeros_like(total)
    for k in range(len(order) + 1):
        rests = np.maximum(count - k, 0)[None, :, None]
        chance = np.where(count[None, :, None] >= k, duty**k * (1 - duty) ** rests, 0.0)
        result += chance * by_count[k]
    return np.asarray(total + np.log(result))


def _resting(entries: Sequence[Reported], cases: int) -> Floats:
    """Likelihood of some of the entries together on the sound circuit, shape (subsets, cases)."""
    numeric = [e for e, entry in enumerate(entries) if entry.numbers]
    given: dict[tuple[int, ...], tuple[Floats, Floats, dict[int, Floats]]] = {}
    # in each draw, (DRAWS, cases), where something is told that tolerances move
    opened = {e: AnswersInDraws(entry.words) for e, entry in enumerate(entries) if entry.words}
    alone = {e: words.log_likelihoods(cases)[0] for e, words in opened.items()}
    tables = [
        np.prod([observable.slipped[0, answer] for observable, answer in entry.tables], axis=0)
        if entry.tables
        else np.ones(cases)
        for entry in entries
    ]
    result = np.empty((2 ** len(entries), cases))
    for some in range(len(result)):
        inside = [e for e in range(len(entries)) if some >> e & 1]
        free = _mean_of(alone, inside, cases)
        key = tuple(e for e in numeric if some >> e & 1)
        if key:
            if key not in given:
                read = [pair for e in key for pair in entries[e].numbers]
                numbers = Numbers.of([observable for observable, _ in read])
                values = np.stack([np.asarray(answer, dtype=float) for _, answer in read])
                sound, slipped = log_numbers(numbers, values)
                words = {e: each.log_likelihoods(cases, numbers, values)[0] for e, each in opened.items()}
                given[key] = np.exp(sound[0]), np.exp(slipped[0]), words
            sound_chance, slipped_chance, words = given[key]
            # a slip says nothing of the tolerances
            free = sound_chance * _mean_of(words, inside, cases) + slipped_chance * free
        result[some] = free * np.prod([tables[e] for e in inside], axis=0) if inside else free
    return result


def _mean_of(words: Mapping[int, Floats], inside: Sequence[int], cases: int) -> Floats:
    """Mean over the draws of the words of some entries together, shape (cases,)."""
    worded = [words[e] for e in inside if e in words]
    return np.asarray(np.exp(sum(worded)).mean(axis=0)) if worded else np.ones(cases)
