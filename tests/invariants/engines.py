"""Both engines on every check in every state of a circuit with every fault, opens and shorts finite.

What needles and meters show is compared everywhere. The embedded engine corrects one solution for each fault,
as everywhere in the package. ngspice is given each network as resistors, which is quick; where the two do not
agree it is asked again with `solve_batch`, which keeps the digits that conductances lose beside a dead short
or between two opens. All voltages and currents are compared in a share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from invariants.anew import Batch, stamped
from invariants.everything import UNDRIVEN, Ledger, Where, electrical_checks

from gaugesim.circuit import Circuit, find
from gaugesim.reading import Response, Situation, respond, situation
from gaugesim.reading.correction import Correction
from gaugesim.reading.response import SOUNDING_OHMS, Engine
from gaugesim.reading.situation import without_process
from gaugesim.scenario.check import LAMP, Check
from gaugesim.scenario.fault import HEALTHY, Fault, all_faults, change
from gaugesim.scenario.stack import Scenarios, stack
from gaugesim.solve import nodal
from gaugesim.solve.network import OPEN_OHMS, SHORT_OHMS, Floats, Integers, Network, islands
from gaugesim.solve.spice import Steps, solve_batch

# what deviations count against where there is less; a coil with less than its amperes moves no needle
VOLT, AMPERE, OHM = 0.1, 1e-6, 1e-3
COIL_AMPERE = 1e-5
# currents and volts agree to this; needles and meters to this, or ngspice is asked again
SAME, SHOWN = 1e-6, 1e-7
# all voltages and currents are looked at in one state with each check, and with one fault in so many
SHARE = 5
# what a test lamp has there [ohm]
LAMP_OHMS = 10.0


def severities(fault: Fault) -> Floats:
    """What a fault is tried with: the ends of its range and the typical severity, or halfway."""
    severity = fault.mode.severity
    low, typical, high = severity.low, severity.typical, severity.high
    if not severity.quantity:
        return np.zeros(1)
    middle = (low + high) / 2 if typical in (low, high) else typical
    return np.array(sorted([low, middle, high]))


class Faults:
    """The sound circuit and all its faults at all severities, as scenarios."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.faults = all_faults(circuit)
        self._stacks: dict[frozenset[tuple[str, float]], Scenarios] = {}

    def rows(self, place: Situation) -> Scenarios:
        """All of them in a situation."""
        key = frozenset(place.parameters.items())
        if key not in self._stacks:
            changes = [
                change(self.circuit, fault, severities(fault), place.parameters) for fault in self.faults
            ]
            self._stacks[key] = stack([HEALTHY, *changes])
        return without_process(self._stacks[key], place.known)

    def name(self, rows: Scenarios, row: int) -> str:
        """What is wrong in a row, and how much."""
        source = rows.source[row]
        return f"{self.faults[source - 1].id} {rows.severity[row]:.4g}" if source else "sound"


class Reference:
    """ngspice as an engine for situations of one circuit; what it has solved it remembers."""

    def __init__(self) -> None:
        self.networks = 0
        self.again = 0
        self._shape = b""
        self._steps: Steps | None = None
        self._keys = np.empty(0, dtype=np.uint64)
        self._known = np.empty((0, 0))

    def quick(self, place: Situation) -> Engine:
        """Resistors as resistors, each network once."""

        def currents(
            network: Network, outputs: Sequence[int], rows: Scenarios, lamp_ohms: Floats | None
        ) -> Floats:
            batch = in_full(place, network, rows, lamp_ohms)
            steps = self._steps_for(batch, outputs)
            keys = digests(batch)
            new, first = np.unique(keys, return_index=True)
            # in the order of the scenarios, in which neighbours are most alike
            first = np.sort(first[~np.isin(new, self._keys)])
            if len(first):
                self.networks += len(first)
                solved = steps.currents(batch.ohms[first], batch.volts[first])
                keys_known = np.concatenate([self._keys, keys[first]])
                order = np.argsort(keys_known)
                self._keys, self._known = keys_known[order], np.concatenate([self._known, solved])[order]
            return self._known[np.searchsorted(self._keys, keys)]

        return currents

    def _steps_for(self, batch: Batch, outputs: Sequence[int]) -> Steps:
        driven = batch.network.volts != 0
        shape = b"/".join(np.asarray(part).tobytes() for part in (batch.network.ends, driven, outputs))
        if shape != self._shape or self._steps is None:
            self._shape = shape
            self._steps = Steps(batch.network, outputs)
            self._keys, self._known = np.empty(0, dtype=np.uint64), np.empty((0, len(outputs)))
        return self._steps

    def thorough(self, place: Situation) -> Engine:
        """With every digit, whatever stands beside what."""

        def currents(
            network: Network, outputs: Sequence[int], rows: Scenarios, lamp_ohms: Floats | None
        ) -> Floats:
            batch = in_full(place, network, rows, lamp_ohms)
            return solve_batch(batch.network, batch.ohms, batch.volts).currents[:, list(outputs)]

        return currents


def embedded_finite(place: Situation) -> Engine:
    """The embedded engine as the package uses it, with finite opens and shorts."""
    # a test lamp is not there before its ohms are known
    lamp = {LAMP: np.inf} if place.has_lamp else {}
    factored = {id(phase): nodal.factor(phase.finite().with_ohms(lamp)) for phase in place.phases}
    if place.meter is not None:
        factored[id(place.meter)] = nodal.factor(place.meter.finite())

    def currents(
        network: Network, outputs: Sequence[int], rows: Scenarios, lamp_ohms: Floats | None
    ) -> Floats:
        rows = replace(rows, ohms=finite(rows.ohms))
        return Correction(factored[id(network)], outputs, rows, place.decided(network), lamp_ohms).currents()

    return currents


def heard(place: Situation, rows: Scenarios, engine: Engine) -> tuple[Response, list[Floats]]:
    """What an engine makes of scenarios, and every current that it was asked for."""
    told: list[Floats] = []

    def listening(*question: Any) -> Floats:
        told.append(engine(*question))
        return told[-1]

    return respond(place, rows, listening), told


def compare(place: Situation, rows: Scenarios, reference: Reference, ledger: Ledger, where: Where) -> None:
    """Let both engines answer, and keep how far they are apart."""
    (mine, own), (theirs, told) = (
        heard(place, rows, engine) for engine in (embedded_finite(place), reference.quick(place))
    )
    off = apart(place, mine, theirs, own, told)
    again = np.any(
        [~(values < (SAME if kind == "amperes" else SHOWN)) for kind, values in off.items()], axis=0
    )
    if np.any(again):
        reference.again += int(again.sum())
        theirs, told = heard(place, rows.take(again), reference.thorough(place))
        worked_out = apart(place, taken(mine, again), theirs, [values[again] for values in own], told)
        for kind, values in worked_out.items():
            off[kind][again] = values
    for kind, values in off.items():
        ledger.note(kind, values, where)


def taken(response: Response, rows: Integers) -> Response:
    """Some of the rows."""
    return replace(
        response,
        positions={gauge: values[rows] for gauge, values in response.positions.items()},
        reading=None if response.reading is None else response.reading[rows],
        pulses=response.pulses[rows],
        duty=response.duty[rows],
    )


def apart(
    place: Situation, mine: Response, theirs: Response, own: list[Floats], told: list[Floats]
) -> dict[str, Floats]:
    """How far two responses are apart: in a needle's position, and in readings and currents as a share."""
    ends = (
        np.array([np.nan_to_num(values, nan=UNDRIVEN) for values in one.positions.values()])
        for one in (mine, theirs)
    )
    off = {"needle": np.abs(np.subtract(*ends)).max(axis=0), "duty": np.abs(mine.duty - theirs.duty)}
    # a test lamp is sounded out with the same ohms by both; then each has its own idea of them
    asked = slice(len(SOUNDING_OHMS) if place.has_lamp else None)
    off["amperes"] = share(np.hstack(own[asked]), np.hstack(told[asked]), COIL_AMPERE).max(axis=1)
    assert (mine.reading is None) == (theirs.reading is None)
    if mine.reading is not None and theirs.reading is not None:
        least = OHM if place.check.reads == "ohms" else VOLT
        off[place.check.reads] = share(mine.reading, theirs.reading, least)
        off["pulses"] = (mine.pulses != theirs.pulses).astype(float)
    return off


def share(mine: Floats, theirs: Floats, least: Floats | float) -> Floats:
    """How far two numbers are apart as a share of them."""
    return np.asarray(np.abs(mine - theirs) / np.maximum(np.abs(theirs), least))


def finite(ohms: Floats) -> Floats:
    """The stand-ins for opens and dead shorts [ohm]."""
    return np.where(np.isinf(ohms), OPEN_OHMS, np.where(ohms == 0, SHORT_OHMS, ohms))


def in_full(place: Situation, network: Network, rows: Scenarios, lamp_ohms: Floats | None) -> Batch:
    """The network of each scenario; a chafe that it does not have is no branch of it, and no open one."""
    setup = place.check.meter if network is place.meter and place.check.meter else place.check.setup
    batch = stamped(place, network, setup, rows, lamp_ohms)
    own = len(network.names)
    absent = np.isinf(batch.ohms) & (np.arange(batch.ohms.shape[1]) >= own)
    source = batch.volts != 0
    ohms = np.where(absent | (source & (batch.ohms == 0)), batch.ohms, finite(batch.ohms))
    return replace(batch, ohms=ohms)


def digests(batch: Batch) -> Integers:
    """A number for each network; were one to stand for two, they would be found to disagree."""
    bits = np.concatenate([batch.ohms, batch.volts], axis=1).view(np.uint64)
    odd = np.random.default_rng(1).integers(2**63, size=bits.shape[1], dtype=np.uint64) * 2 + 1
    bits = (bits ^ (bits >> 32)) * np.uint64(0x9E3779B97F4A7C15)
    return np.asarray(((bits ^ (bits >> 29)) * odd).sum(axis=1))


def checks_by_place(circuit: Circuit) -> tuple[Check, ...]:
    """Checks in an order in which those that hang the same on the circuit follow one another."""
    return tuple(
        sorted(
            electrical_checks(circuit),
            key=lambda check: [(path.node_a, path.node_b, path.name) for path in check.setup.paths],
        )
    )


def titled(place: Situation, faults: Faults, rows: Scenarios) -> Where:
    """Where a row is."""
    return lambda row: f"{place.circuit.id} {place.state} {place.check.id} {faults.name(rows, row)}"


def examine(name: str, part: int, parts: int) -> tuple[Ledger, int, int]:
    """Let both engines answer on a part of a circuit's checks.

    Also how many networks ngspice had to solve, and for how many answers it had to be asked again.
    """
    circuit, ledger, reference = find(name), Ledger(), Reference()
    faults = Faults(circuit)
    checks = checks_by_place(circuit)
    for check in checks[len(checks) * part // parts : len(checks) * (part + 1) // parts]:
        for state in circuit.sheet.states:
            place = situation(circuit, state, check)
            rows = faults.rows(place)
            compare(place, rows, reference, ledger, titled(place, faults, rows))
    return ledger, reference.networks, reference.again


def shared(circuit: Circuit, number: int, sources: Integers) -> tuple[str, Integers]:
    """The state in which a check's voltages and currents are looked at, and with which scenarios."""
    states = [*circuit.sheet.states]
    # each fault at one severity: the next one with the next check
    counts = np.bincount(sources)
    turn = (number // SHARE + np.arange(len(counts))) % counts
    rows = np.cumsum(counts) - counts + turn
    return states[number % len(states)], rows[(np.arange(len(rows)) + number) % SHARE == 0]


def examine_networks(name: str) -> Ledger:
    """Compare all voltages and currents of a circuit in a share of its checks, states and faults."""
    circuit, ledger = find(name), Ledger()
    faults = Faults(circuit)
    for number, check in enumerate(electrical_checks(circuit)):
        place = situation(circuit, None, check)
        state, chosen = shared(circuit, number, faults.rows(place).source)
        place = situation(circuit, state, check)
        rows = faults.rows(place).take(chosen)
        lamp_ohms = np.full(len(rows), LAMP_OHMS) if place.has_lamp else None
        for network in place.phases:
            batch = in_full(place, network, rows, lamp_ohms)
            compare_networks(batch, ledger, titled(place, faults, rows))
        if place.meter is not None:
            compare_networks(in_full(place, place.meter, rows, None), ledger, titled(place, faults, rows))
    return ledger


def compare_networks(batch: Batch, ledger: Ledger, where: Where) -> None:
    """Solve each network with both engines, and keep how far they are apart."""
    ohms, volts, which = batch.distinct()
    first = np.unique(which, return_index=True)[1]
    network = batch.network
    mine, theirs = (solve(network, ohms, volts) for solve in (nodal.solve, solve_batch))
    hang = islands(network.ends, ohms < OPEN_OHMS, len(network.nodes)) != len(network.nodes)
    # there the last digits of the largest voltage are lost, and of the largest current times an open
    largest = np.abs(np.concatenate([mine.voltages, mine.currents], axis=1)).max(axis=1, keepdims=True)
    least = np.where(hang, largest, 0.0)
    off = {
        "volts of nodes": share(mine.voltages, theirs.voltages, np.maximum(least, VOLT)),
        "amperes of branches": share(mine.currents, theirs.currents, AMPERE),
    }
    for kind, values in off.items():
        ledger.note(kind, values.max(axis=1), lambda row: where(int(first[row])))
