"""Both engines on every check of a circuit, states in turn, with every fault, opens and shorts finite.

What needles and meters show is compared everywhere, and all voltages and currents. The embedded engine
corrects one solution for each fault, as everywhere in the package. ngspice is given each network as
resistors, which is quick; where the two do not agree it is asked again with `spice.solve`, which keeps the
digits that conductances lose beside a dead short or between two opens.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from invariants.anew import Batch, stamped
from invariants.everything import UNDRIVEN, Ledger, Where, electrical_checks
from numpy.typing import NDArray
from spice_steps import Steps, solve_each

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit, find
from gaugesim.reading import Response, Situation, respond
from gaugesim.reading.correction import Correction
from gaugesim.reading.response import SOUNDING_OHMS
from gaugesim.reading.situations import without_process
from gaugesim.scenario.check import LAMP, Check
from gaugesim.scenario.fault import HEALTHY, Fault, all_faults, change
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.solve import nodal
from gaugesim.solve.network import OPEN_OHMS, SHORT_OHMS, Integers, Network, islands

# what deviations count against where there is less; a coil with less than its amperes moves no needle
VOLT, AMPERE, OHM = 0.1, 1e-6, 1e-3
COIL_AMPERE = 1e-5
# currents and volts agree to this; needles and meters to this, or ngspice is asked again
SAME, SHOWN = 1e-6, 1e-7
HIDDEN = ("volts of nodes", "amperes of branches")
SOLVED = ("amperes", *HIDDEN)
# what ngspice leaves of the digits of the largest voltage
DIGITS = 1e-14
# each check is made in one state of so many in turn
STATES = 3


def severities(fault: Fault) -> Floats:
    """What a fault is tried with: the ends of its range, halfway, and the typical one."""
    severity = fault.mode.severity
    if not severity.quantity:
        return np.zeros(1)
    return np.unique([*np.linspace(severity.low, severity.high, 3), severity.typical])


class Faults:
    """The sound circuit and all its faults at some severities, as scenarios."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.faults = all_faults(circuit)
        self._stacks: dict[frozenset[tuple[str, float]], Scenarios] = {}

    def rows(self, situation: Situation) -> Scenarios:
        """All of them in a situation."""
        key = frozenset(situation.parameters.items())
        if key not in self._stacks:
            changes = [
                change(self.circuit, fault, severities(fault), situation.parameters) for fault in self.faults
            ]
            self._stacks[key] = stack([HEALTHY, *changes])
        return without_process(self._stacks[key], situation.pinned)

    def name(self, rows: Scenarios, row: int) -> str:
        """What is wrong in a row, and how much."""
        source = rows.source[row]
        return f"{self.faults[source - 1].id} {rows.severity[row]:.4g}" if source else "sound"


@dataclass(frozen=True)
class Answer:
    """What an engine says of a network in each scenario.

    The currents that it is asked for, shape (n, outputs); the voltages of all nodes, shape (n, nodes), and
    the currents of all branches but chafes, shape (n, branches); what deviations of these two count against
    where there is less.
    """

    currents: Floats
    voltages: Floats
    amperes: Floats
    least_volts: Floats | float = VOLT
    least_amperes: Floats | float = AMPERE

    def take(self, rows: NDArray[np.bool_]) -> Answer:
        return Answer(self.currents[rows], self.voltages[rows], self.amperes[rows])

    def put(self, rows: NDArray[np.bool_], other: Answer) -> Answer:
        """The same with some rows from another."""

        def mixed(own: Floats | float, others: Floats | float, like: Floats) -> Floats:
            result = np.array(np.broadcast_to(own, like.shape))
            result[rows] = others
            return result

        return Answer(
            mixed(self.currents, other.currents, self.currents),
            mixed(self.voltages, other.voltages, self.voltages),
            mixed(self.amperes, other.amperes, self.amperes),
            mixed(self.least_volts, other.least_volts, self.voltages),
            mixed(self.least_amperes, other.least_amperes, self.amperes),
        )


Answers = Callable[[Network, Sequence[int], Scenarios, Floats | None], Answer]


# of leads parted at both ends an ohmmeter reads a gigaohm, for which the quick way lacks digits
PARTED = ("ohms_parted", "volts_parted")


class Reference:
    """ngspice as an engine for situations of one circuit; what it has solved it remembers."""

    def __init__(self) -> None:
        self.networks = 0
        self.again = 0
        self._shape = b""
        self._steps: Steps | None = None
        self._keys = np.empty(0, dtype=np.uint64)
        self._known = np.empty((0, 0))

    def quick(self, situation: Situation) -> Answers:
        """Resistors as resistors, each network once."""

        def answer(
            network: Network, outputs: Sequence[int], rows: Scenarios, lamp_ohms: Floats | None
        ) -> Answer:
            batch = in_full(situation, network, rows, lamp_ohms)
            steps = self._steps_for(batch, outputs)
            keys = digests(batch)
            new, first = np.unique(keys, return_index=True)
            # in the order of the scenarios, in which neighbours are most alike
            first = np.sort(first[~np.isin(new, self._keys)])
            if len(first):
                self.networks += len(first)
                solved = np.concatenate(steps.solve(batch.ohms[first], batch.volts[first]), axis=1)
                keys_known = np.concatenate([self._keys, keys[first]])
                order = np.argsort(keys_known)
                self._keys, self._known = keys_known[order], np.concatenate([self._known, solved])[order]
            known = self._known[np.searchsorted(self._keys, keys)]
            voltages = known[:, len(outputs) :]
            amperes, least = by_ohms_law(batch, voltages, len(network.names))
            return Answer(known[:, : len(outputs)], voltages, amperes, VOLT, least)

        return answer

    def _steps_for(self, batch: Batch, outputs: Sequence[int]) -> Steps:
        driven = batch.network.volts != 0
        shape = b"/".join(np.asarray(part).tobytes() for part in (batch.network.ends, driven, outputs))
        if shape != self._shape or self._steps is None:
            self._shape = shape
            nodes = range(len(batch.network.nodes))
            self._steps = Steps(batch.network, outputs, nodes)
            self._keys = np.empty(0, dtype=np.uint64)
            self._known = np.empty((0, len(outputs) + len(nodes)))
        return self._steps

    def thorough(self, situation: Situation) -> Answers:
        """With every digit, whatever stands beside what."""

        def answer(
            network: Network, outputs: Sequence[int], rows: Scenarios, lamp_ohms: Floats | None
        ) -> Answer:
            batch = in_full(situation, network, rows, lamp_ohms)
            _, first, which = np.unique(digests(batch), return_index=True, return_inverse=True)
            # in the order of the scenarios, in which neighbours are most alike
            order = np.argsort(first)
            first, which = first[order], np.argsort(order)[which]
            ohms, volts = batch.ohms[first], batch.volts[first]
            solved = solve_each(batch.network, ohms, volts)
            least = np.maximum(lost(batch.network, ohms, solved), VOLT)
            currents = solved.currents[which]
            own = currents[:, : len(network.names)]
            return Answer(currents[:, list(outputs)], solved.voltages[which, :-1], own, least[which, :-1])

        return answer


def embedded_finite(situation: Situation) -> Answers:
    """The embedded engine as the package uses it, with finite opens and shorts."""
    # a test lamp is not there before its ohms are known
    lamp = {LAMP: np.inf} if situation.has_lamp else {}
    factored = {id(phase): nodal.factor(phase.finite().with_ohms(lamp)) for phase in situation.phases}
    if situation.meter is not None:
        factored[id(situation.meter)] = nodal.factor(situation.meter.finite())

    def answer(network: Network, outputs: Sequence[int], rows: Scenarios, lamp_ohms: Floats | None) -> Answer:
        rows = replace(rows, ohms=finite(rows.ohms))
        # among the unknowns the voltages of the nodes come before the currents of the branches
        nodes = len(network.nodes)
        unknowns = range(-nodes, len(network.names))
        solved = Correction(
            factored[id(network)], unknowns, rows, situation.decided(network), lamp_ohms
        ).currents()
        amperes = solved[:, nodes:]
        return Answer(amperes[:, list(outputs)], solved[:, :nodes], amperes)

    return answer


Heard = tuple[Response, list[tuple[Any, ...]], list[Answer]]


def heard(situation: Situation, rows: Scenarios, engine: Answers) -> Heard:
    """What an engine makes of scenarios, all that it was asked on the way, and what it answered."""
    asked: list[tuple[Any, ...]] = []
    told: list[Answer] = []

    def listening(*question: Any) -> Floats:
        asked.append(question)
        told.append(engine(*question))
        return told[-1].currents

    return respond(situation, rows, listening), asked, told


def with_every_digit(
    asked: Sequence[tuple[Any, ...]], own: list[Answer], told: list[Answer], ask: Answers
) -> list[Answer]:
    """The answers told, those that differ in a node or a branch from one's own asked again."""
    better = []
    for (network, outputs, rows, lamp_ohms), one, other in zip(asked, own, told, strict=True):
        off = np.any([~(values < SAME).all(axis=1) for values in solved_apart(one, other).values()], axis=0)
        if np.any(off):
            lamp = None if lamp_ohms is None else lamp_ohms[off]
            other = other.put(off, ask(network, outputs, rows.take(off), lamp))
        better.append(other)
    return better


def solved_apart(one: Answer, other: Answer) -> dict[str, Floats]:
    """How far the voltages of nodes and the currents of branches are apart, as a share."""
    return {
        "volts of nodes": share(one.voltages, other.voltages, other.least_volts),
        "amperes of branches": share(one.amperes, other.amperes, other.least_amperes),
    }


def compare(
    situation: Situation, rows: Scenarios, reference: Reference, ledger: Ledger, where: Where
) -> None:
    """Let both engines answer, and keep how far they are apart."""
    mine, _, own = heard(situation, rows, embedded_finite(situation))
    theirs, asked, told = heard(situation, rows, reference.quick(situation))
    off = apart(situation, mine, theirs, own, told)
    again = np.any([doubtful(kind, values) for kind, values in off.items() if kind not in HIDDEN], axis=0)
    if situation.check.kind.id not in PARTED:
        reference.again += int(again.sum())
    if any(np.any(doubtful(kind, off[kind])) for kind in HIDDEN):
        told = with_every_digit(asked, own, told, reference.thorough(situation))
        off = apart(situation, mine, theirs, own, told)
    again = np.any([doubtful(kind, values) for kind, values in off.items()], axis=0)
    if np.any(again):
        theirs, _, told = heard(situation, rows.take(again), reference.thorough(situation))
        own = [answer.take(again) for answer in own]
        worked_out = apart(situation, taken(mine, again), theirs, own, told)
        for kind, values in worked_out.items():
            off[kind][again] = values
    for kind, values in off.items():
        ledger.note(kind, values, where)


def doubtful(kind: str, values: Floats) -> NDArray[np.bool_]:
    """Where the engines are further apart than they may be."""
    return ~(values < (SAME if kind in SOLVED else SHOWN))


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
    situation: Situation, mine: Response, theirs: Response, own: list[Answer], told: list[Answer]
) -> dict[str, Floats]:
    """How far two responses are apart: in a needle's position, and in all else as a share."""
    ends = (
        np.array([np.nan_to_num(values, nan=UNDRIVEN) for values in one.positions.values()])
        for one in (mine, theirs)
    )
    off = {"needle": np.abs(np.subtract(*ends)).max(axis=0), "duty": np.abs(mine.duty - theirs.duty)}
    # a test lamp is sounded out with the same ohms by both; then each has its own idea of them
    asked = [*zip(own, told, strict=True)][: len(SOUNDING_OHMS) if situation.has_lamp else None]
    off["amperes"] = worst(share(one.currents, other.currents, COIL_AMPERE) for one, other in asked)
    hidden = [solved_apart(one, other) for one, other in asked]
    for kind in HIDDEN:
        off[kind] = worst(values[kind] for values in hidden)
    assert (mine.reading is None) == (theirs.reading is None)
    if mine.reading is not None and theirs.reading is not None:
        least = OHM if situation.check.reads == "ohms" else VOLT
        off[situation.check.reads] = share(mine.reading, theirs.reading, least)
        off["pulses"] = (mine.pulses != theirs.pulses).astype(float)
    return off


def worst(values: Iterable[Floats]) -> Floats:
    """The largest in each row."""
    return np.concatenate([*values], axis=1).max(axis=1)


def share(mine: Floats, theirs: Floats, least: Floats | float) -> Floats:
    """How far two numbers are apart as a share of them."""
    return np.asarray(np.abs(mine - theirs) / np.maximum(np.abs(theirs), least))


def finite(ohms: Floats) -> Floats:
    """The stand-ins for opens and dead shorts [ohm]."""
    return np.where(np.isinf(ohms), OPEN_OHMS, np.where(ohms == 0, SHORT_OHMS, ohms))


def in_full(situation: Situation, network: Network, rows: Scenarios, lamp_ohms: Floats | None) -> Batch:
    """The network of each scenario; a chafe that it does not have is no branch of it, and no open one."""
    setup = (
        situation.check.meter
        if network is situation.meter and situation.check.meter
        else situation.check.setup
    )
    batch = stamped(situation, network, setup, rows, lamp_ohms)
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


def titled(situation: Situation, faults: Faults, rows: Scenarios) -> Where:
    """Where a row is."""
    return lambda row: (
        f"{situation.circuit.id} {situation.state} {situation.check.id} {faults.name(rows, row)}"
    )


def in_turn(sources: Integers, turn: int) -> Integers:
    """One row of each fault; with each turn the next of its severities, and neighbours at different ones."""
    counts = np.bincount(sources)
    return np.asarray(np.cumsum(counts) - counts + (turn + np.arange(len(counts))) % counts)


def turns(circuit: Circuit, number: int) -> dict[str, int]:
    """The states in which a check, by its number, is made; in each a fault has its next severity."""
    states = [*circuit.sheet.states]
    return {states[i]: (number + i) // STATES for i in range(-number % STATES, len(states), STATES)}


def examine(name: str, part: int, parts: int) -> tuple[Ledger, int, int]:
    """Let both engines answer on a part of a circuit's checks, with every fault in each check's states.

    Also how many networks ngspice had to solve, and for how many answers it had to be asked again for what is
    shown or a current that it was asked for.
    """
    circuit, ledger, reference = find(name), Ledger(), Reference()
    faults = Faults(circuit)
    checks = checks_by_place(circuit)
    for number in range(len(checks) * part // parts, len(checks) * (part + 1) // parts):
        for state, turn in turns(circuit, number).items():
            situation = Situation.of(circuit, state, checks[number])
            rows = faults.rows(situation)
            rows = rows.take(in_turn(rows.source, turn))
            compare(situation, rows, reference, ledger, titled(situation, faults, rows))
    return ledger, reference.networks, reference.again


def by_ohms_law(batch: Batch, voltages: Floats, branches: int) -> tuple[Floats, Floats]:
    """The currents of a network's own branches out of its voltages, and what deviations count against.

    The lower its ohms, the fewer digits the volts across a branch leave of its current; none without ohms.
    """
    ohms = batch.ohms[:, :branches]
    ends = batch.network.ends[:branches]
    grounded = np.concatenate([voltages, np.zeros((len(voltages), 1))], axis=1)
    across = grounded[:, ends[:, 0]] - grounded[:, ends[:, 1]] - batch.volts[:, :branches]
    largest = np.abs(voltages).max(axis=1, keepdims=True)
    with np.errstate(divide="ignore", invalid="ignore"):
        amperes = np.where(ohms > 0, across / ohms, 0.0)
        least = np.where(ohms > 0, np.maximum(DIGITS / SAME * largest / ohms, AMPERE), np.inf)
    return amperes, least


def lost(network: Network, ohms: Floats, solved: nodal.Solution) -> Floats:
    """At each node the volts whose last digits are lost there, shape (n, nodes + 1).

    Where it hangs on opens alone they are those of the largest voltage, or of the largest current times one.
    """
    hang = islands(network.ends, ohms < OPEN_OHMS, len(network.nodes)) != len(network.nodes)
    largest = np.abs(np.concatenate([solved.voltages, solved.currents], axis=1)).max(axis=1, keepdims=True)
    return np.where(hang, largest, 0.0)
