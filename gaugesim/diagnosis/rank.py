"""Rank the faults that could be behind a complaint, and say why."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.case import Case
from gaugesim.circuit import Circuit
from gaugesim.diagnosis.candidate_circuits import addressed, candidates, complained_of, gauges_spoken_of
from gaugesim.diagnosis.fits import check_volts
from gaugesim.diagnosis.pairs import likely_pairs
from gaugesim.diagnosis.result import UNDECIDED, Conflict, Diagnosis, Reason, Suspect
from gaugesim.errors import CaseError, GaugesimError, UnsolvableError
from gaugesim.evidence.bayes import Posterior, posterior
from gaugesim.evidence.bind import observations
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.degrees import ROUGH_SLICES
from gaugesim.evidence.observable import Observation
from gaugesim.reading.words import quantity
from gaugesim.scenario.caution import in_order
from gaugesim.scenario.fault import Fault, Pair

# Two faults count as told apart when something that was seen, or all of it together, is this many times
# likelier under one than under the other; less is "not worth more than a bare mention" (Kass and Raftery, J.
# Amer. Statist. Assoc. 90, 1995, 773-795, from memory)
TOLD_APART = 3.0
# what nobody said is a reason only where it makes a fault so many times likelier or less likely
WORTH_SAYING = 1.25
# a reading that this improbable, given all the others, is worth repeating
SURPRISING = 0.05
# said of a place where the likeliest circuit is fitted in something else
_IN_CRAFT = {"boat": "in a boat", "land": "on land"}


def diagnose(
    case: Case, chosen: Sequence[Circuit] | None = None, before: Diagnosis | None = None
) -> Diagnosis:
    """Rank the faults of all candidate circuits against a case.

    Parameters
    ----------
    chosen : sequence of Circuit, optional
        The candidate circuits, if they are at hand.
    before : Diagnosis, optional
        One of the same circuits with other answers: what it has worked out is used again.

    Raises
    ------
    CaseError
        Where the case speaks of what no candidate has.
    UnsolvableError
        If no candidate circuit can explain the case at all.

    Examples
    --------
    >>> from gaugesim.case import parse
    >>> stuck = [{"state": state, "needle": "half"} for state in ("key_on_cold", "running_warm")]
    >>> diagnose(parse({"circuit": "temp_opposed_coil", "seen": stuck})).ranking[0].fault
    'stud_bias=open'
    """
    chosen = candidates(case) if chosen is None else tuple(chosen)
    earlier = [] if before is None else [entry.cells for entry in before.posteriors]
    posteriors: list[Posterior] = []
    refused: list[GaugesimError] = []
    gauge = ""
    for circuit in chosen:
        try:
            check_volts(case, circuit)
            gauge = complained_of(case, circuit)
            asked = next((cells for cells in earlier if cells.circuit is circuit), None)
            posteriors.append(_weigh(case, circuit, gauge, asked))
        except CaseError as error:
            # with several candidates, one that lacks what was measured is no candidate
            refused.append(error)
    if not posteriors:
        raise refused[0]
    # how common a circuit is counts beside what was seen
    log = np.array([entry.log_evidence + np.log(entry.cells.circuit.sheet.share) for entry in posteriors])
    if not np.any(np.isfinite(log)):
        raise UnsolvableError("no candidate circuit can show what was seen", case.path.name)
    share = np.exp(log - np.logaddexp.reduce(log))
    order = np.argsort(-share, kind="stable")
    posteriors = [posteriors[i] for i in order]
    share = share[order]
    ranking = _ranking(posteriors, share, case)
    return Diagnosis(
        case=case,
        gauge=complained_of(case, posteriors[0].cells.circuit),
        ranking=ranking,
        circuits={entry.cells.circuit.id: float(p) for entry, p in zip(posteriors, share, strict=True)},
        none_of_these=float(sum(p * entry.none_of_these for entry, p in zip(posteriors, share, strict=True))),
        groups=_groups(posteriors, share, case),
        conflicts=_conflicts(posteriors[0], case),
        posteriors=tuple(posteriors),
    )


def _weigh(case: Case, circuit: Circuit, gauge: str, before: Cells | None = None) -> Posterior:
    """Single faults roughly first, to see which pairs of them are worth asking about; then all together."""
    case = addressed(case, circuit)
    gauges = gauges_spoken_of(case, circuit)
    rough = Cells(circuit, ROUGH_SLICES, tolerant=False, before=before and before.sharing, complaint=gauges)
    first = posterior(rough, observations(case, rough, gauge))
    cells = Cells(circuit, pairs=likely_pairs(first), sharing=rough, before=before, complaint=gauges)
    return posterior(cells, observations(case, cells, gauge))


class _Added(NamedTuple):
    """A fault over the circuits: all that it is believed, the most on one, and its number on two of them."""

    total: float
    most: float
    called: tuple[Posterior, int]
    likeliest: tuple[Posterior, int]


def _ranking(posteriors: Sequence[Posterior], share: Floats, case: Case) -> tuple[Suspect, ...]:
    """Add up by part and mode over the circuits, in the words of the likeliest circuit that has it."""
    totals: dict[str, _Added] = {}
    for entry, weight in zip(posteriors, share, strict=True):
        gauge = complained_of(case, entry.cells.circuit)
        for i, fault in enumerate(entry.cells.faults):
            name = fault_name(entry.cells.circuit, fault, gauge)
            own = float(weight * entry.fault[i])
            before = totals.get(name)
            if before is None:
                totals[name] = _Added(own, own, (entry, i), (entry, i))
            else:
                most = max(before.most, own)
                likeliest = (entry, i) if own > before.most else before.likeliest
                totals[name] = _Added(before.total + own, most, before.called, likeliest)
    listed = sorted(totals.items(), key=lambda item: -item[1].total)
    craft = posteriors[0].cells.circuit.sheet.craft
    return tuple(_suspect(name, added, craft) for name, added in listed)


def fault_name(circuit: Circuit, fault: Fault | Pair, gauge: str) -> str:
    """A fault as the ranking calls it: the name of the gauge complained of left out.

    ``part=mode``, or ``a=mode+b=mode``.
    """
    return "+".join(f"{circuit.short_name(each.part.id, gauge)}={each.mode.id}" for each in fault.singles)


def _suspect(name: str, added: _Added, craft: str) -> Suspect:
    entry, i = added.called
    sheet, fault = entry.cells.circuit.sheet, entry.cells.faults[i]
    parts = [single.part for single in fault.singles]
    names = [single.split("=") for single in name.split("+")]
    elsewhere = craft and sheet.craft != craft and _IN_CRAFT.get(sheet.craft)
    likeliest, k = added.likeliest
    return Suspect(
        fault=name,
        part="+".join(part for part, _ in names),
        mode="+".join(mode for _, mode in names),
        probability=added.total,
        words=fault.words,
        place=parts[0].place,
        place_words=sheet.places[parts[0].place].words + (f", {elsewhere}" if elsewhere else ""),
        repair="; ".join(dict.fromkeys(part.repair for part in parts)),
        repair_minutes=sum(part.repair_minutes for part in parts),
        reasons=_reasons(likeliest, k) if added.total > 0.005 else (),
    )


def _reasons(entry: Posterior, i: int) -> tuple[Reason, ...]:
    reasons = []
    others = np.arange(len(entry.fault)) != i
    own = entry.within * (entry.cells.fault == i)
    for row, observation in zip(entry.explained, entry.observations, strict=True):
        # the others together, each weighed by what all the other observations leave of it
        total = entry.fault[others].sum()
        average = total / (entry.fault[others] / row[others]).sum() if total > 0 else observation.broad
        times = float(row[i] / average)
        if observation.implied and abs(np.log(max(times, 1e-300))) < np.log(WORTH_SAYING):
            continue
        expected = _expected(observation, own)
        reasons.append(Reason(observation.subject, expected, observation.seen, times, observation.verb))
    return tuple(sorted(reasons, key=lambda reason: -abs(np.log(max(reason.times, 1e-300)))))


def _expected(observation: Observation, weight: Floats) -> str:
    """What a fault leads one to expect, in the words of the observation."""
    observable = observation.observable
    if observable.table is not None:
        chances = (weight @ observable.table) / max(float(weight.sum()), 1e-300)
        undecided = np.ptp(chances) < 0.02  # nothing drives it, or it has nothing to do with it
        return UNDECIDED if undecided else observable.say(observable.classes[int(np.argmax(chances))])
    mean = observable.shown.mean
    read = ~np.isnan(mean) & (weight > 0)
    if not np.any(read):
        return UNDECIDED
    value = float((weight[read] @ mean[read]) / weight[read].sum())
    assert observable.noise is not None
    wide = float((weight @ np.hypot(observable.noise, observable.shown.deviation)) / weight.sum())
    if abs(value - observation.answer) <= wide:
        return observation.seen
    if observable.unit == "log ohms":
        text = quantity(float(np.exp(value)), "ohm")
        return text if text == "open" else f"about {text}"
    return f"about {quantity(value, 'V')}" if observable.unit == "volts" else f"about {value:.2f}"


def _groups(posteriors: Sequence[Posterior], share: Floats, case: Case) -> tuple[tuple[str, ...], ...]:
    """Faults that nothing seen tells apart, likeliest first; only those still in question."""
    entry = posteriors[0]
    gauge = complained_of(case, entry.cells.circuit)
    rows = np.log(np.maximum(entry.explained, 1e-300))
    # one by one, and all together
    rows = np.concatenate([rows, np.log(np.maximum(entry.fault / entry.cells.prior, 1e-300))[None]])
    order = [i for i in np.argsort(-entry.fault, kind="stable") if entry.fault[i] * share[0] >= 0.005]
    groups: list[list[int]] = []
    for i in order:
        for group in groups:
            if np.max(np.abs(rows[:, i] - rows[:, group[0]])) < np.log(TOLD_APART):
                group.append(int(i))
                break
        else:
            groups.append([int(i)])

    def name(i: int) -> str:
        return fault_name(entry.cells.circuit, entry.cells.faults[i], gauge)

    return tuple(tuple(name(i) for i in group) for group in groups if len(group) > 1)


def _conflicts(entry: Posterior, case: Case) -> tuple[Conflict, ...]:
    """Observations that the others make improbable: each left out in turn, from what is already known.

    One entry contradicts nothing: it takes two that were told.
    """
    if len({observation.where for observation in entry.observations if not observation.implied}) < 2:
        return ()
    cells = entry.cells
    gauge = complained_of(case, cells.circuit)
    leader = int(np.argmax(entry.fault))
    conflicts = []
    for row, observation in zip(entry.explained, entry.observations, strict=True):
        if observation.implied or row[leader] > observation.broad:
            continue  # what leads explains it, however rare that is
        rest = entry.fault / row
        probability = float(entry.fault.sum() / rest.sum())
        # a density becomes a probability over the class of readings that would be called the same
        scale = 1.0 if not observation.observable.is_number else 1.0 / (4.0 * observation.broad)
        if probability * min(scale, 1.0) < SURPRISING and probability < 0.5 * observation.broad:
            other = int(np.argmax(rest))
            conflicts.append(
                Conflict(
                    subject=observation.subject,
                    seen=observation.seen,
                    where=observation.where,
                    probability=min(probability * scale, 1.0),
                    sentence=observation.sentence,
                    leader=fault_name(cells.circuit, cells.faults[other], gauge),
                    leader_words=cells.faults[other].words,
                    changes_leader=other != leader,
                )
            )
    return tuple(sorted(conflicts, key=lambda conflict: (not conflict.changes_leader, conflict.probability)))


def caution_texts(circuit: Circuit, ids: Iterable[str]) -> tuple[str, ...]:
    """Texts of a sheet's cautions, each once, the worst first."""
    return tuple(caution.words for caution in in_order(circuit, ids))
