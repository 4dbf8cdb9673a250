"""What travels in the job page: suspects, checks, likelihoods and costs as plain tables."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from gaugesim.advice.check_advice import advice_on, minutes_of, rest_shows
from gaugesim.advice.danger import scopes
from gaugesim.advice.jobs import Job, Option
from gaugesim.advice.progress import stage
from gaugesim.advice.telling import information
from gaugesim.consultation import Consultation
from gaugesim.reading import Situation, see
from gaugesim.report.entries import entry, open_ended, sound_words
from gaugesim.report.first_steps import Planned, checks_of, plan_ahead, renumbered
from gaugesim.report.mended import PageProof, PageRepair, page_proof, page_repairs
from gaugesim.report.numbers import PageCell, PageNumber, page_cells, page_number
from gaugesim.report.wiring import PageMark, PageName, Pictures, page_marks, page_names
from gaugesim.vocabulary import outcome_words, spoken

# checks that tell less than this at the outset [bit] are left out; of those that tell most, and of those that
# tell most for their time, no more than this many travel
TELLING, MOST_CHECKS = 0.001, 70
# digits of a likelihood: both the page and its Python twin reckon with the same rounded numbers
DIGITS = 7


@dataclass(frozen=True)
class PageSuspect:
    """A suspect on the page.

    Attributes
    ----------
    fault : str
        The same in every circuit that may be behind the dial.
    circuit : str
        Which of those circuits, in words; empty where there is one only.
    """

    fault: str
    words: str
    place: str
    repair: str
    circuit: str
    probability: float


@dataclass(frozen=True)
class PageOutcome:
    """An outcome to tap.

    Attributes
    ----------
    entry : str
        Its lines for the case file.
    """

    words: str
    entry: str


@dataclass(frozen=True)
class PageCheck:
    """A check on the page.

    Attributes
    ----------
    id : str
        Of the check in its state.
    words, state : str
        What to do, and in which state.
    sound : str
        What it shows when all is sound.
    minutes : float
        Without set-up.
    likelihood : tuple of tuple of float
        For each outcome, its probability under each suspect and, last, under none of these.
    number : PageNumber or None
        What it shows as a number.
    picture : str
        The gauge whose wiring shows where it is made; empty for none.
    marks : tuple of PageMark
        Where, in that picture.
    order : str
        The steps in turn, with when the battery comes off and back; empty where the words say them all.
    burns : tuple of float
        How likely it would burn something under each suspect but "none of these"; empty where it never does.
    """

    id: str
    words: str
    state: str
    sound: str
    minutes: float
    places: tuple[int, ...]
    cautions: tuple[str, ...]
    outcomes: tuple[PageOutcome, ...]
    likelihood: tuple[tuple[float, ...], ...]
    number: PageNumber | None = None
    picture: str = ""
    marks: tuple[PageMark, ...] = ()
    order: str = ""
    burns: tuple[float, ...] = ()


@dataclass(frozen=True)
class PagePlace:
    """A place on the page."""

    words: str
    minutes: float
    open: bool


@dataclass(frozen=True)
class PageCure:
    """What has ended the complaint, and what proves it."""

    words: str
    proof: tuple[PageProof, ...]
    watch: str


@dataclass(frozen=True)
class PageReading:
    """What a sound needle shows in a state."""

    gauge: str
    state: str
    needle: str


@dataclass(frozen=True)
class PageData:
    """All that the page needs.

    Attributes
    ----------
    complaint : tuple of str
        What was seen, in words.
    suspects : tuple of PageSuspect
        "None of these" last, with the faults that are too rare to be listed.
    plan : Planned
        What to do first, its checks numbered as here.
    first : int
        How many of the cautions cannot wait: they stand open, the others below a line that opens.
    case : str
        The case file as it stands.
    key : str
        Under which a browser keeps the answers to it.
    cells : tuple of PageCell
        What the numbers of the checks tell of.
    cured : PageCure or None
        If the case is at its end.
    stage : int
        Of what is seen now.
    short : mapping
        From cautions to their short names.
    """

    title: str
    complaint: tuple[str, ...]
    suspects: tuple[PageSuspect, ...]
    checks: tuple[PageCheck, ...]
    plan: Planned
    places: tuple[PagePlace, ...]
    sound: tuple[PageReading, ...]
    cautions: tuple[str, ...]
    first: int
    case: str
    key: str = ""
    cells: tuple[PageCell, ...] = ()
    repairs: tuple[PageRepair, ...] = ()
    cured: PageCure | None = None
    names: tuple[PageName, ...] = ()
    stage: int = 1
    short: Mapping[str, str] = field(default_factory=dict)


def page_data(consultation: Consultation, case_text: str, pictures: Pictures | None = None) -> PageData:
    """Put a job into tables.

    Parameters
    ----------
    case_text : str
        The case file.
    pictures : Pictures, optional
        Of the wiring, in which the checks are shown.
    """
    work, diagnosis = consultation.job, consultation.diagnosis
    pictures = pictures or Pictures(work)
    sheet = work.circuit.sheet
    movements = {part.entry.cells.circuit.id: part.entry.cells.circuit.sheet.words for part in work.suspects}
    places = {suspect.fault: suspect.place_words for suspect in diagnosis.ranking}
    suspects = [
        PageSuspect(
            entry.fault,
            entry.words,
            places.get(entry.fault, ""),
            entry.repair.replace("_", " "),
            movements[entry.circuit] if len(movements) > 1 else "",
            _rounded(float(weight) * work.share),
        )
        for entry, weight in zip(work.hypotheses, work.weight, strict=True)
    ]
    plan = Planned(-1, "") if consultation.cured else plan_ahead(work)
    numbers = _telling(work, {*checks_of(plan)})
    checks = tuple(_check(work, work.options[number], pictures) for number in numbers)
    others = _rounded(1.0 - work.share)
    first = (*(danger.words for danger in consultation.first), *consultation.told_first)
    suspects.append(PageSuspect("none_of_these", "a rarer fault, or none of these", "", "", "", others))
    return PageData(
        title=consultation.gauge_words,
        complaint=_complaint(consultation),
        suspects=tuple(suspects),
        checks=checks,
        plan=renumbered(
            plan, {number: k for k, number in enumerate(numbers)}, [len(check.outcomes) for check in checks]
        ),
        places=tuple(
            PagePlace(place.words, place.setup_minutes, place.id in work.opened)
            for place in sheet.places.values()
        ),
        sound=tuple(_sound_needles(work)),
        cautions=(*first, *_cautions(consultation)),
        first=len(first),
        case=open_ended(case_text),
        key=hashlib.sha256(case_text.encode()).hexdigest()[:16],
        cells=page_cells(work),
        repairs=() if consultation.cured else page_repairs(consultation),
        cured=_cure(consultation),
        names=page_names(work),
        stage=stage(consultation.case),
        short={caution.words: caution.short for caution in sheet.cautions.values()},
    )


def _cautions(consultation: Consultation) -> tuple[str, ...]:
    """What holds whatever is done next, with what has to be known before the first check in full."""
    proving = consultation.proof_cautions if consultation.cured else ()
    before = scopes(consultation.case, (consultation.circuit, *consultation.circuits))
    told = {*consultation.scope, *consultation.told_first}
    return (
        *proving,
        *(scope.words for scope in before),
        *(text for text in consultation.cautions if text not in told),
    )


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")


def _complaint(consultation: Consultation) -> tuple[str, ...]:
    """What was said, and not what follows from silence."""
    told = [each for each in consultation.diagnosis.posteriors[0].observations if not each.implied]
    texts = [f"{each.subject.removesuffix(',')}: {each.seen}" for each in told]
    return tuple(text[:1].upper() + text[1:] for text in texts)


def _cure(consultation: Consultation) -> PageCure | None:
    if not consultation.cured:
        return None
    proving = consultation.proof
    return PageCure(consultation.cured_words, page_proof(consultation, proving), proving.watch_words)


def _telling(work: Job, needed: set[int]) -> list[int]:
    """Numbers of the checks that tell most, at all or for their time, and of those needed, in order."""
    bits = np.array([information(work.weight, option.table) for option in work.options])
    worth = bits / np.array([minutes_of(work, option) for option in work.options])
    most = {*np.argsort(-bits, kind="stable")[:MOST_CHECKS].tolist()}
    quick = {*np.argsort(-worth, kind="stable")[:MOST_CHECKS].tolist()}
    return sorted({i for i in most | quick if bits[i] >= TELLING} | needed)


def _check(work: Job, option: Option, pictures: Pictures) -> PageCheck:
    advice = advice_on(work, option)
    check = option.check
    names = list(work.circuit.sheet.places)
    by_outcome = np.vstack([option.table, rest_shows(work, option.table)]).T
    seen = see(Situation.of(work.circuit, option.state, check)) if not check.kind.inspects else None
    marks = page_marks(work.circuit, check)
    return PageCheck(
        id=option.id,
        words=advice.words,
        state=advice.state_words,
        sound=sound_words(work, option, seen),
        minutes=option.minutes,
        places=tuple(names.index(place) for place in check.places),
        cautions=advice.cautions,
        outcomes=tuple(
            PageOutcome(outcome_words(check.reads, word), entry(work, option, word))
            for word in option.classes
        ),
        likelihood=tuple(tuple(map(_rounded, row)) for row in by_outcome.tolist()),
        number=page_number(work, option),
        picture=pictures.showing(marks) if marks else "",
        marks=marks,
        order=advice.in_order,
        burns=tuple(map(_rounded, work.burns.get(option.id, np.zeros(0)).tolist())),
    )


def _sound_needles(work: Job) -> Iterator[PageReading]:
    for state in work.circuit.sheet.states.values():
        for gauge, needle in see(Situation.of(work.circuit, state.id)).needles.items():
            band = "" if needle.low is None else f" ({needle.low:.2f} to {needle.high:.2f})"
            word = "not driven" if needle.low is None else spoken(needle.word)
            called = work.circuit.sheet.gauges[gauge].called
            yield PageReading(called, state.words, f"{word}{band}")
