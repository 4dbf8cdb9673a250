"""A planning problem out of a diagnosis: which checks are worth anything, and what each would show."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial

import numpy as np

from gaugesim.advice.hazard import WARNING, Refused, burning, mending, refused_repairs, safe, warned
from gaugesim.advice.remedy import Repair, repair_costs
from gaugesim.advice.suspects import BEARING, Hypothesis, Shown, Suspects
from gaugesim.advice.telling import information, tells_by_luck
from gaugesim.arrays import Floats
from gaugesim.case import Case, Inspected, Measured, Seen, known_place
from gaugesim.circuit import Circuit
from gaugesim.diagnosis import Diagnosis
from gaugesim.planning.problem import BELIEVED, CHECK, REPAIR, Problem, Step
from gaugesim.scenario.check import Check, find_check
from gaugesim.scenario.check_list import check_ids, looks
from gaugesim.vocabulary import UNDRIVEN

# what a check changes must tell so much by itself, or it is nothing but a look at the needle [bit]
MERELY = 0.02


@dataclass(frozen=True)
class Option:
    """A check in a state, with what it would show.

    Attributes
    ----------
    minutes : float
        Of the check and of getting into the state; set-up of its places not counted.
    classes : tuple of str
        What may be seen.
    table : ndarray, shape (hypotheses, classes)
        Probability of each under each hypothesis.
    """

    check: Check
    state: str
    minutes: float
    classes: tuple[str, ...]
    table: Floats

    @property
    def id(self) -> str:
        """The check's id and the state."""
        return f"{self.check.id}@{self.state}"


@dataclass(frozen=True)
class Job:
    """A diagnosis as a planning problem.

    Attributes
    ----------
    circuit : Circuit
        The likeliest.
    weight : ndarray, shape (hypotheses,)
        Probability of each; they sum to 1.
    problem : Problem
        The same in numbers; its checks are numbered as ``options``, its faults as ``hypotheses``.
    repairs : tuple of str
        Names of the problem's repairs: the part to be mended.
    opened : frozenset of str
        Places that are open already.
    suspects : tuple of Suspects
        One for each candidate circuit, likeliest first.
    remedies : mapping
        From the names of repairs to what they are.
    refused : tuple of Refused
        Steps that are not proposed, because a fault that is believed would make them burn.
    burns : mapping
        From ``check@state`` and the names of repairs to how likely they would burn something under each
        hypothesis, shape (hypotheses,); those that never do are left out.
    """

    diagnosis: Diagnosis
    circuit: Circuit
    hypotheses: tuple[Hypothesis, ...]
    weight: Floats
    options: tuple[Option, ...]
    problem: Problem
    repairs: tuple[str, ...]
    opened: frozenset[str]
    suspects: tuple[Suspects, ...]
    remedies: Mapping[str, Repair]
    refused: tuple[Refused, ...] = ()
    burns: Mapping[str, Floats] = field(default_factory=dict)

    @cached_property
    def share(self) -> float:
        """Probability that it is one of the hypotheses: rarer faults are left out."""
        return sum(float(part.weight.sum()) for part in self.suspects)

    @cached_property
    def places(self) -> tuple[str, ...]:
        """Names of the problem's places."""
        return tuple(self.circuit.sheet.places)

    def after(self, option: Option, outcome: int) -> Floats:
        """Probability of each hypothesis after an outcome.

        Parameters
        ----------
        outcome : int
            Which of its classes.

        Returns
        -------
        ndarray, shape (hypotheses,)
        """
        joint = self.weight * option.table[:, outcome]
        total = joint.sum()
        return joint / total if total > 0 else self.weight

    def would_burn(self, name: str, weight: Floats | None = None) -> bool:
        """Whether a step may not be proposed, because something that is believed would make it burn.

        Parameters
        ----------
        name : str
            ``check@state``, or a repair.
        weight : ndarray, shape (hypotheses,), optional
            Probability of each hypothesis; the job's own if left out.
        """
        weight = self.weight if weight is None else weight
        return name in self.burns and bool(self.burns[name] @ weight > BELIEVED * weight.sum())


def job(
    diagnosis: Diagnosis,
    rate_per_hour: float | None = None,
    left_out: Callable[[str, str], bool] = lambda check, state: False,
) -> Job:
    """Make a diagnosis into a planning problem.

    Parameters
    ----------
    rate_per_hour : float, optional
        What an hour of work costs, by which the prices of parts count as minutes. Left out it is the sheet's;
        if that has none prices do not count.
    left_out : callable, optional
        From a check and a state to whether it is not to be made.
    """
    parts = [
        Suspects(entry, diagnosis)
        for entry in diagnosis.posteriors
        if diagnosis.circuits[entry.cells.circuit.id] > BEARING
    ]
    circuit = parts[0].entry.cells.circuit
    hypotheses = tuple(name for part in parts for name in part.hypotheses)
    weight = np.concatenate([part.weight for part in parts])
    weight = weight / weight.sum()
    wanted = _asked(circuit, parts[0].gauge, diagnosis.case)
    chance = burning(parts[0], wanted, diagnosis.case)
    able, refused = safe(parts[0], wanted, chance)
    asked = [(check, state) for check, state in able if not left_out(check.id, state)]
    options = tuple(_options(parts, circuit, asked))
    names = tuple(circuit.sheet.places)
    # of a repair that several candidate circuits know, the likeliest's counts
    remedies = {repair.name: repair for part in reversed(parts) for repair in part.repairs}
    repairs = tuple(dict.fromkeys(entry.repair for entry in hypotheses))
    rate = circuit.sheet.rate_per_hour if rate_per_hour is None else rate_per_hour
    opened = opened_places(diagnosis, circuit)
    mended = mending(parts[0], [remedies[name] for name in repairs], diagnosis.case)
    refused += refused_repairs(parts[0], [remedies[name] for name in repairs], mended)
    burns = _burns(
        parts[0],
        hypotheses,
        [*(f"{check.id}@{state}" for check, state in wanted), *repairs],
        [*chance, *mended],
    )
    steps = [Step(CHECK, i) for i in range(len(options))] + [Step(REPAIR, r) for r in range(len(repairs))]
    names_of = [*(option.id for option in options), *repairs]
    setup = {place.id: place.setup_minutes for place in circuit.sheet.places.values()}
    minutes, places = repair_costs([remedies[name] for name in repairs], setup, opened)
    problem = Problem(
        weight=weight,
        outcomes=tuple(option.table for option in options),
        check_minutes=np.array([option.minutes for option in options]),
        check_places=tuple(tuple(names.index(place) for place in option.check.places) for option in options),
        setup_minutes=np.array([*setup.values()]),
        repair_minutes=minutes,
        repair_places=places,
        repair_of=np.array([repairs.index(entry.repair) for entry in hypotheses], dtype=np.intp),
        opened=frozenset(names.index(place) for place in opened),
        price=np.array([remedies[name].price for name in repairs]),
        price_per_minute=np.inf if rate is None else rate / 60.0,
        harm={step: burns[name] for step, name in zip(steps, names_of, strict=True) if name in burns},
    )
    return Job(
        diagnosis,
        circuit,
        hypotheses,
        weight,
        options,
        problem,
        repairs,
        opened,
        tuple(parts),
        remedies,
        refused,
        burns,
    )


def _burns(
    part: Suspects, hypotheses: Sequence[Hypothesis], names: Sequence[str], chance: Sequence[Floats]
) -> dict[str, Floats]:
    """What may burn under each hypothesis; another candidate circuit's is taken to do the same there."""
    number = {entry.fault: i for i, entry in enumerate(part.hypotheses)}
    column = np.array([number.get(entry.fault, len(number)) for entry in hypotheses])
    able = ((name, row) for name, row in zip(names, chance, strict=True) if row.any())
    return {name: np.append(row, 0.0)[column] for name, row in able}


def opened_places(diagnosis: Diagnosis, circuit: Circuit) -> frozenset[str]:
    """Places that the case's own work has opened, and those that need no opening."""
    opened = {place.id for place in circuit.sheet.places.values() if place.setup_minutes == 0}
    for entry in diagnosis.case.entries:
        if isinstance(entry, Measured):
            opened |= {*find_check(circuit, entry.check, diagnosis.gauge).places}
        elif isinstance(entry, Inspected):
            opened.add(circuit.part(entry.part, diagnosis.gauge).place)
    return frozenset(opened)


def _asked(circuit: Circuit, gauge: str, case: Case) -> list[tuple[Check, str]]:
    """Every check in every state worth doing it in, looks first.

    Where the needle changes with something that is switched, volts are measured with it on as well.
    """
    entries = (entry for entry in case.entries if isinstance(entry, Seen) and entry.needle != "same")
    wrong = [entry.between[1] for entry in entries if entry.between]
    asked = [(find_check(circuit, name, gauge), state) for name, state in looks(circuit, gauge)]
    for check in (find_check(circuit, name, gauge) for name in check_ids(circuit, gauge)):
        states = check_states(circuit, check)
        also = wrong if check.reads == "volts" and len(states) > 1 else []
        asked += [(check, state) for state in dict.fromkeys([*states, *also])]
    return asked


def _options(
    parts: Sequence[Suspects], circuit: Circuit, asked: Sequence[tuple[Check, str]]
) -> Iterator[Option]:
    """Checks of the likeliest circuit, as far as they tell anything."""
    columns = _columns(parts, asked, circuit)
    by_luck = partial(
        tells_by_luck,
        np.concatenate([part.weight for part in parts]),
        np.concatenate([part.comes_and_goes for part in parts]),
    )
    for (check, state), (classes, table) in zip(asked, columns, strict=True):
        if np.ptp(table, axis=0).max() < 0.02:
            continue  # it shows the same whatever is wrong
        if not check.kind.is_look and (
            (check.reads == "needle" and _merely_looks(parts[0], check, state, (classes, table)))
            or (not check.kind.by_hand and not check.kind.acting and by_luck(table))
        ):
            continue
        yield _option(parts[0], check, state, (classes, table))


def _merely_looks(part: Suspects, check: Check, state: str, shown: Shown) -> bool:
    """Whether a needle tells no more under a check than it does in the same state with nothing done."""
    own = shown_there(part, check, shown)[1][: len(part.kept)]
    alone = shown_there(part, check, (shown[0], part.needle_alone(check, state)))[1]
    changed = 0.5 * np.abs(own - alone).sum(axis=1)
    news = information(part.weight / part.weight.sum(), np.stack([changed, 1 - changed], axis=1))
    return news < MERELY


def _option(part: Suspects, check: Check, state: str, shown: Shown) -> Option:
    minutes = check.minutes + part.entry.cells.circuit.sheet.states[state].minutes
    return Option(check, state, minutes, *shown_there(part, check, shown))


def shown_there(part: Suspects, check: Check, shown: Shown) -> Shown:
    """What may be seen: a needle that stays where it was is seen there, if it is known where that is."""
    stands = known_place(part.case, check.gauge or part.gauge, part.gauge)
    classes, table = shown
    if not stands or UNDRIVEN not in classes:
        return shown
    *words, still = classes
    assert still == UNDRIVEN
    merged = table[:, :-1].copy()
    merged[:, words.index(stands)] += table[:, -1]
    return tuple(words), merged


def _columns(
    parts: Sequence[Suspects], asked: Sequence[tuple[Check, str]], circuit: Circuit
) -> Iterator[Shown]:
    """What checks show under the hypotheses of all candidates."""
    first, *others = (_shown(part, asked, circuit) for part in parts)
    for i, shown in enumerate(first):
        assert shown is not None
        classes, own = shown
        elsewhere = [
            _as_many(other[i], len(part.kept), len(classes))
            for part, other in zip(parts[1:], others, strict=True)
        ]
        yield classes, np.concatenate([own, *elsewhere])


def option_of(work: Job, check: Check, state: str) -> Option:
    """A check in a state, with what it would show under each hypothesis.

    The job's own, or another if the check tells nothing or has been made already.
    """
    for option in work.options:
        if option.check.id == check.id and option.state == state:
            return option
    if any((entry.name, entry.state) == (check.id, state) for entry in work.refused):
        check = warned(work.suspects[0], check, WARNING)
    [shown] = _columns(work.suspects, [(check, state)], work.circuit)
    return _option(work.suspects[0], check, state, shown)


def _shown(part: Suspects, asked: Sequence[tuple[Check, str]], circuit: Circuit) -> list[Shown | None]:
    """What checks of the likeliest circuit show on a candidate; None for one that cannot be done there."""
    there = part.entry.cells.circuit
    if there is circuit:
        return [*part.tables(asked)]
    ids = {*check_ids(there, part.gauge), *(name for name, _ in looks(there, part.gauge))}
    able = [i for i, (check, state) in enumerate(asked) if check.id in ids and state in there.sheet.states]
    tables = part.tables([(find_check(there, asked[i][0].id, part.gauge), asked[i][1]) for i in able])
    result: list[Shown | None] = [None] * len(asked)
    for i, shown in zip(able, tables, strict=True):
        result[i] = shown
    return result


def _as_many(shown: Shown | None, hypotheses: int, classes: int) -> Floats:
    """A table on another candidate circuit; a check that cannot be done there shows anything."""
    if shown is None or len(shown[0]) != classes:
        return np.full((hypotheses, classes), 1.0 / classes)
    return shown[1]


def check_states(circuit: Circuit, check: Check) -> tuple[str, ...]:
    """States in which a check is worth doing.

    One for what does not depend on it; else key on with the engine stopped, and the default state. Where the
    engine must not run meanwhile the default state is left for one that has it stopped.
    """
    states, usual = circuit.sheet.states, circuit.sheet.default_state
    if check.kind.by_hand or check.setup.dead or check.setup.kept is not None:
        return (
            (("key_off" if check.kind.inspects or check.reads == "ohms" else "key_on_cold"),)
            if "key_off" in states
            else (usual,)
        )
    if check.kind.acting:
        return (usual,)
    if check.stopped and states[usual].running:
        usual = _stopped(circuit, usual, warm=not check.setup.parameters)
    return tuple(dict.fromkeys([*(["key_on_cold"] if "key_on_cold" in states else []), usual]))


def _stopped(circuit: Circuit, usual: str, warm: bool) -> str:
    """The state nearest to the usual one with the engine stopped, and warm if it makes a difference."""
    states = circuit.sheet.states
    cold = "key_on_cold" if "key_on_cold" in states else usual
    values = states[usual].set
    able = [
        name
        for name, state in states.items()
        if warm and state.engine == "warm" and state.set != states[cold].set
    ]
    return min(able, key=lambda name: len(states[name].set.items() ^ values.items()), default=cold)
