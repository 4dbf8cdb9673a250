"""What faults do to a circuit in a state: a change of a few branches and parameters."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.errors import SheetError
from gaugesim.expression import Value
from gaugesim.netlist import Element
from gaugesim.scenario.changes import Change, Reevaluation, merge
from gaugesim.scenario.fault_list import Fault
from gaugesim.sheet import Mode, Part, roles
from gaugesim.solve.network import OPEN_OHMS, Integers

# what a wire touches whose insulation has failed, by its point; empty for what is always live
_TOUCHES = {
    "to_ground": "body",
    "leak": "body",
    "to_feed": "panel_feed",
    "to_battery": "",
    "second_gauge": "panel_feed",
}

Make = Callable[[Mapping[str, Value]], Change]


def change(circuit: Circuit, fault: Fault, severity: Floats, parameters: Mapping[str, Value]) -> Change:
    """What a fault changes in a state.

    Parameters
    ----------
    severity : ndarray, shape (n,)
        In the mode's own unit [1]; what it is for a mode without degrees does not matter.
    """
    part, mode = fault.part, fault.mode
    if mode.set:
        return _parameter_change(circuit, mode, severity, parameters)
    n = len(severity)
    if mode.id == "stuck" and not part.element:
        return Change(severity, stuck={part.gauge: severity})
    if mode.id == "weak" and not part.element:
        return Change(severity, strength={part.gauge: severity})
    if mode.id == "crossed":
        return _crossed(circuit, part, severity, circuit.values(parameters))
    if mode.id in _TOUCHES:
        far = circuit.sheet.points[_TOUCHES[mode.id] or circuit.sheet.live_pole].node
        # what has no place of its own where it chafes touches at its farther end
        near = part.chafes or circuit.netlist.element(part.element).node_b
        return Change(severity, paths={(near, far): severity})
    if mode.id == "no_ground" and circuit.sheet.regulator:
        return Change(severity, branches={circuit.sheet.regulator.heater: np.full(n, np.inf)})
    element = circuit.netlist.element(part.element)
    before = np.asarray(_values(circuit, [element], parameters)[element.name], dtype=float)
    again: tuple[Reevaluation, ...] = ()
    if mode.id in ("open", "intermittent", "stuck_open"):
        after = np.full(n, np.inf)
    elif mode.id in ("stuck_closed", "bypassed"):
        after = np.zeros(n)
    elif mode.severity.quantity == "factor":
        after = before * severity
        again = (Reevaluation(partial(_multiplied, circuit, part.element, severity), n, np.arange(n)),)
    elif mode.id == "short":
        after = severity
    elif mode.severity.quantity == "ohms":
        after = before + severity
    else:
        raise SheetError(
            f"nothing says what {fault.id} does", circuit.sheet.path.name, "give its mode set, ohms or factor"
        )
    turns = {part.element: severity} if mode.id == "short" and mode.severity.quantity == "factor" else {}
    return Change(severity, branches={part.element: after}, turns=turns, again=again)


def _values(
    circuit: Circuit, elements: Sequence[Element], parameters: Mapping[str, Value]
) -> Mapping[str, Value]:
    """Values of some elements, at least: with arrays as parameters, all of them would be much more work."""
    if any(isinstance(value, np.ndarray) for value in parameters.values()):
        return circuit.netlist.values(parameters, elements)
    return circuit.values(parameters)


def _multiplied(
    circuit: Circuit, element: str, severity: Floats, parameters: Mapping[str, Value], rows: Integers
) -> dict[str, Floats]:
    sound = circuit.netlist.values(parameters, [circuit.netlist.element(element)])[element]
    return {element: np.asarray(sound * severity[rows], dtype=float)}


def _parameter_change(
    circuit: Circuit, mode: Mode, severity: Floats, parameters: Mapping[str, Value]
) -> Change:
    """The change that a mode's own expressions make, wherever the netlist carries it."""
    changed, after = _set(circuit, mode, severity, parameters)
    moved = circuit.netlist.moved_by(changed)
    before = _values(circuit, moved, parameters)
    branches, volts = {}, {}
    for element in moved:
        if element.kind not in "rv" or np.all(after[element.name] == before[element.name]):
            continue
        if element.kind == "v":
            volts[element.name] = after[element.name]
        else:
            # in a netlist an open can only be written as a large number; as a fault it is exact
            branches[element.name] = np.where(after[element.name] >= OPEN_OHMS, np.inf, after[element.name])
    return Change(
        severity,
        branches=branches,
        volts=volts,
        parameters=changed,
        again=(
            Reevaluation(
                partial(_set_again, circuit, mode, severity), len(severity), np.arange(len(severity))
            ),
        ),
    )


def _set_again(
    circuit: Circuit, mode: Mode, severity: Floats, parameters: Mapping[str, Value], rows: Integers
) -> dict[str, Floats]:
    return _set(circuit, mode, severity[rows], parameters)[1]


def _set(
    circuit: Circuit, mode: Mode, severity: Floats, parameters: Mapping[str, Value]
) -> tuple[dict[str, Floats], dict[str, Floats]]:
    """Parameters that a mode's own expressions set, and every element that can move with them."""

    def whole(value: Value) -> Floats:
        return np.broadcast_to(np.asarray(value, dtype=float), severity.shape)

    names = {name for expression in mode.set.values() for name in expression.names} - {"x"}
    variables = {**circuit.netlist.parameter_values(parameters, names), "x": severity}
    changed = {name: whole(expression(variables.__getitem__)) for name, expression in mode.set.items()}
    moved = circuit.netlist.moved_by(changed)
    values = circuit.netlist.values({**parameters, **changed}, moved)
    return changed, {name: whole(value) for name, value in values.items()}


def _crossed(circuit: Circuit, part: Part, severity: Floats, values: Mapping[str, Value]) -> Change:
    """Two gauges' leads exchanged, at the senders or at the gauges, or two leads of one gauge."""
    if part.crosses[0] in circuit.sheet.parts:
        return _swapped(circuit, part, severity, values)
    first, second = part.crosses
    exchanging = roles().exchanged
    wires = exchanging.get(part.id, next(iter(exchanging.values())))
    at = next(
        (name for name in wires if {f"{first}_{name}", f"{second}_{name}"} <= {*circuit.sheet.parts}),
        wires[-1],
    )
    branches, paths = exchanged(circuit, first, second, at, values)
    n = len(severity)
    return Change(
        severity,
        branches={name: np.full(n, np.inf) for name in branches},
        paths={nodes: np.full(n, ohms) for nodes, ohms in paths.items()},
    )


def _swapped(circuit: Circuit, part: Part, severity: Floats, values: Mapping[str, Value]) -> Change:
    """The leads on two studs of one gauge exchanged: each on the other's stud."""
    studs = {point.node for point in circuit.sheet.points.values()}
    joints = [circuit.netlist.element(circuit.part(name).element) for name in part.crosses]
    ends = [
        (joint.node_a, joint.node_b) if joint.node_a in studs else (joint.node_b, joint.node_a)
        for joint in joints
    ]
    n = len(severity)
    paths = {
        (ends[0][0], ends[1][1]): np.full(n, values[joints[0].name]),
        (ends[1][0], ends[0][1]): np.full(n, values[joints[1].name]),
    }
    return Change(severity, branches={joint.name: np.full(n, np.inf) for joint in joints}, paths=paths)


def exchanged(
    circuit: Circuit, first: str, second: str, at: str, values: Mapping[str, Value]
) -> tuple[tuple[str, ...], dict[tuple[str, str], Value]]:
    """Exchange the leads of two gauges at a joint that both have.

    Parameters
    ----------
    at : str
        The joint's part id without the gauge's name.
    values : mapping
        Element values [ohm].

    Returns
    -------
    joined : dict
        Resistance [ohm] of the new joints by their nodes.
    """
    element = circuit.netlist.element(circuit.part(at, first).element)
    other = circuit.netlist.element(circuit.part(at, second).element)
    joined = {
        (element.node_a, other.node_b): values[element.name],
        (other.node_a, element.node_b): values[other.name],
    }
    return (element.name, other.name), joined


def combine(makes: Sequence[Make], parameters: Mapping[str, Value]) -> Change:
    """Several faults at once.

    Those that change parameters act first, each on what the ones before have left: a worn sender is worn at
    the level that there really is.
    """
    values = dict(parameters)
    first, last = [], []
    for make in makes:
        changed = make(values)
        if changed.parameters:
            values |= changed.parameters
            first.append(changed)
        else:
            last.append((make, changed))
    return merge([*first, *(make(values) if first else changed for make, changed in last)])
