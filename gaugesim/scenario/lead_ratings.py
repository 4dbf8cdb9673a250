"""What the leads, resistors and supplies of a check must bear: the fuse and watts that the circuit asks for.

Worked out from the sound circuit, in the state it is usually in and with the key off. What would flow is
solved for, not looked up: a lead that no fuse would bear, or that puts a battery on a sender, is no check.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.movement import MOVEMENTS
from gaugesim.scenario.apparatus import LAMP, METER, Leads, Setup
from gaugesim.sheet import roles
from gaugesim.solve import nodal
from gaugesim.solve.network import GROUND, Network

# ratings of blade fuses [A]: ISO 8820-3, from memory
FUSES = (1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0)
# ratings of resistors that a parts drawer has [W], and settings of a supply's current limit [A]: assumed
WATTS = (0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 25.0)
AMPERES = (0.1, 0.2, 0.3, 0.5, 1.0, 2.0, 3.0)
# share of its rating that a fuse bears for long, and a resistor in free air: common practice, no source
FUSE_LOADED, RESISTOR_LOADED = 0.75, 0.5
# a lead of less than this is a wire, not a resistor [ohm]
WIRE_OHMS = 0.2
# a sender bears three times the power that its gauge sends through it, and a watt at the least: assumed
SENDER_SHARE, SENDER_WATTS = 3.0, 1.0
# a winding bears a tenth more current than at the top of its scale, and twice that power for long: assumed
HEATER_SHARE, HEATER_WATTS = 1.1, 2.0
# what is made to be hung on a live circuit
INSTRUMENTS = (METER, LAMP)


def with_setup(circuit: Circuit, parameters: Mapping[str, float], setup: Setup) -> Network:
    """The network with a check's leads and meters in place, and without what it takes away."""
    network = circuit.network(circuit.values(parameters))
    opened = {} if setup.kept is None else {name: np.inf for name in network.names if name not in setup.kept}
    if setup.dead:
        opened |= {
            name: np.inf for name, volts in zip(network.names, network.volts, strict=True) if volts != 0
        }
    return network.with_ohms({**opened, **setup.branches}).with_paths(setup.paths)


def leads(circuit: Circuit, check: tuple[str, str], setup: Setup) -> Leads:
    """What a check's leads, resistors and supply must bear.

    Empty where it hangs nothing on the circuit but a meter or a lamp.
    """
    joins = any(path.name not in INSTRUMENTS for path in setup.paths) or setup.parameters
    if setup.dead or not joins:
        return Leads()
    return circuit.recall(("leads", check), {}, lambda: _leads(circuit, setup))


def _leads(circuit: Circuit, setup: Setup) -> Leads:
    on = _Bears(circuit, setup, circuit.sheet.default_state)
    off = _Bears(circuit, setup, "key_off") if "key_off" in circuit.sheet.states else on
    fuse, watts, supply = 0.0, 0.0, 0.0
    limits: dict[str, float] = {}
    for path in setup.paths:
        if path.name in INSTRUMENTS:
            continue
        amperes = max(abs(there[path.name]) for there in (on.currents, off.currents, on.bridging))
        needed = _next(amperes / FUSE_LOADED, FUSES)
        if path.volts:
            supply = limits[path.name] = _next(amperes / FUSE_LOADED, AMPERES)
        elif path.ohms < WIRE_OHMS:
            fuse, limits[path.name] = max(fuse, needed), needed
        else:
            fuse, watts = max(fuse, needed), _next(amperes**2 * path.ohms / RESISTOR_LOADED, WATTS)
            limits[path.name] = float(np.sqrt(RESISTOR_LOADED * watts / path.ohms))
    limits |= {name: on.sender_amperes[name] for name in _joined_senders(circuit, setup)}
    short = f"the lead, and the wires that feed it: {_most(setup, on, off):.0f} A would flow"
    sender = "a sender, which never gets the battery's voltage" if _feeds_a_sender(circuit, setup) else ""
    burns = short if np.isinf(fuse) else on.burnt_sender or off.burnt_heater or sender
    return Leads(fuse, watts, supply, limits, on.overheats, burns)


def _feeds_a_sender(circuit: Circuit, setup: Setup) -> bool:
    """Whether a lead joins the battery with a sender's lead, whatever the sender bears today."""
    points = circuit.sheet.points
    live = points[circuit.sheet.live_pole].node
    leads = {
        point.node for name, point in points.items() if name.endswith(("sender_lead", roles().sender_stud))
    }
    ends = [{path.node_a, path.node_b} for path in setup.paths if path.name not in INSTRUMENTS]
    return any(live in pair and not pair.isdisjoint(leads) for pair in ends)


def sender_limits(circuit: Circuit) -> Mapping[str, float]:
    """Current that each sender bears, by its element [A]."""
    usual = circuit.sheet.default_state
    return circuit.recall(("senders bear",), {}, lambda: _Bears(circuit, Setup(), usual).sender_amperes)


class _Bears:
    """What flows in a state of the sound circuit with a check's leads on, beside what its parts bear."""

    def __init__(self, circuit: Circuit, setup: Setup, state: str) -> None:
        self.circuit, self.isolated = circuit, setup.kept is not None
        self.parameters = {**circuit.parameters(state), **setup.parameters}
        self.values = circuit.values(self.parameters)
        self.senders = {} if self.isolated else _senders(circuit)
        gauges = circuit.sheet.gauges.values()
        self.heaters = [gauge for gauge in gauges if MOVEMENTS[gauge.movement].heats and not self.isolated]
        regulator = circuit.sheet.regulator
        self.contact = regulator.contact if regulator and self.heaters else ""
        watched = [*self.senders, *(gauge.element for gauge in self.heaters)]
        watched += [self.contact] if self.contact else []
        self.currents = _currents(circuit, self.parameters, setup, watched)
        self.sound = _currents(circuit, self.parameters, Setup(), watched) if watched else {}
        # a lead across a part carries all that the part does once it is open
        ends = {frozenset((path.node_a, path.node_b)) for path in setup.paths}
        bridged = {
            part.element: np.inf
            for part in circuit.sheet.parts.values()
            if part.element and not self.isolated and frozenset(_ends(circuit, part.element)) in ends
        }
        self.bridging = self.currents
        if bridged:
            opened = replace(setup, branches={**setup.branches, **bridged})
            self.bridging = _currents(circuit, self.parameters, opened, ())

    @property
    def sender_amperes(self) -> dict[str, float]:
        """Current that each sender bears [A]."""
        ohms = {name: max(float(self.values[name]), WIRE_OHMS) for name in self.senders}
        return {
            name: float(np.sqrt(max(SENDER_SHARE * self.sound[name] ** 2, SENDER_WATTS / ohms[name])))
            for name in self.senders
        }

    @property
    def burnt_sender(self) -> str:
        """A sender that gets more than it bears."""
        bears = self.sender_amperes
        burnt = (words for name, words in self.senders.items() if abs(self.currents[name]) > bears[name])
        return next(burnt, "")

    @property
    def burnt_heater(self) -> str:
        """A winding that gets more than it bears for long, with no regulator in between."""
        regulated = abs(self.currents[self.contact]) if self.contact else 0.0
        for gauge in self.heaters:
            amperes = abs(self.currents[gauge.element])
            watts = amperes**2 * float(self.values[gauge.element])
            if amperes > regulated and watts > HEATER_WATTS * gauge.high:
                return f"the winding of the {gauge.words}"
        return ""

    @property
    def overheats(self) -> bool:
        """Whether a winding gets more than at the top of its scale, the regulator's contact closed."""
        for gauge in self.heaters:
            top = {**self.parameters, gauge.reads: gauge.marks[-1].at}
            most = _currents(self.circuit, top, Setup(), [gauge.element])[gauge.element]
            if abs(self.currents[gauge.element]) > HEATER_SHARE * abs(most):
                return True
        return False


def _currents(
    circuit: Circuit, parameters: Mapping[str, float], setup: Setup, watched: Sequence[str]
) -> dict[str, float]:
    """Currents of what a check adds, and of some elements [A]."""
    names = [*(path.name for path in setup.paths), *watched]
    if setup.kept is not None or setup.parameters:
        solution = nodal.solve(with_setup(circuit, parameters, setup))
        return {name: float(solution.current(name)) for name in names}
    base = circuit.recall(
        "solved", parameters, lambda: nodal.factor(circuit.network(circuit.values(parameters)))
    )
    network = base.network
    columns = base.columns(
        [network.branch(name) for name in setup.branches],
        [(network.node(path.node_a), network.node(path.node_b)) for path in setup.paths],
    )
    ohms = [*setup.branches.values(), *(path.ohms for path in setup.paths)]
    index = np.arange(len(ohms))
    columns, index, amount = base.freed(columns, index, columns.amount(index, np.array(ohms)))
    p, q = (columns.p_index, columns.p_sign), (columns.q_index, columns.q_sign)
    drive = base.pick(q)
    drive[len(setup.branches) : len(ohms)] -= [path.volts for path in setup.paths]
    flows = nodal.corrections(base.transfer(q, p)[None], drive[None], amount[None])[0]
    rows = base.rows([(len(network.nodes) + network.branch(name), base.size) for name in watched])
    own = base.pick(rows) - base.transfer(rows, p) @ flows
    return dict(zip(names, [*flows[len(setup.branches) : len(ohms)].tolist(), *own.tolist()], strict=True))


def _senders(circuit: Circuit) -> dict[str, str]:
    """Elements of the senders, with what they are called."""
    parts = circuit.sheet.parts
    sender = roles().sender
    names = [sender, *(f"{gauge}_{sender}" for gauge in circuit.sheet.gauges)]
    return {parts[name].element: f"the {parts[name].words}" for name in names if name in parts}


def _joined_senders(circuit: Circuit, setup: Setup) -> list[str]:
    """Senders that are taken out and wired again, or have another's lead on their terminals."""
    if setup.kept is not None:
        return []
    # leads are exchanged where others come off
    joined = [path for path in setup.paths if path.name not in INSTRUMENTS and setup.branches]
    nodes = {node for path in joined for node in (path.node_a, path.node_b)}
    # a sender that is out hangs on a clip lead
    nodes |= {
        node for name, ohms in setup.branches.items() if np.isfinite(ohms) for node in _ends(circuit, name)
    }
    return [name for name in _senders(circuit) if {*_ends(circuit, name)} & (nodes - {GROUND})]


def _ends(circuit: Circuit, element: str) -> tuple[str, str]:
    branch = circuit.netlist.element(element)
    return branch.node_a, branch.node_b


def _most(setup: Setup, *states: _Bears) -> float:
    """The largest current of a lead [A]."""
    wires = [path.name for path in setup.paths if path.ohms < WIRE_OHMS]
    return max((abs(state.currents[name]) for state in states for name in wires), default=0.0)


def _next(needed: float, ratings: Sequence[float]) -> float:
    """The smallest rating that does, infinite if none does."""
    return next((rating for rating in ratings if rating >= needed), float("inf"))
