"""What travels in the job page: suspects, checks, likelihoods and costs as plain tables."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from gaugesim.diagnose import Diagnosis
from gaugesim.plan.advice import advice, information
from gaugesim.plan.job import Job, Option
from gaugesim.reading import see, situation

# checks that tell less than this at the outset are left out, and no more than this many travel
TELLING, MOST_CHECKS = 0.003, 90
# digits of a likelihood: both the page and its Python twin reckon with the same rounded numbers
DIGITS = 7


@dataclass(frozen=True)
class PageSuspect:
    """A suspect on the page; attributes as in `Suspect`."""

    fault: str
    words: str
    place: str
    repair: str
    probability: float


@dataclass(frozen=True)
class PageOutcome:
    """An outcome to tap.

    Attributes
    ----------
    words : str
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
    check, words, state : str
    minutes : float
        Without set-up.
    places : tuple of int
    cautions : tuple of str
    outcomes : tuple of PageOutcome
    likelihood : tuple of tuple of float
        For each outcome, its probability under each suspect and, last, under none of these.
    """

    check: str
    words: str
    state: str
    minutes: float
    places: tuple[int, ...]
    cautions: tuple[str, ...]
    outcomes: tuple[PageOutcome, ...]
    likelihood: tuple[tuple[float, ...], ...]


@dataclass(frozen=True)
class PagePlace:
    """A place on the page."""

    words: str
    minutes: float
    open: bool


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
    title : str
    complaint : tuple of str
        What was seen, in words.
    suspects : tuple of PageSuspect
        "None of these" last.
    checks : tuple of PageCheck
    places : tuple of PagePlace
    sound : tuple of PageReading
    cautions : tuple of str
    case : str
        The case file as it stands.
    """

    title: str
    complaint: tuple[str, ...]
    suspects: tuple[PageSuspect, ...]
    checks: tuple[PageCheck, ...]
    places: tuple[PagePlace, ...]
    sound: tuple[PageReading, ...]
    cautions: tuple[str, ...]
    case: str

    def as_json(self) -> str:
        """The same as JSON that may stand inside a script element."""
        text = json.dumps(asdict(self), ensure_ascii=True, allow_nan=False, separators=(",", ":"))
        return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def page_data(work: Job, case_text: str, cautions: tuple[str, ...]) -> PageData:
    """Put a job into tables.

    Parameters
    ----------
    work : Job
    case_text : str
        The case file.
    cautions : tuple of str
        What holds whatever is done.

    Returns
    -------
    PageData
    """
    found = work.diagnosis
    sheet = work.circuit.sheet
    none = found.none_of_these
    suspects = [
        PageSuspect(
            entry.fault,
            entry.words,
            _place_words(work, entry.fault),
            entry.repair.replace("_", " "),
            _rounded(float(weight) * (1.0 - none)),
        )
        for entry, weight in zip(work.hypotheses, work.weight, strict=True)
    ]
    suspects.append(PageSuspect("none_of_these", "none of these", "", "", _rounded(none)))
    return PageData(
        title=f"{sheet.gauges[found.gauge].words} ({work.circuit.id})",
        complaint=_complaint(found),
        suspects=tuple(suspects),
        checks=tuple(_check(work, option) for option in _telling(work)),
        places=tuple(
            PagePlace(place.words, place.setup_minutes, place.id in work.opened)
            for place in sheet.places.values()
        ),
        sound=tuple(_sound(work)),
        cautions=cautions,
        case=case_text,
    )


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")


def _place_words(work: Job, fault: str) -> str:
    for suspect in work.diagnosis.ranking:
        if suspect.fault == fault:
            return suspect.place_words
    return ""


def _complaint(found: Diagnosis) -> tuple[str, ...]:
    return tuple(f"{entry.subject}: {entry.seen}" for entry in found.posteriors[0].observations)


def _telling(work: Job) -> list[Option]:
    """The checks that tell most, in the order of the circuit's list."""
    bits = np.array([information(work.weight, option.table) for option in work.options])
    chosen = sorted(np.argsort(-bits, kind="stable")[:MOST_CHECKS].tolist())
    return [work.options[i] for i in chosen if bits[i] >= TELLING]


def _check(work: Job, option: Option) -> PageCheck:
    told = advice(work, option)
    words = {outcome.outcome: outcome.words for outcome in told.outcomes}
    names = list(work.circuit.sheet.places)
    # an unmodelled cause shows what the modelled ones show on average, and anything else as well
    broad = 0.8 * (work.weight @ option.table) + 0.2 / len(option.classes)
    kept = [k for k, name in enumerate(option.classes) if name in words]
    return PageCheck(
        check=option.check.id,
        words=told.words,
        state=told.state_words,
        minutes=option.minutes,
        places=tuple(names.index(place) for place in option.check.places),
        cautions=told.cautions,
        outcomes=tuple(
            PageOutcome(words[option.classes[k]], _entry(work, option, option.classes[k])) for k in kept
        ),
        likelihood=tuple(
            (*map(_rounded, option.table[:, k].tolist()), _rounded(float(broad[k]))) for k in kept
        ),
    )


def _entry(work: Job, option: Option, outcome: str) -> str:
    """An outcome as it stands in a case file."""
    check = option.check
    if check.reads == "look":
        return f'[[inspected]]\npart = "{check.part}"\nfound = "{outcome}"\n'
    lines = ["[[measured]]", f'check = "{check.id}"', f'state = "{option.state}"']
    if check.reads == "jump":
        lines.append(f'moves = "{"jumps" if outcome == "jumps" else "never"}"')
    elif check.reads == "needle":
        several = len(work.circuit.sheet.gauges) > 1
        lines += [f'gauge = "{check.gauge or work.diagnosis.gauge}"'] if several else []
        lines.append('moves = "never"' if outcome == "undriven" else f'needle = "{outcome}"')
    elif check.reads == "ohms" and outcome == "sound":
        ohms = see(situation(work.circuit, option.state, check)).reading
        lines.append(f"ohms = {float(ohms.value) if ohms else 0.0:.4g}")
    else:
        lines.append(f'{check.reads} = "{outcome}"')
    return "\n".join(lines) + "\n"


def _sound(work: Job) -> Iterator[PageReading]:
    for state in work.circuit.sheet.states.values():
        needles = see(situation(work.circuit, state.id)).needles
        for gauge, needle in needles.items():
            band = "" if needle.low is None else f" ({needle.low:.2f} to {needle.high:.2f})"
            yield PageReading(gauge.replace("_", " "), state.words, f"{needle.word.replace('_', ' ')}{band}")


def restored(text: str) -> Any:
    """The tables out of the page's JSON, as a test or another program reads them.

    Parameters
    ----------
    text : str

    Returns
    -------
    dict
    """
    return json.loads(text)
