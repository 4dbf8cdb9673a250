"""From branch currents to needles and meters."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.physics import air_core, bimetal, lamp, regulator
from gaugesim.reading.correction import Correction
from gaugesim.reading.situation import Situation
from gaugesim.scenario.check import (
    LAMP,
    LAMP_RATED_VOLTS,
    LAMP_RATED_WATTS,
    METER,
    OHMMETER_OHMS,
    OHMMETER_VOLTS,
)
from gaugesim.scenario.fault import HEALTHY
from gaugesim.scenario.stack import Scenarios, stack
from gaugesim.sheet import Gauge
from gaugesim.solve import nodal
from gaugesim.solve.network import Floats, Network

# an ohmmeter's display goes no further; in numbers an open reads this
OPEN_READING = 1e9
# a meter is seen to pulse when its ends differ by more than this, a lamp to flash when it has more than this
PULSE_VOLTS = 0.3
# what the source behind a test lamp is sounded out with: no dead short, which another engine may have to
# replace by a little resistance
SOUNDING_OHMS = (1.0, 1e3)

# Solves for a batch: a network, the branches whose currents are wanted, scenarios, the lamp's ohms in;
# currents of shape (n, outputs) out
Engine = Callable[[Network, Sequence[int], Scenarios, Floats | None], Floats]


@dataclass(frozen=True)
class Response:
    """What a batch of scenarios shows.

    Attributes
    ----------
    positions : mapping
        From gauge to needle positions, shape (..., n): past 0 and 1 to the stops; NaN where nothing drives
        the needle.
    reading : ndarray, shape (..., n) or None
        Volts, ohms, or the volts across the test lamp; None if the check reads no instrument.
    pulses : ndarray of bool, shape (..., n)
        Whether that reading comes and goes with the regulator.
    duty : ndarray, shape (..., n)
        Share of the time the regulator's contact is closed [1]; 1 without one.
    """

    positions: Mapping[str, Floats]
    reading: Floats | None
    pulses: NDArray[np.bool_]
    duty: Floats


def respond(place: Situation, scenarios: Scenarios | None = None, engine: Engine | None = None) -> Response:
    """What each scenario shows in a situation.

    Parameters
    ----------
    place : Situation
    scenarios : Scenarios, optional
        The sound circuit alone if left out.
    engine : callable, optional
        Another engine than the embedded one, see `Engine`.

    Returns
    -------
    Response
        With arrays of shape (n,).
    """
    scenarios = stack([HEALTHY]) if scenarios is None else scenarios
    solve = engine or embedded(place)
    lamp_ohms = lamp_resistance(place, scenarios, solve) if place.has_lamp else None
    currents = [solve(network, place.outputs, scenarios, lamp_ohms) for network in place.phases]
    metered = None
    if place.meter is not None:
        # a tiny situation of its own: the part alone on the ohmmeter
        metered = solve(place.meter, (place.meter.branch(METER),), scenarios, None)[:, 0]
    return interpret(place, scenarios, currents, lamp_ohms, metered)


def embedded(place: Situation) -> Engine:
    """The embedded engine for a situation: one factored solution a phase, corrected for each scenario.

    Parameters
    ----------
    place : Situation

    Returns
    -------
    Engine
    """
    known = dict(zip(map(id, place.phases), place.factored, strict=True))

    def solve(
        network: Network, outputs: Sequence[int], scenarios: Scenarios, lamp_ohms: Floats | None
    ) -> Floats:
        factored = known.get(id(network)) or nodal.factor(network)
        return Correction(factored, outputs, scenarios, place.decided(network), lamp_ohms).currents()

    return solve


def lamp_resistance(place: Situation, scenarios: Scenarios, solve: Engine) -> Floats:
    """Resistance at which the test lamp settles on the source it sees, contact closed."""
    at = place.outputs.index(place.network.branch(LAMP))
    soundings = (
        solve(place.network, place.outputs, scenarios, np.full(len(scenarios), ohms))[:, at]
        for ohms in SOUNDING_OHMS
    )
    return settled_lamp_ohms(*soundings)


def settled_lamp_ohms(most: Floats, least: Floats) -> Floats:
    """Resistance at which the test lamp settles on a source, from two currents of that source.

    Parameters
    ----------
    most, least : ndarray
        Its currents through the two `SOUNDING_OHMS` [A].

    Returns
    -------
    ndarray
        [ohm]
    """
    low, high = SOUNDING_OHMS
    difference = most - least
    dead = np.abs(difference) <= 1e-15 * np.maximum(np.abs(most), 1e-30)
    source = np.maximum((high * least - low * most) / np.where(dead, 1.0, difference), 0.0)
    open_volts = np.where(dead, 0.0, most * (source + low))
    source = np.where(dead, np.inf, source)
    volts = lamp.operating_volts(open_volts, source, LAMP_RATED_VOLTS, LAMP_RATED_WATTS)
    return np.asarray(lamp.filament_ohms(volts, LAMP_RATED_VOLTS, LAMP_RATED_WATTS), dtype=float)


def interpret(
    place: Situation,
    scenarios: Scenarios,
    currents: Sequence[Floats],
    lamp_ohms: Floats | None = None,
    metered: Floats | None = None,
    design_volts: Floats | None = None,
    needles: bool = True,
) -> Response:
    """Turn branch currents into needle positions and a reading.

    Parameters
    ----------
    place : Situation
    scenarios : Scenarios
    currents : sequence of ndarray, shape (..., n, outputs)
        For each phase, the currents of ``place.outputs`` [A].
    lamp_ohms : ndarray, shape (n,), optional
        Resistance of the test lamp [ohm].
    metered : ndarray, shape (..., n), optional
        Current of an ohmmeter in a network of its own [A].
    design_volts : ndarray, optional
        What the regulator holds [V], if not what its parameter says.
    needles : bool, optional
        Whether needle positions are wanted.

    Returns
    -------
    Response
    """
    where = {k: i for i, k in enumerate(place.outputs)}
    ohms = _effective_ohms(place, scenarios)

    def of(name: str, phase: int) -> Floats:
        return currents[phase][..., where[place.network.branch(name)]]

    duty = _duty(place, scenarios, of, len(currents), design_volts)

    def mean(values: Callable[[int], Floats]) -> Floats:
        return values(0) if len(currents) == 1 else duty * values(0) + (1.0 - duty) * values(1)

    gauges = place.gauges if needles else ()
    positions = {gauge.id: _position(gauge, scenarios, of, mean, ohms) for gauge in gauges}
    reading, pulses = _reading(place, of, duty, len(currents), lamp_ohms, metered)
    return Response(positions, reading, pulses, duty)


def _effective_ohms(place: Situation, scenarios: Scenarios) -> Callable[[str], Floats]:
    """Resistance of an element in each scenario."""

    def ohms(name: str) -> Floats:
        before = float(place.network.ohms[place.network.branch(name)])
        if name in place.fixed:
            return np.full(len(scenarios), before)
        return scenarios.resistance(name, before)

    return ohms


def _duty(
    place: Situation,
    scenarios: Scenarios,
    of: Callable[[str, int], Floats],
    phases: int,
    design_volts: Floats | None,
) -> Floats:
    unit = place.circuit.sheet.regulator
    if unit is None or phases == 1:
        return np.ones(len(scenarios))
    if design_volts is None:
        design_volts = design(place, scenarios)
    # the heater bends its strip by the current through it: what it feels is that current in its sound winding
    heater = place.network.ohms[place.network.branch(unit.heater)]
    on, off = of(unit.heater, 0) * heater, of(unit.heater, 1) * heater
    return np.asarray(regulator.duty(on, off, design_volts, unit.convention))


def design(place: Situation, scenarios: Scenarios) -> Floats:
    """What the regulator holds in each scenario.

    Parameters
    ----------
    place : Situation
    scenarios : Scenarios

    Returns
    -------
    ndarray, shape (n,)
        [V]; NaN without a regulator.
    """
    unit = place.circuit.sheet.regulator
    if unit is None:
        return np.full(len(scenarios), np.nan)
    sound = float(place.circuit.parameter_values(place.parameters)[unit.design_volts])
    changed = scenarios.parameters.get(unit.design_volts)
    return np.full(len(scenarios), sound) if changed is None else np.where(np.isnan(changed), sound, changed)


def _position(
    gauge: Gauge,
    scenarios: Scenarios,
    of: Callable[[str, int], Floats],
    mean: Callable[[Callable[[int], Floats]], Floats],
    ohms: Callable[[str], Floats],
) -> Floats:
    strength = scenarios.strength.get(gauge.id, 1.0)

    def turns(element: str) -> Floats | float:
        return scenarios.turns.get(element, 1.0)

    if gauge.movement == "air_core":
        amperes = np.stack(
            [mean(lambda phase, c=coil: of(c.element, phase) * turns(c.element)) for coil in gauge.coils],  # type: ignore[misc]
            axis=-1,
        )
        x, y = air_core.field(
            amperes * np.asarray(strength)[..., None],
            [coil.turns for coil in gauge.coils],
            [coil.degrees for coil in gauge.coils],
            gauge.rest,
        )
        degrees = air_core.needle_degrees(x, y)
        result = air_core.position(degrees, gauge.degrees_low, gauge.degrees_high, gauge.stops)
        result = np.where(air_core.is_driven(x, y, gauge.friction), result, np.nan)
    elif gauge.movement == "bimetal":
        winding = ohms(gauge.element)
        live = np.where(np.isfinite(winding), winding, 0.0)
        watts = mean(lambda phase: of(gauge.element, phase) ** 2 * live)
        result = np.asarray(bimetal.position(watts * strength, gauge.low, gauge.high, gauge.stops))
    else:
        amperes = mean(lambda phase: of(gauge.element, phase) * turns(gauge.element)) * strength
        result = np.clip((amperes - gauge.low) / (gauge.high - gauge.low), *gauge.stops)
    held = scenarios.stuck.get(gauge.id)
    return result if held is None else np.where(np.isnan(held), result, held)


def _reading(
    place: Situation,
    of: Callable[[str, int], Floats],
    duty: Floats,
    phases: int,
    lamp_ohms: Floats | None,
    metered: Floats | None,
) -> tuple[Floats | None, NDArray[np.bool_]]:
    check = place.check
    still = np.zeros(np.shape(duty), dtype=bool)
    if check.reads == "volts":
        ohms = place.network.ohms[place.network.branch(METER)]
        return volts_reading([of(METER, phase) * ohms for phase in range(phases)], duty)
    if check.reads == "lamp" and lamp_ohms is not None:
        return lamp_reading([of(LAMP, phase) for phase in range(phases)], lamp_ohms, duty)
    if check.reads == "ohms":
        return ohms_reading(of(METER, 0) if metered is None else metered), still
    return None, still


def volts_reading(ends: Sequence[Floats], duty: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """What a voltmeter shows, and whether it is seen to pulse.

    Parameters
    ----------
    ends : sequence of ndarray
        Voltage across it in each phase of the regulator [V].
    duty : ndarray
        Share of the time of the first phase [1].

    Returns
    -------
    volts : ndarray
        Mean over time [V].
    pulses : ndarray of bool
    """
    swing = np.abs(ends[0] - ends[-1]) > PULSE_VOLTS
    volts = ends[0] if len(ends) == 1 else duty * ends[0] + (1.0 - duty) * ends[1]
    return volts, swing & (duty < 1)


def lamp_reading(
    amperes: Sequence[Floats], lamp_ohms: Floats, duty: Floats
) -> tuple[Floats, NDArray[np.bool_]]:
    """Volts across a test lamp while it is fed, and whether it flashes.

    Parameters
    ----------
    amperes : sequence of ndarray
        Its current in each phase of the regulator [A].
    lamp_ohms : ndarray
        Its resistance [ohm].
    duty : ndarray
        Share of the time of the first phase [1].

    Returns
    -------
    volts : ndarray
        [V]
    flashes : ndarray of bool
    """
    volts = np.abs(amperes[0]) * lamp_ohms
    seen = (volts > PULSE_VOLTS) & (np.abs(amperes[-1]) * lamp_ohms < 0.2 * volts)
    return volts, seen & (duty < 1)


def ohms_reading(amperes: Floats) -> Floats:
    """What an ohmmeter shows.

    Parameters
    ----------
    amperes : ndarray
        Its current [A].

    Returns
    -------
    ndarray
        [ohm]; `OPEN_READING` where nothing flows.
    """
    # rounding leaves a trickle where nothing flows
    flows = amperes > OHMMETER_VOLTS / (OPEN_READING + OHMMETER_OHMS)
    ohms = OHMMETER_VOLTS / np.where(flows, amperes, 1.0) - OHMMETER_OHMS
    return np.where(flows, np.maximum(ohms, 0.0), OPEN_READING)
