"""While you are there: which neighbours share the cause, with the chance that they are going too."""

from __future__ import annotations

from dataclasses import dataclass

from gaugesim.diagnosis import Diagnosis
from gaugesim.evidence.cells import SECOND_FAULT
from gaugesim.scenario.caution import mending_cautions
from gaugesim.scenario.fault import Fault

# less than this is not worth a look
WORTH_A_LOOK = 0.005


@dataclass(frozen=True)
class Neighbour:
    """A part to look at or tighten while its place is open.

    Attributes
    ----------
    chance : float
        That it is failing as well.
    because : str
        The cause that it shares, or that it is at the same place.
    action : str
        What mends it.
    cautions : tuple of str
        Of doing so, the worst first.
    """

    part: str
    words: str
    chance: float
    because: str
    action: str
    cautions: tuple[str, ...]


def while_you_are_there(diagnosis: Diagnosis, place: str) -> tuple[Neighbour, ...]:
    """Neighbours at a place that are worth a look while it is open. Likeliest first."""
    entry = diagnosis.posteriors[0]
    sheet = entry.cells.circuit.sheet
    singles = [fault for fault in entry.cells.faults if isinstance(fault, Fault)]
    total = sum(fault.weight for fault in singles)
    share: dict[str, float] = {}
    for fault in singles:
        share[fault.part.id] = share.get(fault.part.id, 0.0) + fault.weight / total
    # chance that each part is at fault on the evidence, alone or with another
    at_fault: dict[str, float] = {}
    for hypothesis, p in zip(entry.cells.faults, entry.fault, strict=True):
        for name in {single.part.id for single in hypothesis.singles}:
            at_fault[name] = at_fault.get(name, 0.0) + float(p)
    neighbours = []
    for part in sheet.parts.values():
        if part.place != place or part.kind == "process":
            continue
        chance, because = at_fault.get(part.id, 0.0), "a suspect itself"
        for group in sheet.groups.values():
            if part.id in group.parts:
                others = sum(at_fault.get(name, 0.0) for name in group.parts if name != part.id)
                shared = min(others, 1.0) * min(2.0 * SECOND_FAULT * group.factor * share[part.id], 0.5)
                if shared > chance:
                    because = group.words
                chance = 1.0 - (1.0 - chance) * (1.0 - shared)
        if chance >= WORTH_A_LOOK:
            beware = mending_cautions(entry.cells.circuit, [part])
            cautions = tuple(caution.words for caution in beware)
            neighbours.append(Neighbour(part.id, part.words, chance, because, part.repair, cautions))
    return tuple(sorted(neighbours, key=lambda neighbour: -neighbour.chance))
