"""From branch currents to needles and meters."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.errors import OutOfRangeError
from gaugesim.movement import MOVEMENTS, Flows
from gaugesim.physics import regulator
from gaugesim.reading.correction import Correction
from gaugesim.reading.instruments import INSTRUMENTS, SOUNDING_OHMS, Read, settled_lamp_ohms
from gaugesim.reading.situations import Situation
from gaugesim.scenario.check import LAMP, METER
from gaugesim.scenario.fault import HEALTHY
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.sheet import Gauge
from gaugesim.solve import nodal
from gaugesim.solve.network import Network

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
        Share of the time the regulator's contact is closed, or of its full current if it is steady [1]; 1
        without one.
    """

    positions: Mapping[str, Floats]
    reading: Floats | None
    pulses: NDArray[np.bool_]
    duty: Floats


def exceeded(situation: Situation, scenarios: Scenarios, limits: Mapping[str, float]) -> NDArray[np.bool_]:
    """Whether any of some branches carries more than it bears, a regulator's contact closed, shape (n,).

    Parameters
    ----------
    limits : mapping
        Current that each bears, by its branch [A].
    """
    outputs = [situation.network.branch(name) for name in limits]
    currents = embedded(situation)(situation.network, outputs, scenarios, None)
    return np.asarray((np.abs(currents) > np.array([*limits.values()])).any(axis=1))


def burns(situation: Situation, scenarios: Scenarios) -> NDArray[np.bool_]:
    """Whether a check's leads, its resistor or a sender would carry more than they bear, shape (n,)."""
    check = situation.check
    # a supply on the bench limits its current itself
    if not check.leads.limits or check.setup.kept is not None:
        return np.zeros(len(scenarios), dtype=np.bool_)
    return exceeded(situation, scenarios, check.leads.limits)


def respond(
    situation: Situation, scenarios: Scenarios | None = None, engine: Engine | None = None
) -> Response:
    """What each scenario shows in a situation."""
    scenarios = stack([HEALTHY]) if scenarios is None else scenarios
    solve = engine or embedded(situation)
    lamp_ohms = lamp_resistance(situation, scenarios, solve) if situation.has_lamp else None
    currents = [solve(network, situation.outputs, scenarios, lamp_ohms) for network in situation.phases]
    metered = None
    if situation.meter is not None:
        # a tiny situation of its own: the part alone on the ohmmeter
        metered = solve(situation.meter, (situation.meter.branch(METER),), scenarios, None)[:, 0]
    return interpret(situation, scenarios, currents, lamp_ohms, metered)


def embedded(situation: Situation) -> Engine:
    """The embedded engine for a situation: one factored solution a phase, corrected for each scenario."""

    def solve(
        network: Network, outputs: Sequence[int], scenarios: Scenarios, lamp_ohms: Floats | None
    ) -> Floats:
        solved = (each for each in situation.factored if each.network is network)
        factored = next(solved, None) or nodal.factor(network)
        return Correction(factored, outputs, scenarios, situation.decided(network), lamp_ohms).currents()

    return solve


def lamp_resistance(situation: Situation, scenarios: Scenarios, solve: Engine) -> Floats:
    """Resistance at which the test lamp settles on the source it sees, contact closed."""
    at = situation.outputs.index(situation.network.branch(LAMP))
    soundings = (
        solve(situation.network, situation.outputs, scenarios, np.full(len(scenarios), ohms))[:, at]
        for ohms in SOUNDING_OHMS
    )
    return settled_lamp_ohms(*soundings, rated_volts=situation.circuit.sheet.volts)


def interpret(
    situation: Situation,
    scenarios: Scenarios,
    currents: Sequence[Floats],
    lamp_ohms: Floats | None = None,
    metered: Floats | None = None,
    needles: bool = True,
) -> Response:
    """Turn branch currents into needle positions and a reading.

    Parameters
    ----------
    currents : sequence of ndarray, shape (..., n, outputs)
        For each phase, the currents of ``situation.outputs`` [A].
    lamp_ohms : ndarray, shape (n,), optional
        Resistance of the test lamp [ohm].
    metered : ndarray, shape (..., n), optional
        Current of an ohmmeter in a network of its own [A].
    """
    seen = BranchCurrents(situation, scenarios, currents)
    positions = {gauge.id: seen.position(gauge) for gauge in situation.gauges} if needles else {}
    return Response(positions, *seen.reading(lamp_ohms, metered), seen.duty)


@dataclass(frozen=True)
class BranchCurrents:
    """Branch currents of a batch, of which some gauge's needle or the reading is asked.

    Attributes
    ----------
    currents : sequence of ndarray, shape (..., n, outputs)
        For each phase [A].
    outputs : sequence of int or None
        The branches whose currents they are; None for those of the situation, `Situation.outputs`.
    design_volts : ndarray or None
        What the regulator holds [V], if not what its parameter says.
    """

    situation: Situation
    scenarios: Scenarios
    currents: Sequence[Floats]
    outputs: Sequence[int] | None = None
    design_volts: Floats | None = None

    def _of(self, name: str, phase: int) -> Floats:
        outputs = self.situation.outputs if self.outputs is None else self.outputs
        return self.currents[phase][..., outputs.index(self.situation.network.branch(name))]

    def _in_time(self, name: str) -> list[Floats]:
        return in_time(self.situation, [self._of(name, k) for k in range(len(self.currents))], self.duty)

    def _mean(self, of_one: Callable[[Floats], Floats], name: str) -> Floats:
        """Mean over time of something that follows from a branch's current."""
        on, *off = self._in_time(name)
        return self.duty * of_one(on) + (1.0 - self.duty) * of_one(off[0]) if off else of_one(on)

    @cached_property
    def duty(self) -> Floats:
        """Share of the time the regulator's contact is closed [1]; 1 without one."""
        situation, unit = self.situation, self.situation.circuit.sheet.regulator
        if unit is None or len(self.currents) == 1:
            return np.ones(len(self.scenarios))
        held = design_volts(situation, self.scenarios) if self.design_volts is None else self.design_volts
        # the heater bends its strip by the current through it: what it feels is that in its sound winding
        heater = situation.network.ohms[situation.network.branch(unit.heater)]
        on, off = (self._of(unit.heater, k) * heater for k in (0, 1))
        if unit.steady:
            dropout_volts = _parameter(situation, self.scenarios, unit.dropout_volts)
            return np.asarray(regulator.steady_share(on, off, held, dropout_volts))
        return np.asarray(regulator.duty(on, off, held, unit.convention))

    def position(self, gauge: Gauge) -> Floats:
        """Needle positions of a gauge, shape (..., n)."""
        scenarios, kind = self.scenarios, MOVEMENTS[gauge.movement]
        flows = Flows(
            lambda element, power: self._mean(lambda amperes: amperes**power, element),
            self._ohms,
            lambda element: scenarios.turns.get(element, 1.0),
            scenarios.strength.get(gauge.id, 1.0),
        )
        stands = kind.position(gauge, kind.drive(gauge, flows))
        held = scenarios.stuck.get(gauge.id)
        return stands if held is None else np.where(np.isnan(held), stands, held)

    def _ohms(self, element: str) -> Floats:
        """Resistance of an element in each scenario."""
        before = float(self.situation.network.ohms[self.situation.network.branch(element)])
        if element in self.situation.fixed:
            return np.full(len(self.scenarios), before)
        return self.scenarios.resistance(element, before)

    def reading(
        self, lamp_ohms: Floats | None = None, metered: Floats | None = None
    ) -> tuple[Floats | None, NDArray[np.bool_]]:
        """Reading of the check's instrument, and whether it pulses.

        Returns
        -------
        reading : ndarray, shape (..., n), or None
        pulses : ndarray of bool, shape (..., n)
        """
        network, duty = self.situation.network, self.duty
        instrument = INSTRUMENTS.get(self.situation.check.reads)
        if instrument is None or (instrument.branch == LAMP and lamp_ohms is None):
            return None, np.zeros(np.shape(duty), dtype=bool)
        if metered is not None:  # on an ohmmeter that hangs on another circuit than the needles' own
            amperes, own = [metered], np.asarray(np.nan)
        else:
            amperes = self._in_time(instrument.branch)
            own = np.asarray(network.ohms[network.branch(METER)] if lamp_ohms is None else lamp_ohms)
        return instrument.shows(Read(amperes, own, duty, self.situation.circuit.sheet.volts))


def in_time(situation: Situation, amperes: Sequence[Floats], duty: Floats) -> list[Floats]:
    """Currents of a branch as they come in time: by turns behind points, one between them if steady.

    Parameters
    ----------
    amperes : sequence of ndarray
        In each phase of the regulator [A].
    duty : ndarray
        Share of the first phase [1].
    """
    unit = situation.circuit.sheet.regulator
    if unit is None or not unit.steady or len(amperes) == 1:
        return [*amperes]
    return [duty * amperes[0] + (1.0 - duty) * amperes[1]]


def design_volts(situation: Situation, scenarios: Scenarios) -> Floats:
    """What the regulator holds in each scenario, shape (n,) [V]; NaN without a regulator.

    Raises
    ------
    OutOfRangeError
        If it is none that a regulator can hold.
    """
    unit = situation.circuit.sheet.regulator
    if unit is None:
        return np.full(len(scenarios), np.nan)
    sound = float(situation.circuit.parameter_values(situation.parameters)[unit.design_volts])
    if sound <= 0:
        raise OutOfRangeError(f"{unit.design_volts} must be above zero, but {sound:g} was given")
    return _parameter(situation, scenarios, unit.design_volts)


def _parameter(situation: Situation, scenarios: Scenarios, name: str) -> Floats:
    """A parameter in each scenario, shape (n,)."""
    sound = float(situation.circuit.parameter_values(situation.parameters)[name])
    changed = scenarios.parameters.get(name)
    return np.full(len(scenarios), sound) if changed is None else np.where(np.isnan(changed), sound, changed)
