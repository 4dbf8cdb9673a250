"""What may be mended, as it travels in the page: what it takes, what its failing tells, what proves it."""

from __future__ import annotations

from dataclasses import dataclass

from gaugesim import vocabulary
from gaugesim.advice.jobs import Job
from gaugesim.advice.progress import proven
from gaugesim.advice.proofs import Proof, proof
from gaugesim.advice.remedy import Repair, repair_cautions
from gaugesim.consultation import Consultation
from gaugesim.evidence import handling
from gaugesim.scenario.caution import in_order

# repairs that travel, the likeliest first
MOST_REPAIRS = 6


@dataclass(frozen=True)
class PageProof:
    """A needle that must be seen after a repair, with its cautions and its lines for the case."""

    state: str
    needle: str
    cautions: tuple[str, ...]
    entry: str


@dataclass(frozen=True)
class PageRepair:
    """Something to mend.

    Attributes
    ----------
    part : str
        As a case file names it.
    minutes : float
        Without set-up.
    unchanged : tuple of float
        Under each suspect, none of these last, the probability that nothing is better after it.
    watch : str
        What else to watch for afterwards; empty for nothing.
    """

    part: str
    words: str
    minutes: float
    places: tuple[int, ...]
    cautions: tuple[str, ...]
    unchanged: tuple[float, ...]
    proof: tuple[PageProof, ...]
    watch: str


def page_repairs(consultation: Consultation) -> tuple[PageRepair, ...]:
    """The likeliest repairs of the gauge's own circuit."""
    work = consultation.job
    chance: dict[str, float] = {}
    for entry, weight in zip(work.hypotheses, work.weight, strict=True):
        chance[entry.repair] = chance.get(entry.repair, 0.0) + float(weight)
    names = [name for name in sorted(chance, key=chance.__getitem__, reverse=True) if _in_a_case(work, name)]
    return tuple(_repair(consultation, work.remedies[name]) for name in names[:MOST_REPAIRS])


def _in_a_case(work: Job, name: str) -> bool:
    """Whether a case file has a word for a repair: one part, or the gauge complained of."""
    circuit, gauge = work.circuit, work.diagnosis.gauge
    parts = {circuit.short_name(part, gauge) for part in circuit.sheet.parts}
    return (name in parts or name == "gauge") and not work.remedies[name].process


def _repair(consultation: Consultation, repair: Repair) -> PageRepair:
    work = consultation.job
    circuit = work.circuit
    names = list(circuit.sheet.places)
    proving = proof(work.diagnosis, repair.name, consultation.may_be_had)
    return PageRepair(
        repair.name,
        repair.words,
        repair.minutes,
        tuple(names.index(place) for place in repair.places if place in names),
        tuple(caution.words for caution in repair_cautions(circuit, repair)),
        _unchanged(work, repair),
        page_proof(consultation, proving),
        proving.watch_words,
    )


def _unchanged(work: Job, repair: Repair) -> tuple[float, ...]:
    result = vocabulary.RESULT.classes.index("no_change")
    chances: list[float] = []
    for part in work.suspects:
        circuit = part.entry.cells.circuit
        parts = [name for name in repair.parts if name in circuit.sheet.parts]
        chances += handling.replaced_table(circuit, part.faults, parts)[:, result].tolist()
    return (*chances, float(handling.SOUND_REPLACED[result]))


def page_proof(consultation: Consultation, proving: Proof) -> tuple[PageProof, ...]:
    """What of a proof has not been seen yet."""
    sheet, seen = consultation.circuit.sheet, proven(consultation.case)
    several = len(sheet.gauges) > 1
    return tuple(
        PageProof(
            need.state_words,
            need.word,
            _cautions(consultation, need.state),
            "\n".join(
                [
                    "[[seen]]",
                    f'state = "{need.state}"',
                    *([f'gauge = "{need.gauge}"'] if several else []),
                    'needle = "normal"\n',
                ]
            ),
        )
        for need in proving.must_see
        if need.state not in seen
    )


def _cautions(consultation: Consultation, state: str) -> tuple[str, ...]:
    circuit = consultation.circuit
    chosen = circuit.sheet.states[state]
    return tuple(each.words for each in in_order(circuit, chosen.cautions, chosen.engine))
