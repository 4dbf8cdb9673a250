"""Both engines on every check in every state of a circuit with every fault, opens and shorts finite.

Each network goes to ngspice once, for many a state and check comes down to the same one. What the embedded
engine makes of it is, as everywhere in the package, a small correction of one solution.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from hashlib import blake2b

import numpy as np
from invariants.anew import Batch, stamped
from invariants.everything import TURNS, UNDRIVEN, Ledger, Rows, Where, electrical_checks

from gaugesim.circuit import Circuit, find
from gaugesim.reading import Response, Situation, respond, situation
from gaugesim.reading.response import Engine
from gaugesim.reading.situation import without_process
from gaugesim.scenario.check import Check
from gaugesim.scenario.stack import Scenarios
from gaugesim.solve import nodal
from gaugesim.solve.network import OPEN_OHMS, SHORT_OHMS, Floats, Network, islands
from gaugesim.solve.spice import solve_batch

# what deviations count against where there is less
VOLT, AMPERE, OHM = 0.1, 1e-6, 1e-3
# one fault in so many is tried with another severity too, others in the next check
EVERY = 8
# a circuit of one gauge, and one of several, is looked at in one state of so many with each check
STATES = 3, 6
# networks that are kept, at a kilobyte each
MOST = 200_000


class Engines:
    """Both engines for one circuit, and what each has made of each network so far.

    Parameters
    ----------
    ledger : Ledger
        Where deviations are kept.
    """

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        # currents of a network's branches, embedded engine and ngspice
        self.known: dict[bytes, tuple[Floats, Floats]] = {}
        self.networks = 0

    def compare(self, place: Situation, rows: Scenarios, where: Where) -> None:
        """Let both answer, and keep how far they are apart."""

        def engine(which: int) -> Engine:
            def currents(
                network: Network, outputs: Sequence[int], rows: Scenarios, lamp_ohms: Floats | None
            ) -> Floats:
                batch = in_full(place, network, rows, lamp_ohms)
                keys = self._solve(batch, len(network.names), where)
                return np.array([self.known[key][which] for key in keys])[:, list(outputs)]

            return currents

        self._readings(place, respond(place, rows, engine(0)), respond(place, rows, engine(1)), where)

    def _solve(self, batch: Batch, own: int, where: Where) -> list[bytes]:
        """Solve each network that is new; the names of all."""
        keys = digests(batch)
        new = {key: row for row, key in enumerate(keys) if key not in self.known}
        if new:
            if len(self.known) > MOST:
                # this batch may still ask for what it knows
                self.known = {key: self.known[key] for key in keys if key in self.known}
            at = np.array([*new.values()])
            self.networks += len(at)
            mine, theirs = (
                solve(batch.network, batch.ohms[at], batch.volts[at]) for solve in (nodal.solve, solve_batch)
            )
            hang = islands(batch.network.ends, batch.ohms[at] < OPEN_OHMS, len(batch.network.nodes))
            hang = hang != len(batch.network.nodes)
            # the last digit of the currents that flow elsewhere, times the ohms of an open
            least = np.where(hang, np.abs(mine.currents).max(axis=1, keepdims=True), 0.0)
            off = {
                "volts of nodes": apart(mine.voltages, theirs.voltages, np.maximum(least, VOLT)),
                "amperes of branches": apart(mine.currents, theirs.currents, AMPERE),
            }
            for kind, values in off.items():
                self.ledger.note(kind, values.max(axis=1), lambda row: where(at[row]))
            pairs = zip(mine.currents[:, :own], theirs.currents[:, :own], strict=True)
            self.known.update(zip(new, pairs, strict=True))
        return keys

    def _readings(self, place: Situation, mine: Response, theirs: Response, where: Where) -> None:
        for gauge in place.gauges:
            ends = [np.nan_to_num(one.positions[gauge.id], nan=UNDRIVEN) for one in (mine, theirs)]
            self.ledger.note("needle", np.abs(ends[0] - ends[1]), where)
        self.ledger.note("duty", np.abs(mine.duty - theirs.duty), where)
        if mine.reading is not None and theirs.reading is not None:
            self.ledger.note(
                place.check.reads,
                apart(mine.reading, theirs.reading, OHM if place.check.reads == "ohms" else VOLT),
                where,
            )
        assert (mine.reading is None) == (theirs.reading is None)


def apart(mine: Floats, theirs: Floats, least: Floats | float) -> Floats:
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


def digests(batch: Batch) -> list[bytes]:
    """A short name for each network."""
    shape = blake2b(batch.network.ends.tobytes(), digest_size=16)
    names = []
    for row in np.concatenate([batch.ohms, batch.volts], axis=1):
        name = shape.copy()
        name.update(row.tobytes())
        names.append(name.digest())
    return names


def chosen(rows: Rows, number: int, whole: bool) -> tuple[list[int], list[str]]:
    """Rows to compare and their faults: typical severities and one in so many others, or all."""
    at, names = [0], ["sound"]
    for fault, name in enumerate(rows.names[1:]):
        turns = [0]
        if whole:
            turns = [*range(TURNS)]
        elif (fault + number) % EVERY == 0:
            turns.append(1 + (fault + number) // EVERY % (TURNS - 1))
        at += [1 + fault * TURNS + turn for turn in turns]
        names += [name] * len(turns)
    return at, names


def places(circuit: Circuit, whole: bool) -> list[tuple[str, Check]]:
    """States and checks to look at."""
    every = 1 if whole else STATES[len(circuit.sheet.gauges) > 1]
    return [
        (state, check)
        for i, state in enumerate(circuit.sheet.states)
        for k, check in enumerate(electrical_checks(circuit))
        if (i + k) % every == 0
    ]


def examine(name: str, whole: bool = False) -> tuple[Ledger, int]:
    """Let both engines answer on a circuit with every fault; how many networks it took.

    The whole of it is every state with every check, and every fault at each of `TURNS` severities.
    """
    circuit, ledger = find(name), Ledger()
    rows, engines = Rows(circuit), Engines(ledger)
    for number, (state, check) in enumerate(places(circuit, whole)):
        place = situation(circuit, state, check)
        at, names = chosen(rows, number, whole)
        scenarios = without_process(rows.all(place.parameters).take(np.array(at)), place.known)
        title = f"{circuit.id} {state} {check.id or 'needles'}"

        def where(row: int, title: str = title, names: list[str] = names, rows: Scenarios = scenarios) -> str:
            return f"{title} {names[row]} {rows.severity[row]:.4g}"

        engines.compare(place, scenarios, where)
    return ledger, engines.networks
