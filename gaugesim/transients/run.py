"""A circuit followed from one settled state into another.

A bimetal gauge's winding warms with one lag and its strip follows with another; the strip of the interrupter
that feeds it is quicker than both, as its heater sits on it. An air-core or moving-coil needle is damped.
Between two events (a contact opens or closes, a level or a temperature has moved on) the circuit stands
still, so every step is exact.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError
from gaugesim.movement import MOVEMENTS
from gaugesim.reading import Needle, Situation, embedded, respond
from gaugesim.reading.exact import with_faults
from gaugesim.reading.response import design_volts
from gaugesim.reading.words import needle_word
from gaugesim.scenario.changes import HEALTHY, Change, merge
from gaugesim.scenario.fault import parse_fault
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.solve import nodal
from gaugesim.solve.network import OPEN_OHMS
from gaugesim.transients.changing import (
    STEADY,
    Coolant,
    Disturbance,
    WarmUp,
    process_values,
    senders,
    touching,
    warming,
)
from gaugesim.transients.stepping import Drive, march

# a strip pushes on after the needle has met its stop
_NO_STOPS = (-1e6, 1e6)


@dataclass(frozen=True)
class Transient:
    """Needles after a change of state.

    Attributes
    ----------
    times : ndarray, shape (n,)
        Since the change [s].
    positions : mapping
        From gauge to its needle's position, shape (n,); NaN while nothing has ever driven it.
    regulator_volts : ndarray, shape (n,), or None
        At the regulator's output [V]; None without one.
    contact : ndarray of bool, shape (n,)
        Whether the regulator's contact is closed; true without one.
    touches : ndarray of bool, shape (n,)
        Whether an intermittent contact touches; true without one.
    coolant : Coolant or None
        Of an engine that warms up meanwhile; None where none does.
    """

    times: Floats
    positions: Mapping[str, Floats]
    regulator_volts: Floats | None
    contact: NDArray[np.bool_]
    touches: NDArray[np.bool_]
    coolant: Coolant | None = None


def transient(
    circuit: Circuit,
    state_from: str,
    state_to: str,
    seconds: float,
    fault: str | None = None,
    given: Mapping[str, float] | None = None,
    disturbance: Disturbance = STEADY,
    step_seconds: float = 0.05,
    warm_up: WarmUp | None = None,
) -> Transient:
    """Follow the needles from one settled state into another.

    Parameters
    ----------
    seconds : float
        How long to follow them [s].
    fault : str, optional
        ``PART=MODE``, ``PART=MODE@SEVERITY`` or ``PART=OHMS``; there from the start, except that an
        intermittent contact touches then.
    step_seconds : float
        Distance between two results [s].
    warm_up : WarmUp, optional
        The engine starts as cold as the first state says and warms to what the second says, with its
        thermostat and a lagging sender; left out, the coolant is as the second state says from the start.

    Raises
    ------
    CaseError, UnknownNameError
        For a state, fault or parameter that does not exist, or if a time or a share makes no sense.

    Source
    ------
    Heat balance of winding and strip, see `bimetal.still_missing`; a damped needle likewise, without a
    winding. The lags are the sheet's.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> run = transient(find("cluster_bimetal_5v"), "key_off", "running_warm", 60.0)
    >>> [round(float(run.positions["fuel"][i]), 2) for i in (0, 200, -1)]
    [-0.1, 0.28, 0.49]
    >>> run = transient(
    ...     find("temp_two_coil"), "key_on_cold", "running_warm", 600.0, step_seconds=1.0, warm_up=WarmUp()
    ... )
    >>> [round(float(run.positions["temperature"][60 * minute]), 2) for minute in (0, 2, 4, 6, 10)]
    [-0.12, 0.0, 0.31, 0.61, 0.66]
    """
    _refuse(seconds, step_seconds, disturbance)
    free = _without_stops(circuit)
    before, after = (Situation.of(free, state, given=given) for state in (state_from, state_to))
    times = np.asarray(np.arange(round(seconds / step_seconds) + 1) * step_seconds, dtype=np.float64)
    random = np.random.default_rng(disturbance.seed)
    loose = _is_intermittent(circuit, fault)
    coolant = warming(before, after, warm_up, times) if warm_up else None
    values = process_values(after, disturbance, coolant, times, random)
    moved = senders(after, values, disturbance, times, random)
    touches = touching(disturbance, times, random) if loose else np.ones(len(times), dtype=bool)
    faults = (None, fault) if loose else (fault, fault)
    sound, bad = (_scenarios(after, each, moved, values) for each in faults)
    unit = circuit.sheet.regulator
    if unit and unit.steady:  # it is never open
        phases = 2 * [_steady_drive(after, sound).where(touches, _steady_drive(after, bad))]
    else:
        phases = []  # contact open, contact closed
        for network in (after.phases[-1], after.phases[0]):
            situation = replace(after, network=network, phases=(network,))
            phases.append(_drive(situation, sound).where(touches, _drive(situation, bad)))
    start = _scenarios(before, faults[0], HEALTHY, {})
    first = respond(before, start)
    warm = 1.0 if first.duty[0] < 1 else float(_drive(before, start).heater[0])
    starts = {name: float(first.positions[name][0]) for name in circuit.sheet.gauges}
    courses, closed = march(phases, times, warm, starts, circuit.sheet.gauges)
    volts = np.where(closed, phases[1].volts, phases[0].volts) if circuit.sheet.regulator else None
    positions = {name: np.clip(courses[name], *gauge.stops) for name, gauge in circuit.sheet.gauges.items()}
    return Transient(times, positions, volts, closed, touches, coolant)


def see_at(
    circuit: Circuit,
    state: str,
    seconds: float,
    fault: str | None = None,
    given: Mapping[str, float] | None = None,
) -> tuple[dict[str, Needle], bool]:
    """Needles some time after the key was turned, from where they had settled with the key off.

    Parameters
    ----------
    circuit, fault, given
        As for `transient`; an intermittent contact does not touch at all.
    seconds : float
        Time since [s].

    Returns
    -------
    closed : bool
        Whether the regulator's contact is closed at that time; true without one.
    """
    resting = Disturbance(contact_share=0.0)
    run = transient(circuit, "key_off", state, seconds, fault, given, resting, step_seconds=seconds)
    needles = {}
    for name, course in run.positions.items():
        position = float(course[-1])
        driven = None if math.isnan(position) else position
        needles[name] = Needle(driven, None, None, needle_word(circuit.sheet.gauges[name], position))
    return needles, bool(run.contact[-1])


def _steady_drive(situation: Situation, scenarios: Scenarios) -> Drive:
    """What a circuit behind an electronic regulator drives at."""
    shown = respond(situation, scenarios)
    volts = sum(
        share * _drive(replace(situation, network=network, phases=(network,)), scenarios).volts
        for network, share in zip(situation.phases, (shown.duty, 1.0 - shown.duty), strict=False)
    )
    return Drive(np.zeros(len(scenarios)), shown.positions, np.asarray(volts))


def _drive(situation: Situation, scenarios: Scenarios) -> Drive:
    n = len(scenarios)
    situation = replace(situation, phases=(situation.network,))
    positions = respond(situation, scenarios).positions
    unit = situation.circuit.sheet.regulator
    if unit is None:
        return Drive(np.zeros(n), positions, np.zeros(n))
    at = situation.network.branch(unit.heater)
    amperes = embedded(situation)(situation.network, (at,), scenarios, None)[:, 0]
    volts = np.abs(amperes) * situation.network.ohms[at]
    heater = (volts / design_volts(situation, scenarios)) ** (2 if unit.convention == "rms" else 1)
    output = situation.circuit.netlist.element(unit.contact).node_b
    network = with_faults(situation.network, scenarios, 0, situation.decided(situation.network))
    return Drive(heater, positions, np.full(n, float(nodal.solve(network).voltage(output))))


def _refuse(seconds: float, step_seconds: float, disturbance: Disturbance) -> None:
    lengths = {
        "seconds": seconds,
        "step_seconds": step_seconds,
        "slosh_seconds": disturbance.slosh_seconds,
        "wiper_seconds": disturbance.wiper_seconds,
        "contact_seconds": disturbance.contact_seconds,
    }
    for name, value in lengths.items():
        if not 0 < value < math.inf:
            raise CaseError(f"{name} is {value}", "", "give a time above zero")
    if seconds < step_seconds:
        raise CaseError(f"seconds is {seconds}", "", f"give at least one step, {step_seconds} s")
    if not 0 <= disturbance.contact_share <= 1:
        raise CaseError(f"contact_share is {disturbance.contact_share}", "", "give a share from 0 to 1")
    for name in ("slosh", "wiper_ohms", "seed"):
        value = getattr(disturbance, name)
        if not 0 <= value < math.inf:
            raise CaseError(f"{name} is {value}", "", "give zero or more")


def _without_stops(circuit: Circuit) -> Circuit:
    """The circuit with bimetal strips that nothing stops."""
    gauges = {
        name: replace(gauge, stops=_NO_STOPS) if MOVEMENTS[gauge.movement].heats else gauge
        for name, gauge in circuit.sheet.gauges.items()
    }
    return replace(circuit, sheet=replace(circuit.sheet, gauges=gauges))


def _is_intermittent(circuit: Circuit, fault: str | None) -> bool:
    part, _, mode = (fault or "").partition("=")
    return mode == "intermittent" and mode in circuit.part(part).modes


def _scenarios(
    situation: Situation, fault: str | None, moved: Change, values: Mapping[str, Floats]
) -> Scenarios:
    """The circuit as it changes, with the fault in it, a row for each time."""
    if fault is None:
        return stack([moved])
    _, change = parse_fault(situation.circuit, fault, situation.parameters)
    n = len(moved.severity)

    def spread(values: Mapping[Any, Floats]) -> dict[Any, Floats]:
        return {key: np.full(n, value[0]) for key, value in values.items()}

    held: dict[str, Any] = {
        each.name: spread(getattr(change, each.name))
        for each in fields(change)
        if each.name not in ("severity", "again")
    }
    for again in change.again if values else ():
        # a sender that has drifted, or is in hotter coolant, goes along with what it measures
        ohms = again.make({**situation.parameters, **values}, np.zeros(n, dtype=np.intp))
        held["branches"] |= {
            name: np.where(ohms[name] >= OPEN_OHMS, np.inf, ohms[name]) for name in held["branches"]
        }
    return stack([merge([moved, Change(np.full(n, change.severity[0]), **held)])])
