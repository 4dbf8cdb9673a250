"""A situation: a circuit in one state with one check applied, solved once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.scenario.check import LAMP, METER, NO_CHECK, Check, Setup
from gaugesim.scenario.stack import Scenarios
from gaugesim.sheet import Gauge
from gaugesim.solve import nodal
from gaugesim.solve.network import Network
from gaugesim.solve.nodal import Factored


@dataclass(frozen=True)
class Situation:
    """A circuit in one state, with one check applied.

    Attributes
    ----------
    circuit : Circuit
    state : str
    parameters : mapping
        Parameter values: the state's, what is given beside it, and what the check sets.
    known : frozenset of str
        Parameters that are known to be so, against any fault in the process itself.
    check : Check
    network : Network
        With the check's leads and meters in place, a regulator's contact closed.
    phases : tuple of Network
        That network; and the same with the contact open, if there is a regulator at work.
    meter : Network or None
        The network on the ohmmeter, where that is another.
    fixed : frozenset of str
        Branches that the check has decided, whatever fault is in them.
    """

    circuit: Circuit
    state: str
    parameters: Mapping[str, float]
    known: frozenset[str]
    check: Check
    network: Network
    phases: tuple[Network, ...]
    meter: Network | None
    fixed: frozenset[str]

    @cached_property
    def gauges(self) -> tuple[Gauge, ...]:
        """The circuit's gauges."""
        return tuple(self.circuit.sheet.gauges.values())

    @cached_property
    def outputs(self) -> tuple[int, ...]:
        """Branches whose currents say everything: coils, heaters, the regulator's heater, meter and lamp."""
        names = [coil.element for gauge in self.gauges for coil in gauge.coils]
        names += [gauge.element for gauge in self.gauges if gauge.element]
        if self.circuit.sheet.regulator:
            names.append(self.circuit.sheet.regulator.heater)
        names += [path.name for path in self.check.setup.paths if path.name in (METER, LAMP)]
        return tuple(self.network.branch(name) for name in dict.fromkeys(names))

    @cached_property
    def factored(self) -> tuple[Factored, ...]:
        """The phases, each solved once."""
        return tuple(nodal.factor(network) for network in self.phases)

    @cached_property
    def fixed_on_meter(self) -> frozenset[str]:
        """The same for the network on the ohmmeter."""
        kept = self.check.meter.kept if self.check.meter else None
        return frozenset(self.meter.names) - {*(kept or ())} if self.meter else frozenset()

    @cached_property
    def has_lamp(self) -> bool:
        """Whether the check hangs a test lamp on the circuit."""
        return any(path.name == LAMP for path in self.check.setup.paths)


def situation(
    circuit: Circuit,
    state: str | None = None,
    check: Check = NO_CHECK,
    given: Mapping[str, float] | None = None,
) -> Situation:
    """Put a circuit into a state and apply a check.

    Parameters
    ----------
    circuit : Circuit
    state : str, optional
        The default state if left out.
    check : Check
    given : mapping, optional
        Parameters that are known to have other values than the state's.

    Returns
    -------
    Situation

    Raises
    ------
    UnknownNameError
        For a state or parameter that does not exist.
    """
    state = state or circuit.sheet.default_state
    setup = check.setup
    parameters = {**circuit.parameters(state, given), **setup.parameters}
    network = _network(circuit, parameters, setup)
    contact = circuit.sheet.regulator.contact if circuit.sheet.regulator else ""
    phases = [network]
    if contact and np.isfinite(network.ohms[network.branch(contact)]):
        phases.append(network.with_ohms({contact: np.inf}))
    meter = None
    if check.meter:
        meter = _network(circuit, {**parameters, **check.meter.parameters}, check.meter)
    fixed = frozenset(setup.branches) if setup.kept is None else frozenset(network.names) - {*setup.kept}
    return Situation(
        circuit,
        state,
        parameters,
        frozenset({*(given or {}), *setup.parameters}),
        check,
        network,
        tuple(phases),
        meter,
        fixed,
    )


def _network(circuit: Circuit, parameters: Mapping[str, float], setup: Setup) -> Network:
    network = circuit.network(circuit.values(parameters))
    opened = {} if setup.kept is None else {name: np.inf for name in network.names if name not in setup.kept}
    if setup.dead:
        opened |= {
            name: np.inf for name, volts in zip(network.names, network.volts, strict=True) if volts != 0
        }
    return network.with_ohms({**opened, **setup.branches}).with_paths(setup.paths)


def without_process(scenarios: Scenarios, known: frozenset[str]) -> Scenarios:
    """Scenarios in a situation whose true process values are known: a fault in the process is then no fault.

    Parameters
    ----------
    scenarios : Scenarios
    known : frozenset of str
        Process values that are known.

    Returns
    -------
    Scenarios
    """
    contradicted = np.zeros(len(scenarios), dtype=bool)
    for name in known & set(scenarios.parameters):
        contradicted |= ~np.isnan(scenarios.parameters[name])
    if not np.any(contradicted):
        return scenarios
    return replace(scenarios, column=np.where(contradicted[:, None], -1, scenarios.column))
