"""Never from outside: what no check there tells apart, the cheapest thing that does, the best test point."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from gaugesim.advice.hazard import KEY_OFF
from gaugesim.advice.jobs import Job, check_states
from gaugesim.advice.remedy import other_means
from gaugesim.advice.suspects import OUTSIDE_MINUTES, near, needle_classes
from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.evidence import handling
from gaugesim.evidence import observation as obs
from gaugesim.reading import Situation, respond
from gaugesim.scenario.apparatus import voltmeter
from gaugesim.scenario.caution import check_cautions
from gaugesim.scenario.check import NO_CHECK, Check, Setup, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import HEALTHY, Fault, all_faults, change, find_fault
from gaugesim.scenario.kinds.checks import VOLTS_AT
from gaugesim.scenario.scenarios import stack
from gaugesim.solve.network import GROUND

# two faults look alike when no outcome of any check differs by more than this in probability
ALIKE = 0.35


@dataclass(frozen=True)
class Separation:
    """The cheapest check that tells a group apart, at least in part.

    Attributes
    ----------
    minutes : float
        With the set-up of its places.
    cautions : tuple of str
        The worst first.
    """

    check: str
    words: str
    minutes: float
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class AmbiguityGroup:
    """Faults, at their typical severity, that look alike from outside.

    Attributes
    ----------
    separated_by : Separation or None
        None if nothing that is modelled tells them apart.
    other_means : str
        What tells whether the gauge is right after all, if that is in question; else empty.
    """

    faults: tuple[str, ...]
    words: tuple[str, ...]
    separated_by: Separation | None
    other_means: str


@dataclass(frozen=True)
class TestPoint:
    """A permanent test point that would remove groups.

    Attributes
    ----------
    node : str
        Where it would be.
    told_apart : int
        Pairs of faults that it would tell apart.
    more_groups : int
        Into how many more groups the faults would fall with it.
    """

    node: str
    told_apart: int
    more_groups: int


@dataclass(frozen=True)
class FromOutside:
    """What can and cannot be told from outside on a circuit.

    Attributes
    ----------
    groups : tuple of AmbiguityGroup
        Largest first.
    """

    groups: tuple[AmbiguityGroup, ...]
    test_point: TestPoint | None


def from_outside(circuit: Circuit, gauge: str | None = None) -> FromOutside:
    """Work out what no check from outside could ever tell apart.

    Parameters
    ----------
    gauge : str, optional
        The gauge in question.
    """
    meant = circuit.gauge(gauge).id
    faults = [fault for fault in all_faults(circuit) if fault.part.gauge in ("", meant)]
    checks = [find_check(circuit, name, meant) for name in check_ids(circuit, meant)]
    outside = [check for check in checks if _outside(circuit, check)]
    inside = sorted(
        (check for check in checks if not _outside(circuit, check)), key=lambda c: _minutes(circuit, c)
    )
    apart = np.zeros((len(faults), len(faults)), dtype=bool)
    for check in outside:
        apart |= _told_apart(circuit, faults, check)
    groups = [group for group in _alike(apart) if len(group) > 1]
    separated = {}
    for check in inside:
        waiting = [i for i, group in enumerate(groups) if i not in separated]
        if not waiting:
            break
        tells = _told_apart(circuit, faults, check)
        for i in waiting:
            if np.any(tells[np.ix_(groups[i], groups[i])]):
                separated[i] = _separation(circuit, check, check_states(circuit, check)[0])
    alike = tuple(
        AmbiguityGroup(
            tuple(faults[k].id for k in group),
            tuple(faults[k].words for k in group),
            separated.get(i),
            _other_means(circuit, meant, [faults[k].id for k in group]),
        )
        for i, group in enumerate(groups)
    )
    return FromOutside(
        tuple(sorted(alike, key=lambda group: -len(group.faults))), _test_point(circuit, faults, apart)
    )


def never_apart(work: Job) -> tuple[AmbiguityGroup, ...]:
    """Suspects that no check from outside could ever tell apart.

    Returns
    -------
    tuple of Group
        Of single faults of the likeliest circuit, at the severity that the case leaves them; each with its
        likeliest first, and the group of the likeliest first.
    """
    single = [
        i
        for i, entry in enumerate(work.hypotheses)
        if entry.circuit == work.circuit.id and "+" not in entry.fault
    ]
    rows = np.array(sorted(single, key=lambda i: -work.weight[i]), dtype=np.intp)
    options = sorted(
        work.options, key=lambda option: option.minutes + _setup_minutes(work.circuit, option.check)
    )
    outside = [option for option in options if _outside(work.circuit, option.check)]
    inside = [option for option in options if not _outside(work.circuit, option.check)]
    apart = np.zeros((len(rows), len(rows)), dtype=bool)
    for option in outside:
        apart |= _differ(option.table[rows])
    faults = [find_fault(work.circuit, work.hypotheses[i].fault, work.diagnosis.gauge) for i in rows]
    for check in {option.check.id: option.check for option in outside}.values():
        for state in _with_the_key_off(work.circuit, check):
            apart |= _differ(_table(work.circuit, faults, check, state))
    result = []
    for group in _alike(apart):
        if len(group) > 1:
            members = rows[group]
            by = next((option for option in inside if np.any(_differ(option.table[members]))), None)
            result.append(
                AmbiguityGroup(
                    tuple(work.hypotheses[i].fault for i in members),
                    tuple(work.hypotheses[i].words for i in members),
                    None if by is None else _separation(work.circuit, by.check, by.state),
                    _other_means(
                        work.circuit,
                        work.diagnosis.gauge,
                        [work.hypotheses[i].fault for i in members],
                    ),
                )
            )
    return tuple(result)


def _with_the_key_off(circuit: Circuit, check: Check) -> tuple[str, ...]:
    """The state with the key off, for a check that tells something more there."""
    return (KEY_OFF,) if check.key_off and KEY_OFF in circuit.sheet.states else ()


def _outside(circuit: Circuit, check: Check) -> bool:
    near_enough = all(circuit.sheet.places[name].setup_minutes <= OUTSIDE_MINUTES for name in check.places)
    return near_enough and not check.kind.inspects


def _minutes(circuit: Circuit, check: Check) -> float:
    return check.minutes + _setup_minutes(circuit, check)


def _separation(circuit: Circuit, check: Check, state: str) -> Separation:
    cautions = tuple(caution.words for caution in check_cautions(circuit, check, state))
    return Separation(check.id, check.words, _minutes(circuit, check), cautions)


def _other_means(circuit: Circuit, gauge: str, faults: Sequence[str]) -> str:
    """What tells whether a gauge is right, if one of the faults is that it is."""
    parts = [circuit.part(fault.partition("=")[0], gauge) for fault in faults]
    return next((other_means(circuit, part) for part in parts if part.kind == "process"), "")


def _setup_minutes(circuit: Circuit, check: Check) -> float:
    return sum(circuit.sheet.places[name].setup_minutes for name in check.places)


def _told_apart(circuit: Circuit, faults: Sequence[Fault], check: Check) -> np.ndarray:
    """Which pairs of faults a check tells apart in one of the states it is done in."""
    if check.kind.by_hand:
        return _differ(handling.shown_by_hand(faults, check)[1])
    result = np.zeros((len(faults), len(faults)), dtype=bool)
    for state in (*check_states(circuit, check), *_with_the_key_off(circuit, check)):
        result |= _differ(_table(circuit, faults, check, state))
    return result


def _table(circuit: Circuit, faults: Sequence[Fault], check: Check, state: str) -> Floats:
    """Outcome probabilities of a check for each fault at its typical severity."""
    situation = Situation.of(circuit, state, check)
    typical = [np.array([fault.mode.severity.typical]) for fault in faults]
    changes = [
        change(circuit, fault, x, situation.parameters) for fault, x in zip(faults, typical, strict=True)
    ]
    response = respond(situation, stack([HEALTHY, *changes]))
    if response.reading is not None:
        table = obs.reading_table(check.reads, near(response.reading, response.pulses), situation)
    else:
        gauge = circuit.gauge(check.gauge or None)
        table = needle_classes(gauge, response.positions[gauge.id], response.pulses)
    acting = table[1:].copy()
    for i, fault in enumerate(faults):
        if fault.mode.id == "intermittent":
            acting[i] = 0.5 * (acting[i] + table[0])  # at its best moment, now so and now so
    return acting


def _differ(table: Floats) -> np.ndarray:
    return np.asarray(np.abs(table[:, None] - table[None]).max(axis=-1) > ALIKE)


def _alike(apart: np.ndarray) -> list[list[int]]:
    """Groups of faults none of which is told apart from the group's first."""
    groups: list[list[int]] = []
    for i in range(len(apart)):
        for group in groups:
            if not any(apart[i, j] for j in group):
                group.append(i)
                break
        else:
            groups.append([i])
    return groups


def _test_point(circuit: Circuit, faults: Sequence[Fault], apart: np.ndarray) -> TestPoint | None:
    """The node whose voltage, if it could always be read, would tell most pairs apart."""
    before = _alike(apart)
    best: tuple[int, str, np.ndarray] | None = None
    for node in circuit.netlist.nodes:
        meter = voltmeter(circuit.sheet.earth, node, GROUND)
        check = replace(NO_CHECK, id=VOLTS_AT.check(node), setup=Setup(paths=(meter,)), reads="volts")
        tells = _told_apart(circuit, faults, check)
        pairs = sum(int(tells[np.ix_(group, group)].sum()) // 2 for group in before)
        if pairs and (best is None or pairs > best[0]):
            best = (pairs, node, tells)
    if best is None:
        return None
    pairs, node, tells = best
    return TestPoint(node, pairs, len(_alike(apart | tells)) - len(before))
