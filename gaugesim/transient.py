"""Needles and the regulator's output against time after a change of state.

A bimetal strip warms and cools with a first-order lag, and so does the strip of the interrupter that feeds
it; an air-core needle is there at once. Between two events (a contact opens or closes, a disturbed level has
moved on) the circuit stands still, so every step is exact.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gaugesim.circuit import Circuit
from gaugesim.physics.constants import Constant
from gaugesim.reading import Needle, Situation, embedded, respond, situation
from gaugesim.reading.exact import with_faults
from gaugesim.reading.response import design
from gaugesim.reading.words import needle_word
from gaugesim.scenario.change import HEALTHY, Change, merge
from gaugesim.scenario.fault import parse_fault
from gaugesim.scenario.stack import Scenarios, stack
from gaugesim.solve import nodal
from gaugesim.solve.network import OPEN_OHMS, Floats

INTERRUPTER_LAG = Constant(
    10.0,
    "s",
    8.0,
    "assumed",
    "with the band below, 1 s on and 1 s off for 7 V mean at 14 V: an owner's measurement",
)
INTERRUPTER_BAND = Constant(
    0.05,
    "1",
    0.04,
    "assumed",
    "half the distance between opening and closing, against the design value; as the lag",
)
LEVEL = "fuel_level"  # the process value that sloshes
# a strip pushes on after the needle has met its stop
_NO_STOPS = (-1e6, 1e6)


@dataclass(frozen=True)
class Disturbance:
    """What makes a needle restless.

    Attributes
    ----------
    slosh : float
        RMS swing of the tank's level [1].
    slosh_seconds : float
        Period of that swing [s].
    wiper_ohms : float
        RMS noise of each wiper on its track [ohm].
    wiper_seconds : float
        How long that noise remembers itself [s].
    contact_share : float
        Share of the time for which an intermittent contact touches [1].
    contact_seconds : float
        Mean length of a stretch of touching and of the next one of not touching, together [s].
    seed : int
        Of the random numbers.
    """

    slosh: float = 0.0
    slosh_seconds: float = 2.0
    wiper_ohms: float = 0.0
    wiper_seconds: float = 0.1
    contact_share: float = 0.5
    contact_seconds: float = 4.0
    seed: int = 0


STEADY = Disturbance()


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
    """

    times: Floats
    positions: Mapping[str, Floats]
    regulator_volts: Floats | None
    contact: NDArray[np.bool_]
    touches: NDArray[np.bool_]


def transient(
    circuit: Circuit,
    state_from: str,
    state_to: str,
    seconds: float,
    fault: str | None = None,
    given: Mapping[str, float] | None = None,
    disturbance: Disturbance = STEADY,
    step_seconds: float = 0.05,
) -> Transient:
    """Follow the needles from one settled state into another.

    Parameters
    ----------
    circuit : Circuit
    state_from, state_to : str
        States of the sheet.
    seconds : float
        How long to follow them [s].
    fault : str, optional
        ``PART=MODE``, ``PART=MODE@SEVERITY`` or ``PART=OHMS``; there from the start, except that an
        intermittent contact touches then.
    given : mapping, optional
        Parameters that have other values than both states'.
    disturbance : Disturbance
    step_seconds : float
        Distance between two results [s].

    Returns
    -------
    Transient

    Raises
    ------
    CaseError, UnknownNameError
        For a state, fault or parameter that does not exist.
    ValueError
        If a time or a share makes no sense.

    Source
    ------
    Heat balance of a strip, ``lag dw/dt = w_final - w``; the lag is the sheet's ``lag_seconds``.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> run = transient(find("cluster_bimetal_5v"), "key_off", "running_warm", 60.0)
    >>> [round(float(run.positions["fuel"][i]), 2) for i in (0, 200, -1)]
    [-0.1, 0.51, 0.51]
    """
    _refuse(seconds, step_seconds, disturbance)
    free = _without_stops(circuit)
    before, after = (situation(free, state, given=given) for state in (state_from, state_to))
    times = np.asarray(np.arange(round(seconds / step_seconds) + 1) * step_seconds, dtype=np.float64)
    random = np.random.default_rng(disturbance.seed)
    loose = _is_intermittent(circuit, fault)
    wander = _wander(after, disturbance, times, random)
    touches = _touching(disturbance, times, random) if loose else np.ones(len(times), dtype=bool)
    faults = (None, fault) if loose else (fault, fault)
    sound, bad = (_scenarios(after, each, wander) for each in faults)
    phases = []  # contact open, contact closed
    for network in (after.phases[-1], after.phases[0]):
        place = replace(after, network=network, phases=(network,))
        phases.append(_drive(place, sound).where(touches, _drive(place, bad)))
    start = _scenarios(before, faults[0], HEALTHY)
    first = respond(before, start)
    warm = 1.0 if first.duty[0] < 1 else float(_drive(before, start).heater[0])
    slow = {
        name: gauge.lag_seconds for name, gauge in circuit.sheet.gauges.items() if gauge.movement == "bimetal"
    }
    courses, closed = _march(
        phases, times, warm, {name: float(first.positions[name][0]) for name in slow}, slow
    )
    settled = [respond(after, each).positions for each in (sound, bad)]
    for name in circuit.sheet.gauges.keys() - slow.keys():
        course = np.where(touches, settled[0][name], settled[1][name])
        courses[name] = _kept(np.concatenate([first.positions[name], course[1:]]))
    volts = np.where(closed, phases[1].volts, phases[0].volts) if circuit.sheet.regulator else None
    positions = {name: np.clip(courses[name], *gauge.stops) for name, gauge in circuit.sheet.gauges.items()}
    return Transient(times, positions, volts, closed, touches)


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
    state : str
        What the key was turned to.
    seconds : float
        Time since [s].

    Returns
    -------
    needles : dict
        From gauge to `Needle`, without bands.
    closed : bool
        Whether the regulator's contact is closed at that time; true without one.
    """
    resting = Disturbance(contact_share=0.0)
    run = transient(circuit, "key_off", state, seconds, fault, given, resting, step_seconds=seconds)
    needles = {}
    for name, course in run.positions.items():
        position = float(course[-1])
        known = None if math.isnan(position) else position
        needles[name] = Needle(known, None, None, needle_word(circuit.sheet.gauges[name], position))
    return needles, bool(run.contact[-1])


@dataclass(frozen=True)
class _Drive:
    """What the circuit drives at while the regulator's contact stays as it is, each of shape (n,)."""

    heater: Floats  # of the interrupter, against its design value
    positions: Mapping[str, Floats]
    volts: Floats

    def where(self, mask: NDArray[np.bool_], other: _Drive) -> _Drive:
        return _Drive(
            np.where(mask, self.heater, other.heater),
            {name: np.where(mask, values, other.positions[name]) for name, values in self.positions.items()},
            np.where(mask, self.volts, other.volts),
        )


def _drive(place: Situation, scenarios: Scenarios) -> _Drive:
    n = len(scenarios)
    place = replace(place, phases=(place.network,))
    positions = respond(place, scenarios).positions
    unit = place.circuit.sheet.regulator
    if unit is None:
        return _Drive(np.zeros(n), positions, np.zeros(n))
    at = place.network.branch(unit.heater)
    amperes = embedded(place)(place.network, (at,), scenarios, None)[:, 0]
    volts = np.abs(amperes) * place.network.ohms[at]
    heater = (volts / design(place, scenarios)) ** (2 if unit.convention == "rms" else 1)
    output = place.circuit.netlist.element(unit.contact).node_b
    network = with_faults(place.network, scenarios, 0, place.decided(place.network))
    return _Drive(heater, positions, np.full(n, float(nodal.solve(network).voltage(output))))


def _march(
    phases: list[_Drive], times: Floats, warm: float, starts: Mapping[str, float], lags: Mapping[str, float]
) -> tuple[dict[str, Floats], NDArray[np.bool_]]:
    """Step through the times, and inside them from one opening or closing of the contact to the next."""
    opens, closes = 1.0 + INTERRUPTER_BAND.value, 1.0 - INTERRUPTER_BAND.value
    lag = INTERRUPTER_LAG.value
    names = list(lags)
    aims = np.empty((2, len(names), len(times)))
    for i, phase in enumerate(phases):
        for j, name in enumerate(names):
            aims[i, j] = phase.positions[name]
    lag_array = np.array([lags[name] for name in names])
    now = np.array([starts[name] for name in names])
    course = np.empty((len(names), len(times)))
    contact = np.empty(len(times), dtype=bool)
    closed = warm < opens
    for k, time in enumerate(times):
        course[:, k], contact[k] = now, closed
        left = float(times[k + 1] - time) if k + 1 < len(times) else 0.0
        while left > 0:
            drive = float(phases[closed].heater[k])
            edge = opens if closed else closes
            wait = _seconds_to(warm, drive, edge, lag)
            span = min(left, wait)
            warm = drive + (warm - drive) * math.exp(-span / lag)
            aim = aims[int(closed), :, k]
            now = aim + (now - aim) * np.exp(-span / lag_array)
            left -= span
            if wait <= span:
                closed = not closed
    return dict(zip(names, course, strict=True)), contact


def _seconds_to(warm: float, drive: float, edge: float, lag: float) -> float:
    """Time until a strip on its way to ``drive`` reaches ``edge``; inf if it does not."""
    if (warm < edge) == (drive > edge) and drive != edge and warm != edge:
        return lag * math.log((drive - warm) / (drive - edge))
    return math.inf


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
            raise ValueError(f"{name} is {value}; give a time above zero")
    if seconds < step_seconds:
        raise ValueError(f"seconds is {seconds}; give at least one step, {step_seconds} s")
    if not 0 <= disturbance.contact_share <= 1:
        raise ValueError(f"contact_share is {disturbance.contact_share}; give a share from 0 to 1")


def _without_stops(circuit: Circuit) -> Circuit:
    """The circuit with bimetal strips that nothing stops."""
    gauges = {
        name: replace(gauge, stops=_NO_STOPS) if gauge.movement == "bimetal" else gauge
        for name, gauge in circuit.sheet.gauges.items()
    }
    return replace(circuit, sheet=replace(circuit.sheet, gauges=gauges))


def _is_intermittent(circuit: Circuit, fault: str | None) -> bool:
    part, _, mode = (fault or "").partition("=")
    return mode == "intermittent" and mode in circuit.part(part).modes


def _scenarios(place: Situation, fault: str | None, wander: Change) -> Scenarios:
    """The disturbed circuit with the fault in it, a row for each time."""
    if fault is None:
        return stack([wander])
    _, change = parse_fault(place.circuit, fault, place.parameters)
    n = len(wander.severity)

    def spread(values: Mapping[Any, Floats]) -> dict[Any, Floats]:
        return {key: np.full(n, value[0]) for key, value in values.items()}

    held: dict[str, Any] = {
        each.name: spread(getattr(change, each.name))
        for each in fields(change)
        if each.name not in ("severity", "again")
    }
    return stack([merge([wander, Change(np.full(n, change.severity[0]), **held)])])


def _wander(place: Situation, disturbance: Disturbance, times: Floats, random: np.random.Generator) -> Change:
    """What slosh and noisy wipers do to the senders, a row for each time."""
    circuit, n = place.circuit, len(times)
    sheet, step = circuit.sheet, float(times[1] - times[0])
    parameters = dict(place.parameters)
    before = circuit.values(parameters)
    branches: dict[str, Floats] = {}
    if disturbance.slosh > 0 and LEVEL in sheet.quantities:
        swings = [_remembering(n, step, 3 * disturbance.slosh_seconds, random) for _ in range(2)]
        turn = 2 * np.pi * times / disturbance.slosh_seconds
        swing = disturbance.slosh * (swings[0] * np.cos(turn) + swings[1] * np.sin(turn))
        level = float(circuit.netlist.parameter_values(parameters)[LEVEL])
        quantity = sheet.quantities[LEVEL]
        after = circuit.values({**parameters, LEVEL: np.clip(level + swing, quantity.low, quantity.high)})
        for name, value in after.items():
            if np.any(value != before[name]):
                branches[name] = np.where(np.asarray(value) >= OPEN_OHMS, np.inf, value)
    if disturbance.wiper_ohms > 0:
        for part in sheet.parts.values():
            if part.kind in ("float_sender", "pressure_sender"):
                noise = disturbance.wiper_ohms * _remembering(n, step, disturbance.wiper_seconds, random)
                ohms = branches.get(part.element, np.full(n, before[part.element]))
                branches[part.element] = np.maximum(ohms + noise, 0.0)
    return Change(np.zeros(n), branches=branches)


def _remembering(n: int, step: float, memory: float, random: np.random.Generator) -> Floats:
    """Normal noise of variance 1 that forgets with a time constant."""
    kept = math.exp(-step / memory)
    shocks = random.standard_normal(n)
    shocks[1:] *= math.sqrt(1 - kept**2)
    for k in range(1, n):
        shocks[k] += kept * shocks[k - 1]
    return shocks


def _touching(disturbance: Disturbance, times: Floats, random: np.random.Generator) -> NDArray[np.bool_]:
    """Whether a contact touches at each time: a two-state process that touches at first."""
    share = disturbance.contact_share
    if share in (0, 1):
        return np.full(len(times), share == 1)
    means = disturbance.contact_seconds * np.array([share, 1 - share])
    count = 20 + int(4 * times[-1] / disturbance.contact_seconds)
    ends = np.cumsum(random.exponential(1.0, (count, 2)) * means)
    while ends[-1] < times[-1]:
        ends = np.concatenate([ends, ends[-1] + np.cumsum(random.exponential(1.0, (count, 2)) * means)])
    return np.asarray(np.searchsorted(ends, times, side="right") % 2 == 0)


def _kept(positions: Floats) -> Floats:
    """A needle that nothing drives stays where it was."""
    last = np.maximum.accumulate(np.where(np.isnan(positions), 0, np.arange(len(positions))))
    return np.asarray(positions[last])
