"""What to check next, what each outcome would mean, and what to watch out for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugesim.advice.jobs import Job, Option
from gaugesim.advice.telling import information
from gaugesim.arrays import Floats
from gaugesim.case import known_place
from gaugesim.notebook import html_table
from gaugesim.scenario.caution import check_cautions
from gaugesim.scenario.order_of_work import sequence, sequence_words
from gaugesim.vocabulary import outcome_clause, outcome_words

# outcomes less likely than this are not told
TOLD = 0.01
# how many faults an outcome is said to lead to
LEADING = 3
# what is none of the hypotheses shows anything so often, and else what they show together; assumed
ANYTHING = 0.2


@dataclass(frozen=True)
class Outcome:
    """One outcome of a check.

    Attributes
    ----------
    outcome : str
        The word for it in a case file.
    words : str
        The same for a person.
    clause : str
        The same behind "if".
    leads_to : tuple of (str, str, float)
        The likeliest faults after it: id, words, probability.
    """

    outcome: str
    words: str
    clause: str
    probability: float
    leads_to: tuple[tuple[str, str, float], ...]


@dataclass(frozen=True, repr=False)
class Advice:
    """A check that is worth making.

    Attributes
    ----------
    minutes : float
        What it takes, set-up of places that are not open yet included.
    opens : tuple of str
        Those places, in words.
    bits : float
        Information to expect.
    outcomes : tuple of Outcome
        Likeliest first.
    steps : tuple of str
        The same in order, with when power comes off and back.
    in_order : str
        Those steps in a sentence; empty where `words` say them all.
    """

    check: str
    state: str
    words: str
    state_words: str
    minutes: float
    opens: tuple[str, ...]
    bits: float
    cautions: tuple[str, ...]
    outcomes: tuple[Outcome, ...]
    steps: tuple[str, ...]
    in_order: str

    def __repr__(self) -> str:
        outcomes = ", ".join(f"{outcome.words} {outcome.probability:.0%}" for outcome in self.outcomes)
        return f"{self.words} ({self.state_words}), {self.minutes:g} minutes: {outcomes}"

    def _repr_html_(self) -> str:
        rows: list[tuple[object, ...]] = [
            (outcome.probability, outcome.words, outcome.leads_to[0][1] if outcome.leads_to else None)
            for outcome in self.outcomes
        ]
        # whoever does the check must see its cautions wherever it is shown
        rows += [("caution", text, "") for text in self.cautions]
        caption = f"{self.words} ({self.state_words}), {self.minutes:g} minutes"
        return html_table(caption, ("probability", "seen", "then likeliest"), rows)


def minutes_of(work: Job, option: Option) -> float:
    """Minutes of a check with the set-up of all places that it needs and that are not open."""
    places = work.circuit.sheet.places
    return option.minutes + sum(
        places[name].setup_minutes for name in option.check.places if name not in work.opened
    )


def advice_on(work: Job, option: Option) -> Advice:
    """Tell a check: what to do, what it takes, what each outcome would mean."""
    sheet = work.circuit.sheet
    state = sheet.states[option.state]
    opened = [sheet.places[name] for name in option.check.places if name not in work.opened]
    classes, table = option.classes, option.table
    chances = work.share * (work.weight @ table) + (1 - work.share) * rest_shows(work, table)
    outcomes = [
        Outcome(
            classes[k],
            outcome_words(option.check.reads, classes[k]),
            outcome_clause(option.check.reads, classes[k]),
            float(chances[k]),
            _leads_to(work, work.share * work.weight * table[:, k] / chances[k]),
        )
        for k in np.argsort(-chances, kind="stable")
        if chances[k] >= TOLD
    ]
    return Advice(
        option.check.id,
        option.state,
        option.check.words,
        state.words,
        minutes_of(work, option),
        tuple(place.words for place in opened),
        information(work.weight, option.table),
        tuple(caution.words for caution in check_cautions(work.circuit, option.check, option.state)),
        tuple(outcomes),
        sequence(work.circuit, option.check, work.opened),
        sequence_words(work.circuit, option.check, work.opened),
    )


def needle_gauge(work: Job, option: Option) -> str:
    """The gauge whose needle a check reads."""
    return option.check.gauge or work.diagnosis.gauge


def needle_place(work: Job, option: Option) -> str:
    """Where the needle that a check reads stands, if all that was seen of it says the same word.

    Empty if that is not known.
    """
    return known_place(work.diagnosis.case, needle_gauge(work, option), work.diagnosis.gauge)


def rest_shows(work: Job, table: Floats) -> Floats:
    """What a check shows if it is none of the hypotheses.

    Parameters
    ----------
    table : ndarray, shape (hypotheses, outcomes)
        Probability of each outcome under each [1].

    Returns
    -------
    ndarray, shape (outcomes,)
    """
    return np.asarray((1 - ANYTHING) * (work.weight @ table) + ANYTHING / table.shape[1])


@dataclass(frozen=True)
class Expected:
    """What a suspect would most probably show at a check.

    Attributes
    ----------
    fault, suspect : str
        The fault, and in words.
    outcome, words : str
        One of the check's classes, and in words.
    probability : float
        Of that outcome, if it is this fault.
    suspected : float
        Probability of the fault.
    """

    fault: str
    suspect: str
    outcome: str
    words: str
    probability: float
    suspected: float


def expected_readings(work: Job, option: Option, least: float) -> tuple[Expected, ...]:
    """What each remaining suspect would show at a check, the likeliest suspect first.

    Parameters
    ----------
    least : float
        Suspects that are less likely are left out [1].
    """
    classes, table = option.classes, option.table
    alike: dict[str, list[int]] = {}  # one suspect, of however many candidate circuits
    for i, entry in enumerate(work.hypotheses):
        alike.setdefault(entry.fault, []).append(i)
    expected = []
    for fault, rows in alike.items():
        suspected = float(work.weight[rows].sum())
        if not suspected or suspected < least:
            continue
        shows = work.weight[rows] @ table[rows] / suspected
        k = int(np.argmax(shows))
        words = outcome_words(option.check.reads, classes[k])
        suspect = work.hypotheses[rows[0]].words
        expected.append(Expected(fault, suspect, classes[k], words, float(shows[k]), suspected))
    return tuple(sorted(expected, key=lambda each: -each.suspected))


def _leads_to(work: Job, weight: Floats) -> tuple[tuple[str, str, float], ...]:
    """The likeliest faults, added up over circuits."""
    total: dict[str, float] = {}
    words: dict[str, str] = {}
    for entry, p in zip(work.hypotheses, weight, strict=True):
        total[entry.fault] = total.get(entry.fault, 0.0) + float(p)
        words.setdefault(entry.fault, entry.words)
    best = sorted(total.items(), key=lambda item: -item[1])[:LEADING]
    return tuple((fault, words[fault], p) for fault, p in best if p >= 0.02)


def by_information(work: Job) -> tuple[Option, ...]:
    """Checks in the order of expected information for each minute, set-up counted.

    Those that tell anything at all.
    """
    scored = [(information(work.weight, option.table), option) for option in work.options]
    useful = [(bits / minutes_of(work, option), option) for bits, option in scored if bits > 1e-6]
    return tuple(option for _, option in sorted(useful, key=lambda item: -item[0]))
