"""A situation: a circuit in one state with one check applied, solved once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.scenario.check import LAMP, METER, NO_CHECK, Check
from gaugesim.scenario.lead_ratings import with_setup
from gaugesim.scenario.scenarios import Scenarios
from gaugesim.sheet import Gauge
from gaugesim.solve import nodal
from gaugesim.solve.network import OPEN_OHMS, Network, Path
from gaugesim.solve.nodal import Factored

# what tells a situation from all others of its circuit: state, check with what it hangs on, what is given
Key = tuple[str, str, str, tuple[Path, ...], tuple[tuple[str, float], ...]]


def situation_key(state: str, check: Check, given: Mapping[str, float]) -> Key:
    """What tells a situation from all others of its circuit, before it is made."""
    return state, check.gauge, check.id, check.setup.paths, tuple(sorted(given.items()))


@dataclass(frozen=True)
class Decided:
    """What a check decides, so that a fault in it makes no difference.

    Attributes
    ----------
    branches : frozenset of str
        Branches that it has joined, opened or taken away.
    paths : bool
        Whether that is all but a part or a gauge alone, so that no chafe in the circuit matters either.
    """

    branches: frozenset[str]
    paths: bool


@dataclass(frozen=True)
class Situation:
    """A circuit in one state, with one check applied.

    Attributes
    ----------
    parameters : mapping
        Parameter values: the state's, what is given beside it, and what the check sets.
    pinned : frozenset of str
        Parameters that are known to be so, against any fault in the process itself.
    network : Network
        With the check's leads and meters in place, a regulator's contact closed.
    phases : tuple of Network
        That network; and the same with the contact open, if there is a regulator at work.
    """

    circuit: Circuit
    state: str
    parameters: Mapping[str, float]
    pinned: frozenset[str]
    given: tuple[tuple[str, float], ...]
    check: Check
    network: Network
    phases: tuple[Network, ...]
    meter: Network | None

    @classmethod
    def of(
        cls,
        circuit: Circuit,
        state: str | None = None,
        check: Check = NO_CHECK,
        given: Mapping[str, float] | None = None,
    ) -> Situation:
        """Put a circuit into a state and apply a check.

        Raises
        ------
        UnknownNameError
            For a state or parameter that does not exist.
        """
        state = circuit.sheet.default_state if state is None else state
        setup = check.setup
        parameters = {**circuit.parameters(state, given), **setup.parameters}
        network = with_setup(circuit, parameters, setup)
        contact = circuit.sheet.regulator.contact if circuit.sheet.regulator else ""
        phases = [network]
        if contact and np.isfinite(network.ohms[network.branch(contact)]):
            phases.append(network.with_ohms({contact: np.inf}))
        meter = None
        if check.meter:
            meter = with_setup(circuit, {**parameters, **check.meter.parameters}, check.meter)
        return cls(
            circuit,
            state,
            parameters,
            frozenset({*(given or {}), *setup.parameters}),
            tuple(sorted((given or {}).items())),
            check,
            network,
            tuple(phases),
            meter,
        )

    @cached_property
    def key(self) -> Key:
        """What tells it from all others of its circuit."""
        return situation_key(self.state, self.check, dict(self.given))

    @property
    def fixed(self) -> frozenset[str]:
        """Branches that the check has decided, whatever fault is in them."""
        return self.decided(self.network).branches

    @property
    def certain(self) -> frozenset[str]:
        """Parameters that are known to be so, or that the state makes sure of."""
        return self.pinned.union(self.circuit.sheet.states[self.state].certain)

    @cached_property
    def gauges(self) -> tuple[Gauge, ...]:
        """The circuit's gauges."""
        return tuple(self.circuit.sheet.gauges.values())

    @cached_property
    def outputs(self) -> tuple[int, ...]:
        """Branches whose currents say everything: coils, heaters, the regulator's heater, meter and lamp."""
        every = [k for gauge in self.gauges for k in self.needle_outputs(gauge)]
        return tuple(dict.fromkeys([*every, *self.reading_outputs]))

    def needle_outputs(self, gauge: Gauge) -> tuple[int, ...]:
        """Those that say where a gauge's needle is."""
        names = [coil.element for coil in gauge.coils] + [gauge.element] * bool(gauge.element)
        return tuple(self.network.branch(name) for name in dict.fromkeys([*names, *self._heater]))

    @cached_property
    def reading_outputs(self) -> tuple[int, ...]:
        """Those that say what the check's own meter or lamp shows."""
        instruments = [path.name for path in self.check.setup.paths if path.name in (METER, LAMP)]
        return tuple(self.network.branch(name) for name in [*self._heater, *instruments])

    @property
    def _heater(self) -> list[str]:
        """The regulator's own, which says how long its contact is closed."""
        unit = self.circuit.sheet.regulator
        return [unit.heater] if unit else []

    @cached_property
    def factored(self) -> tuple[Factored, ...]:
        """The phases, each solved once."""
        return tuple(nodal.factor(network) for network in self.phases)

    def decided(self, network: Network) -> Decided:
        """What the check, or a regulator's open contact, has decided in a network, whatever faults there are.

        Parameters
        ----------
        network : Network
            One of ``phases``, or ``meter``.
        """
        on_meter = network is self.meter and self.check.meter is not None
        setup = self.check.meter if on_meter and self.check.meter else self.check.setup
        if setup.kept is not None:
            return Decided(frozenset(network.names) - {*setup.kept}, paths=True)
        decided = {*setup.branches}
        unit = self.circuit.sheet.regulator
        if unit and network.ohms[network.branch(unit.contact)] >= OPEN_OHMS:
            # a burnt contact is a poor one while it is closed; while it is open it is open
            decided.add(unit.contact)
        return Decided(frozenset(decided), paths=False)

    @cached_property
    def has_lamp(self) -> bool:
        """Whether the check hangs a test lamp on the circuit."""
        return any(path.name == LAMP for path in self.check.setup.paths)


def without_process(scenarios: Scenarios, certain: frozenset[str]) -> Scenarios:
    """Scenarios where process values are known: a fault in the process is then no fault."""
    contradicted = np.zeros(len(scenarios), dtype=bool)
    for name in certain & set(scenarios.parameters):
        contradicted |= ~np.isnan(scenarios.parameters[name])
    if not np.any(contradicted):
        return scenarios

    def kept(values: Mapping[str, Floats]) -> dict[str, Floats]:
        return {name: np.where(contradicted, np.nan, array) for name, array in values.items()}

    return replace(
        scenarios,
        column=np.where(contradicted[:, None], -1, scenarios.column),
        volts=kept(scenarios.volts),
        parameters=kept(scenarios.parameters),
    )
