"""What changes meanwhile: restless levels and wipers, loose contacts, an engine that warms."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.errors import CaseError
from gaugesim.physics import engine
from gaugesim.physics.bimetal import first_order
from gaugesim.reading import Situation
from gaugesim.scenario.changes import Change
from gaugesim.solve.network import OPEN_OHMS

# process values: the one that sloshes, and the one that rises as the engine warms
LEVEL, COOLANT = "fuel_level", "coolant_celsius"


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
class WarmUp:
    """An engine started cold, and a temperature sender that lags behind its coolant.

    Attributes
    ----------
    kelvin_per_second : float
        How fast a cold engine warms at first [K/s]; assumed, so that it is warm in some seven minutes.
    loss_seconds : float
        Time constant of the block without its radiator [s]; assumed.
    opens_below : float
        How far below the settled temperature the thermostat begins to open [K]; assumed.
    sender_seconds : float
        Time constant of the sender in the coolant [s]; common practice, no source.
    """

    kelvin_per_second: float = 0.2
    loss_seconds: float = 1500.0
    opens_below: float = 4.0
    sender_seconds: float = 15.0


@dataclass(frozen=True)
class Coolant:
    """Coolant of an engine that warms up.

    Attributes
    ----------
    celsius : ndarray, shape (n,)
        [celsius]
    opens_celsius : float
        Where the thermostat begins to open [celsius].
    sender_seconds : float
        Time constant of the sender in it [s].
    """

    celsius: Floats
    opens_celsius: float
    sender_seconds: float


def warming(before: Situation, after: Situation, warm_up: WarmUp, times: Floats) -> Coolant:
    """Coolant from as cold as it is before to as warm as it is after.

    Parameters
    ----------
    times : ndarray, shape (n,)
        Since the start [s].

    Raises
    ------
    CaseError
        If there is no coolant to warm, or it is warm from the start.
    ValueError
        If a time makes no sense.
    """
    if COOLANT not in after.circuit.sheet.quantities:
        raise CaseError(f"{after.circuit.id} has no {COOLANT} that could rise", "", "leave the warm-up out")
    start, settled = (
        float(situation.circuit.parameter_values(situation.parameters)[COOLANT])
        for situation in (before, after)
    )
    opens = settled - warm_up.opens_below
    if start >= opens:
        problem = f"the coolant starts at {start:g} °C, where the thermostat is open"
        raise CaseError(problem, "", f"start from a state that is colder than {opens:g} °C")
    celsius = engine.coolant_celsius(
        times, start, settled, warm_up.kelvin_per_second, warm_up.loss_seconds, warm_up.opens_below
    )
    return Coolant(np.asarray(celsius), opens, warm_up.sender_seconds)


def process_values(
    after: Situation,
    disturbance: Disturbance,
    coolant: Coolant | None,
    times: Floats,
    random: np.random.Generator,
) -> dict[str, Floats]:
    """Process values that change with time, as the senders feel them. By name, each of shape (n,).

    Parameters
    ----------
    times : ndarray, shape (n,)
        Since the change [s].
    """
    sheet, values = after.circuit.sheet, {}
    start = after.circuit.parameter_values(after.parameters)
    if disturbance.slosh > 0 and LEVEL in sheet.quantities:
        step = float(times[1] - times[0])
        swings = [_remembering(len(times), step, 3 * disturbance.slosh_seconds, random) for _ in range(2)]
        turn = 2 * np.pi * times / disturbance.slosh_seconds
        swing = disturbance.slosh * (swings[0] * np.cos(turn) + swings[1] * np.sin(turn))
        quantity = sheet.quantities[LEVEL]
        values[LEVEL] = np.clip(float(start[LEVEL]) + swing, quantity.low, quantity.high)
    if coolant is not None:
        values[COOLANT] = _followed(coolant.celsius, times, coolant.sender_seconds)
    return values


def _followed(values: Floats, times: Floats, lag_seconds: float) -> Floats:
    """What follows a course, straight between its points, with a first-order lag; the same at first."""
    step = float(times[1] - times[0])
    kept = float(first_order(1.0, 0.0, step, lag_seconds))
    behind = np.zeros(len(values))
    for k, risen in enumerate(np.diff(values)):
        behind[k + 1] = behind[k] * kept + risen * (1 - kept) * lag_seconds / step
    return values - behind


def senders(
    after: Situation,
    values: Mapping[str, Floats],
    disturbance: Disturbance,
    times: Floats,
    random: np.random.Generator,
) -> Change:
    """What changing process values and noisy wipers do to the senders. A row for each time.

    Parameters
    ----------
    times : ndarray, shape (n,)
    """
    circuit, n = after.circuit, len(times)
    before = circuit.values(after.parameters)
    branches: dict[str, Floats] = {}
    if values:
        for name, value in circuit.values({**after.parameters, **values}).items():
            if np.any(value != before[name]):
                branches[name] = np.where(np.asarray(value) >= OPEN_OHMS, np.inf, value)
    if disturbance.wiper_ohms > 0:
        step = float(times[1] - times[0])
        for part in circuit.sheet.parts.values():
            if part.kind in ("float_sender", "pressure_sender"):
                noise = disturbance.wiper_ohms * _remembering(n, step, disturbance.wiper_seconds, random)
                ohms = branches.get(part.element, np.full(n, before[part.element]))
                branches[part.element] = np.maximum(ohms + noise, 0.0)
    return Change(np.zeros(n), branches=branches)


def touching(disturbance: Disturbance, times: Floats, random: np.random.Generator) -> NDArray[np.bool_]:
    """Whether a loose contact touches, shape (n,): a two-state process that touches at first.

    Parameters
    ----------
    times : ndarray, shape (n,)
    """
    share = disturbance.contact_share
    if share in (0, 1):
        return np.full(len(times), share == 1)
    means = disturbance.contact_seconds * np.array([share, 1 - share])
    count = 20 + int(4 * times[-1] / disturbance.contact_seconds)
    ends = np.cumsum(random.exponential(1.0, (count, 2)) * means)
    while ends[-1] < times[-1]:
        ends = np.concatenate([ends, ends[-1] + np.cumsum(random.exponential(1.0, (count, 2)) * means)])
    return np.asarray(np.searchsorted(ends, times, side="right") % 2 == 0)


def _remembering(n: int, step: float, memory: float, random: np.random.Generator) -> Floats:
    """Normal noise of variance 1 that forgets with a time constant."""
    kept = math.exp(-step / memory)
    shocks = random.standard_normal(n)
    shocks[1:] *= math.sqrt(1 - kept**2)
    for k in range(1, n):
        shocks[k] += kept * shocks[k - 1]
    return shocks
