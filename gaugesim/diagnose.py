"""Rank the faults that could be behind a complaint, and say why."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path

import numpy as np

from gaugesim import circuit as circuits
from gaugesim.case import Case, Measured, Seen
from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError, GaugesimError, UnsolvableError, unknown_name
from gaugesim.evidence.bind import observations
from gaugesim.evidence.cells import Cells, pair_prior
from gaugesim.evidence.posterior import Posterior, posterior
from gaugesim.evidence.question import Observation
from gaugesim.reading.words import spoken
from gaugesim.scenario.fault import Fault, Pair
from gaugesim.solve.network import Floats

# slices of severity in the first, rough round, and how many pairs of faults are asked about in the second
ROUGH_SLICES, PAIRS = 4, 60
# two faults count as told apart when an observation is this many times likelier under one than the other
TOLD_APART = 1.5
# an observation that is this many times likelier or less likely speaks for or against a fault
SPEAKS = 1.5
# a reading that this improbable, given all the others, is worth repeating
SURPRISING = 0.05


@dataclass(frozen=True)
class Reason:
    """What one observation says of one fault.

    Attributes
    ----------
    subject : str
        What was looked at.
    expected : str
        What this fault leads one to expect.
    seen : str
    times : float
        How many times likelier it is under this fault than under the others together.
    """

    subject: str
    expected: str
    seen: str
    times: float

    @property
    def decisive(self) -> bool:
        """Whether the observation speaks for or against the fault at all."""
        return not 1 / SPEAKS < self.times < SPEAKS

    @property
    def sentence(self) -> str:
        """One plain sentence."""
        strength = (
            f"{_times(self.times)} likelier" if self.times >= 1 else f"{_times(1 / self.times)} less likely"
        )
        seen = "so it was" if self.expected == self.seen else f"it was {self.seen}"
        return f"{self.subject} would be {self.expected}, {seen}: {strength}"


@dataclass(frozen=True)
class Suspect:
    """A fault in the ranking.

    Attributes
    ----------
    fault : str
        ``part=mode``, the name of the gauge complained of left out.
    part, mode : str
    probability : float
    words : str
    place, place_words : str
    repair : str
    repair_minutes : float
    reasons : tuple of Reason
        Strongest first.
    """

    fault: str
    part: str
    mode: str
    probability: float
    words: str
    place: str
    place_words: str
    repair: str
    repair_minutes: float
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class Conflict:
    """An observation that the others speak against.

    Attributes
    ----------
    subject, seen, where : str
    probability : float
        Of that observation, given all the others.
    changes_leader : bool
        Whether another fault leads without it.
    """

    subject: str
    seen: str
    where: str
    probability: float
    changes_leader: bool


@dataclass(frozen=True)
class Diagnosis:
    """What a case comes to.

    Attributes
    ----------
    case : Case
    gauge : str
        The gauge complained of.
    ranking : tuple of Suspect
        Likeliest first.
    circuits : dict
        Probability of each candidate circuit.
    none_of_these : float
    groups : tuple of tuple of str
        Faults that nothing seen so far tells apart.
    conflicts : tuple of Conflict
        Most surprising first.
    posteriors : tuple of Posterior
        One for each circuit, likeliest first.
    """

    case: Case
    gauge: str
    ranking: tuple[Suspect, ...]
    circuits: dict[str, float]
    none_of_these: float
    groups: tuple[tuple[str, ...], ...]
    conflicts: tuple[Conflict, ...]
    posteriors: tuple[Posterior, ...]

    @property
    def circuit(self) -> str:
        """The likeliest circuit."""
        return self.posteriors[0].cells.circuit.id


def candidates(case: Case, netlists_folder: Path | None = None) -> tuple[Circuit, ...]:
    """Circuits that a case names.

    Parameters
    ----------
    case : Case
    netlists_folder : path, optional
        Searched first.

    Returns
    -------
    tuple of Circuit

    Raises
    ------
    CaseError
        If a name or pattern fits none.
    """
    known = circuits.available(netlists_folder)
    chosen: dict[str, Circuit] = {}
    for pattern in case.circuits:
        if pattern.endswith(".cir"):
            path = Path(pattern)
            made = circuits.read(path if path.is_absolute() else case.path.parent / path)
            chosen[made.id] = made
            continue
        fitting = [name for name in known if fnmatchcase(name, pattern)]
        if not fitting:
            reason = unknown_name("circuit", pattern, known)
            raise CaseError(reason.problem, f"{case.path.name}: circuit", reason.remedy)
        chosen |= {name: circuits.find(name, netlists_folder) for name in fitting if name not in chosen}
    return tuple(chosen.values())


def complained_of(case: Case, circuit: Circuit) -> str:
    """The gauge complained of on a circuit.

    Parameters
    ----------
    case : Case
    circuit : Circuit

    Returns
    -------
    str

    Raises
    ------
    CaseError
        If the circuit has several and the case names none of them.
    """
    gauges = list(circuit.sheet.gauges)
    where = f"{case.path.name}: gauge"
    if case.gauge:
        if case.gauge not in gauges:
            raise CaseError(f"{circuit.id} has no gauge {case.gauge!r}", where, f"it has {', '.join(gauges)}")
        return case.gauge
    named = {entry.gauge for entry in case.entries if isinstance(entry, Seen | Measured) and entry.gauge}
    if len(gauges) == 1:
        return gauges[0]
    if len(named) == 1 and named <= set(gauges):
        return str(named.pop())
    raise CaseError("is missing", where, f"{circuit.id} has several: name one of {', '.join(gauges)}")


def diagnose(case: Case, chosen: Sequence[Circuit] | None = None) -> Diagnosis:
    """Rank the faults of all candidate circuits against a case.

    Parameters
    ----------
    case : Case
    chosen : sequence of Circuit, optional
        The candidate circuits, if they are at hand.

    Returns
    -------
    Diagnosis

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
    posteriors: list[Posterior] = []
    refused: list[GaugesimError] = []
    gauge = ""
    for circuit in chosen:
        try:
            gauge = complained_of(case, circuit)
            posteriors.append(_weigh(case, circuit, gauge))
        except CaseError as error:
            # with several candidates, one that lacks what was measured is no candidate
            refused.append(error)
    if not posteriors:
        raise refused[0]
    log = np.array([entry.log_evidence for entry in posteriors])
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
        conflicts=_conflicts(posteriors[0]),
        posteriors=tuple(posteriors),
    )


def _weigh(case: Case, circuit: Circuit, gauge: str) -> Posterior:
    """Single faults roughly first, to see which pairs of them are worth asking about; then all together."""
    rough = Cells(circuit, ROUGH_SLICES, tolerant=False)
    first = posterior(rough, observations(case, rough, gauge))
    cells = Cells(circuit, pairs=likely_pairs(first), sharing=rough)
    return posterior(cells, observations(case, cells, gauge))


def likely_pairs(rough: Posterior) -> tuple[Pair, ...]:
    """Pairs of faults that might explain what neither explains alone, or that one cause strikes together.

    Parameters
    ----------
    rough : Posterior
        Of single faults.

    Returns
    -------
    tuple of Pair
        The likeliest `PAIRS`, if each observation were explained by the better of the two.
    """
    faults = [fault for fault in rough.cells.faults if isinstance(fault, Fault)]
    steady = [i for i, fault in enumerate(faults) if fault.mode.id != "intermittent"]
    log = np.log(np.maximum(rough.explain()[:, steady], 1e-300)).reshape(-1, len(steady))
    best = np.zeros((len(steady), len(steady)))
    for row in log:
        best += np.maximum(row[:, None], row[None, :])
    total = sum(fault.weight for fault in faults)
    scored = []
    circuit = rough.cells.circuit
    for i, j in zip(*np.triu_indices(len(steady), 1), strict=True):
        pair = Pair(faults[steady[i]], faults[steady[j]])
        if pair.first.part.id != pair.second.part.id:
            scored.append(
                (float(best[i, j]) + np.log(max(pair_prior(circuit, pair, total), 1e-300)), int(i), int(j))
            )
    scored.sort(reverse=True)
    return tuple(Pair(faults[steady[i]], faults[steady[j]]) for _, i, j in scored[:PAIRS])


def _ranking(posteriors: Sequence[Posterior], share: Floats, case: Case) -> tuple[Suspect, ...]:
    """Add up by part and mode over the circuits."""
    found: dict[str, tuple[float, Posterior, int, float]] = {}
    for entry, weight in zip(posteriors, share, strict=True):
        gauge = complained_of(case, entry.cells.circuit)
        for i, fault in enumerate(entry.cells.faults):
            name = fault_name(entry.cells.circuit, fault, gauge)
            own = float(weight * entry.fault[i])
            before = found.get(name)
            if before is None:
                found[name] = (own, entry, i, own)
            elif own > before[3]:
                found[name] = (before[0] + own, entry, i, own)
            else:
                found[name] = (before[0] + own, *before[1:])
    listed = sorted(found.items(), key=lambda item: -item[1][0])
    explained = {id(entry): entry.explain() for entry in posteriors}
    return tuple(_suspect(name, *item[:3], explained[id(item[1])]) for name, item in listed)


def fault_name(circuit: Circuit, fault: Fault | Pair, gauge: str) -> str:
    """A fault as the ranking calls it: the name of the gauge complained of left out.

    Parameters
    ----------
    circuit : Circuit
    fault : Fault or Pair
    gauge : str

    Returns
    -------
    str
        ``part=mode``, or ``a=mode+b=mode``.
    """
    return "+".join(f"{circuit.short_name(one.part.id, gauge)}={one.mode.id}" for one in fault.singles)


def _suspect(name: str, probability: float, entry: Posterior, i: int, explained: Floats) -> Suspect:
    fault = entry.cells.faults[i]
    parts = [one.part for one in fault.singles]
    names = [one.split("=") for one in name.split("+")]
    return Suspect(
        fault=name,
        part="+".join(part for part, _ in names),
        mode="+".join(mode for _, mode in names),
        probability=probability,
        words=fault.words,
        place=parts[0].place,
        place_words=entry.cells.circuit.sheet.places[parts[0].place].words,
        repair="; ".join(dict.fromkeys(part.repair for part in parts)),
        repair_minutes=sum(part.repair_minutes for part in parts),
        reasons=_reasons(entry, i, explained) if probability > 0.005 else (),
    )


def _reasons(entry: Posterior, i: int, explained: Floats) -> tuple[Reason, ...]:
    reasons = []
    others = np.arange(len(entry.fault)) != i
    own = entry.within * (entry.cells.fault == i)
    for row, observation in zip(explained, entry.observations, strict=True):
        # the others together, each weighed by what all the other observations leave of it
        total = entry.fault[others].sum()
        average = total / (entry.fault[others] / row[others]).sum() if total > 0 else observation.broad
        times = float(row[i] / average)
        reasons.append(Reason(observation.subject, _expected(observation, own), observation.seen, times))
    return tuple(sorted(reasons, key=lambda reason: -abs(np.log(max(reason.times, 1e-300)))))


def _expected(observation: Observation, weight: Floats) -> str:
    """What a fault leads one to expect, in the words of the observation."""
    question = observation.question
    if question.table is not None:
        chances = (weight @ question.table) / max(float(weight.sum()), 1e-300)
        undecided = np.ptp(chances) < 0.02  # nothing drives it, or it has nothing to do with it
        return "anything" if undecided else spoken(question.classes[int(np.argmax(chances))])
    mean = question.shown.mean
    known = ~np.isnan(mean) & (weight > 0)
    if not np.any(known):
        return "anywhere"
    value = float((weight[known] @ mean[known]) / weight[known].sum())
    if observation.seen.endswith("ohm") or observation.seen == "open":
        return "open" if value > np.log(4e7) else f"about {np.exp(value):.3g} ohm"
    return f"about {value:.3g} V" if observation.seen.endswith("V") else f"about {value:.2f}"


def _groups(posteriors: Sequence[Posterior], share: Floats, case: Case) -> tuple[tuple[str, ...], ...]:
    """Faults that nothing seen tells apart, likeliest first; only those still in question."""
    entry = posteriors[0]
    gauge = complained_of(case, entry.cells.circuit)
    rows = np.log(np.maximum(entry.explain(), 1e-300))
    order = [i for i in np.argsort(-entry.fault, kind="stable") if entry.fault[i] * share[0] >= 0.005]
    groups: list[list[int]] = []
    for i in order:
        for group in groups:
            if rows.size == 0 or np.max(np.abs(rows[:, i] - rows[:, group[0]])) < np.log(TOLD_APART):
                group.append(int(i))
                break
        else:
            groups.append([int(i)])

    def name(i: int) -> str:
        return fault_name(entry.cells.circuit, entry.cells.faults[i], gauge)

    return tuple(tuple(name(i) for i in group) for group in groups if len(group) > 1)


def _conflicts(entry: Posterior) -> tuple[Conflict, ...]:
    """Observations that the others make improbable: each left out in turn, from what is already known."""
    if len(entry.observations) < 2:
        return ()
    explained = entry.explain()
    leader = int(np.argmax(entry.fault))
    conflicts = []
    for row, observation in zip(explained, entry.observations, strict=True):
        rest = entry.fault / row
        probability = float(entry.fault.sum() / rest.sum())
        # a density becomes a probability over the class of readings that would be called the same
        scale = 1.0 if not observation.question.is_number else 1.0 / (4.0 * observation.broad)
        if probability * min(scale, 1.0) < SURPRISING and probability < 0.5 * observation.broad:
            changes = int(np.argmax(rest)) != leader
            conflicts.append(
                Conflict(observation.subject, observation.seen, observation.where, probability, changes)
            )
    return tuple(sorted(conflicts, key=lambda conflict: (not conflict.changes_leader, conflict.probability)))


def caution_texts(circuit: Circuit, ids: Iterable[str]) -> tuple[str, ...]:
    """Texts of a sheet's cautions, each once.

    Parameters
    ----------
    circuit : Circuit
    ids : iterable of str

    Returns
    -------
    tuple of str
    """
    return tuple(circuit.sheet.cautions[name] for name in dict.fromkeys(ids))


def _times(value: float) -> str:
    if value >= 1000:
        return "over 1000 times"
    return f"{value:.0f} times" if value >= 9.5 else f"{value:.1f} times"
