"""What travels in the job page: suspects, checks, likelihoods and costs as plain tables."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass

import numpy as np

from gaugesim.consultation import Consultation
from gaugesim.diagnose import Diagnosis
from gaugesim.plan.advice import advice, information, minutes_of, outcome_words
from gaugesim.plan.job import Job, Option
from gaugesim.reading import Reading, Seen, see, situation
from gaugesim.reading.words import spoken
from gaugesim.report.planned import Planned, checks_of, planned, renumbered

# checks that tell less than this at the outset [bit] are left out; of those that tell most, and of those that
# tell most for their time, no more than this many travel
TELLING, MOST_CHECKS = 0.001, 70
# an unmodelled cause shows anything at all with this probability, else what the modelled ones show on average
ANYTHING = 0.2
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
    check, name, words, state : str
        Its id, its short name, what to do, and in which state.
    sound : str
        What it shows when all is sound.
    minutes : float
        Without set-up.
    likelihood : tuple of tuple of float
        For each outcome, its probability under each suspect and, last, under none of these.
    """

    check: str
    name: str
    words: str
    state: str
    sound: str
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
    complaint : tuple of str
        What was seen, in words.
    suspects : tuple of PageSuspect
        "None of these" last, with the faults that are too rare to be listed.
    plan : Planned
        What to do first, its checks numbered as here.
    finished : tuple of str
        If the case is at its end: what was mended, and what must be seen to prove it.
    case : str
        The case file as it stands.
    """

    title: str
    complaint: tuple[str, ...]
    suspects: tuple[PageSuspect, ...]
    checks: tuple[PageCheck, ...]
    plan: Planned
    places: tuple[PagePlace, ...]
    sound: tuple[PageReading, ...]
    finished: tuple[str, ...]
    cautions: tuple[str, ...]
    case: str

    def as_json(self) -> str:
        """The same as JSON that may stand inside a script element."""
        text = json.dumps(asdict(self), ensure_ascii=True, allow_nan=False, separators=(",", ":"))
        return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def page_data(consultation: Consultation, case_text: str) -> PageData:
    """Put a job into tables.

    Parameters
    ----------
    case_text : str
        The case file.
    """
    work, found = consultation.job, consultation.diagnosis
    sheet = work.circuit.sheet
    movements = {part.entry.cells.circuit.id: part.entry.cells.circuit.sheet.words for part in work.suspects}
    places = {suspect.fault: suspect.place_words for suspect in found.ranking}
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
    plan = Planned(-1, "") if consultation.cured else planned(work)
    numbers = _telling(work, {*checks_of(plan)})
    others = _rounded(1.0 - work.share)
    suspects.append(PageSuspect("none_of_these", "a rarer fault, or none of these", "", "", "", others))
    return PageData(
        title=consultation.title,
        complaint=_complaint(found),
        suspects=tuple(suspects),
        checks=tuple(_check(work, work.options[number]) for number in numbers),
        plan=renumbered(plan, {number: k for k, number in enumerate(numbers)}),
        places=tuple(
            PagePlace(place.words, place.setup_minutes, place.id in work.opened)
            for place in sheet.places.values()
        ),
        sound=tuple(_sound_needles(work)),
        finished=_finished(consultation),
        cautions=(
            *(danger.words for danger in consultation.first),
            *(consultation.proof_cautions if consultation.cured else ()),
            *consultation.cautions,
        ),
        case=open_ended(case_text),
    )


def open_ended(text: str) -> str:
    r"""A case file that takes further entries at its end.

    Returns
    -------
    str
        The same unless measurements or inspections stand in a list, ``measured = [{...}]``, which takes no
        ``[[measured]]`` after it; then these are written out one by one.

    Examples
    --------
    >>> print(open_ended('circuit = "a"\ninspected = [{part = "fuse", found = "sound"}]'))
    circuit = "a"
    <BLANKLINE>
    [[inspected]]
    part = "fuse"
    found = "sound"
    <BLANKLINE>
    """
    import tomlkit
    from tomlkit.items import Array

    document = tomlkit.parse(text)
    listed = {
        name: document[name] for name in ("measured", "inspected") if isinstance(document.get(name), Array)
    }
    if not listed:
        return text
    for name in listed:
        document.remove(name)
    entries = [
        f"[[{name}]]\n{tomlkit.dumps(dict(entry))}"
        for name, rows in listed.items()
        for entry in rows.unwrap()
    ]
    return "\n".join([tomlkit.dumps(document).rstrip() + "\n", *entries])


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")


def _name(check: str) -> str:
    """The id of a check as a person says it."""
    return check.replace("_", " ").replace(":", " ")


def _complaint(found: Diagnosis) -> tuple[str, ...]:
    told = (
        f"{_name(entry.subject).removesuffix(',')}: {entry.seen}"
        for entry in found.posteriors[0].observations
    )
    return tuple(text[:1].upper() + text[1:] for text in told)


def _finished(consultation: Consultation) -> tuple[str, ...]:
    if not consultation.cured:
        return ()
    left = consultation.proof_left
    then = "to prove it, the needle must be" if left else "it is proven, the job is done"
    return (
        f"Mended: {consultation.cured_words}; {then}",
        *(f"{need.state_words}: {need.word}" for need in left),
    )


def _telling(work: Job, needed: set[int]) -> list[int]:
    """Numbers of the checks that tell most, at all or for their time, and of those needed, in order."""
    bits = np.array([information(work.weight, option.table) for option in work.options])
    worth = bits / np.array([minutes_of(work, option) for option in work.options])
    most = {*np.argsort(-bits, kind="stable")[:MOST_CHECKS].tolist()}
    quick = {*np.argsort(-worth, kind="stable")[:MOST_CHECKS].tolist()}
    return sorted({i for i in most | quick if bits[i] >= TELLING} | needed)


def _check(work: Job, option: Option) -> PageCheck:
    told = advice(work, option)
    check = option.check
    names = list(work.circuit.sheet.places)
    broad = (1 - ANYTHING) * (work.weight @ option.table) + ANYTHING / len(option.classes)
    by_outcome = np.vstack([option.table, broad]).T
    seen = see(situation(work.circuit, option.state, check)) if check.reads != "look" else None
    return PageCheck(
        check=check.id,
        name=_name(check.id),
        words=told.words,
        state=told.state_words,
        sound=_sound(work, option, seen),
        minutes=option.minutes,
        places=tuple(names.index(place) for place in check.places),
        cautions=told.cautions,
        outcomes=tuple(
            PageOutcome(outcome_words(check.reads, word), _entry(work, option, word, seen))
            for word in option.classes
        ),
        likelihood=tuple(tuple(map(_rounded, row)) for row in by_outcome.tolist()),
    )


def _gauge(work: Job, option: Option) -> str:
    """The gauge whose needle a check reads."""
    return option.check.gauge or work.diagnosis.gauge


def _sound(work: Job, option: Option, seen: Seen | None) -> str:
    reads = option.check.reads
    if seen is None:
        return "looks sound"
    if reads == "jump":
        return outcome_words("jump", "steady")
    if seen.reading is None:
        return outcome_words("needle", seen.needles[_gauge(work, option)].word)
    return _instrument(seen.reading)


def _instrument(reading: Reading) -> str:
    if reading.kind == "lamp":
        return f"lamp {reading.value}"
    if reading.open:
        return "open"
    band = _band(float(reading.low), float(reading.high), reading.kind == "ohms")
    return f"{band}, pulsing" if reading.pulses else band


def _band(low: float, high: float, is_ohms: bool) -> str:
    """Two ends as a meter shows them; no hand-held one shows less than 0.1 ohm or 1 mV."""
    if is_ohms and high < 0.1:
        return "less than 0.1 ohm"
    if not is_ohms and max(abs(low), abs(high)) < 0.001:
        return "less than 1 mV"
    factor, unit = (
        (1.0, "ohm") if is_ohms else (1.0, "V") if max(abs(low), abs(high)) >= 1 else (1000.0, "mV")
    )
    ends = [
        f"{end:.0f}" if abs(end) >= 100 or unit == "mV" else f"{end:.1f}"
        for end in (factor * low, factor * high)
    ]
    return f"{' to '.join(dict.fromkeys(ends))} {unit}"


def _entry(work: Job, option: Option, outcome: str, seen: Seen | None) -> str:
    """An outcome as it stands in a case file."""
    check = option.check
    if check.reads == "look":
        return f'[[inspected]]\npart = "{check.part}"\nfound = "{outcome}"\n'
    lines = ["[[measured]]", f'check = "{check.id}"', f'state = "{option.state}"']
    if check.reads == "jump":
        lines.append(f'moves = "{"jumps" if outcome == "jumps" else "never"}"')
    elif check.reads == "needle":
        several = len(work.circuit.sheet.gauges) > 1
        lines += [f'gauge = "{_gauge(work, option)}"'] if several else []
        lines.append('moves = "never"' if outcome == "undriven" else f'needle = "{outcome}"')
    elif check.reads == "ohms" and outcome == "sound":
        # a case file has no word for it, so what a sound circuit reads stands there
        sound = seen.reading if seen else None
        lines.append(f"ohms = {float(sound.value) if sound else 0.0:.4g}")
    else:
        lines.append(f'{check.reads} = "{outcome}"')
    return "\n".join(lines) + "\n"


def _sound_needles(work: Job) -> Iterator[PageReading]:
    for state in work.circuit.sheet.states.values():
        for gauge, needle in see(situation(work.circuit, state.id)).needles.items():
            band = "" if needle.low is None else f" ({needle.low:.2f} to {needle.high:.2f})"
            word = "not driven" if needle.low is None else spoken(needle.word)
            called = work.circuit.sheet.gauges[gauge].called
            yield PageReading(called, state.words, f"{word}{band}")
