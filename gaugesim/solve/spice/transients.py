"""Circuits in time, by ngspice: inductors, capacitors, and sources and resistances that change."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.expression import Value
from gaugesim.netlist import Element, Netlist
from gaugesim.solve.network import GROUND, Integers, islands, of_netlist
from gaugesim.solve.spice.decks import number, spice_name, ties, title_line
from gaugesim.solve.spice.ngspice import using_engine

Waveform = Sequence[tuple[float, float]]
MOST_STEPS = 1_000_000
LEAK_OHMS = 1e12  # what settles a node that hangs on capacitors alone, before time begins
OPTIONS = ".options reltol=1e-6 pivrel=0.99"


@dataclass(frozen=True)
class SpiceTransient:
    """Voltages and currents over time.

    Attributes
    ----------
    times : ndarray, shape (points,)
        When [s]; closer together where something changes.
    voltages : dict
        From node to its voltage against ground [V], shape (points,); NaN for a node that is cut off from
        everything.
    currents : dict
        From element to its current, first node to second [A], likewise.
    """

    times: Floats
    voltages: dict[str, Floats]
    currents: dict[str, Floats]


def transient(
    netlist: Netlist,
    parameters: Mapping[str, Value] | None = None,
    *,
    step: float,
    stop: float,
    waveforms: Mapping[str, Waveform] | None = None,
) -> SpiceTransient:
    r"""Let a circuit run in time, from where it settles with its values at time zero.

    Parameters
    ----------
    step, stop : float
        Longest distance between two points, and the end [s].
    waveforms : mapping, optional
        From the name of a resistor or a source to its value over time: pairs of time [s] and value
        [ohm, V or A], times rising, straight lines between them, the last value held.

    Raises
    ------
    ValueError
        If a time or a waveform makes no sense.
    UnknownNameError
        If a waveform is given for an element that is not there.
    EngineError
        If ngspice is missing or gives up; with what it said.

    Examples
    --------
    >>> from gaugesim.netlist import read_text
    >>> circuit = read_text("charging\nV1 in 0 1\nR1 in out 1k\nC1 out 0 1u")
    >>> run = transient(circuit, step=1e-5, stop=5e-3, waveforms={"v1": [(0, 0), (1e-9, 1)]})
    >>> float(np.interp(1e-3, run.times, run.voltages["out"]))
    0.632
    """
    if not 0 < step <= stop or not stop / step <= MOST_STEPS:
        raise ValueError(
            f"steps of {step} s up to {stop} s make no sense; 0 < step <= stop, {MOST_STEPS} steps at most"
        )
    given = waveforms or {}
    for name, waveform in given.items():
        _check_waveform(netlist.element(name), waveform)
    values = netlist.values(parameters) | {name: waveform[0][1] for name, waveform in given.items()}
    rigid = _conducting(netlist, values, given, "rvl")
    coupled = _conducting(netlist, values, given, "rvlc")
    nodes = tuple(f"n{spice_name(i, node)}" for i, node in enumerate(netlist.nodes))
    names = dict(zip((*netlist.nodes, GROUND), (*nodes, GROUND), strict=True))
    lines = [title_line(netlist.title)]
    sensors: dict[str, str] = {}
    for k, part in enumerate(netlist.elements):
        written, sensors[part.name] = _element(
            spice_name(k, part.name), part, names, values[part.name], given.get(part.name)
        )
        lines += written
    lines += ties(nodes, coupled)
    lines += [
        f"rleak{i} {node} 0 {number(LEAK_OHMS)}"
        for i, node in enumerate(nodes)
        if rigid[i] == i != len(nodes) == coupled[i]
    ]
    with using_engine() as engine:
        engine.load("\n".join([*lines, OPTIONS, ".end", ""]))
        engine.clear()
        engine.command(f"tran {number(step)} {number(stop)} 0 {number(step)}")
        times = engine.vector("time")
        zero = np.zeros(len(times))
        voltages = {
            node: engine.vector(name) if coupled[i] == len(nodes) else zero * np.nan
            for i, (node, name) in enumerate(zip(netlist.nodes, nodes, strict=True))
        }
        currents = {name: engine.vector(sensor) if sensor else zero for name, sensor in sensors.items()}
    for part in netlist.elements:
        if part.kind == "i":
            points = given.get(part.name, [(0.0, values[part.name])])
            currents[part.name] = np.interp(times, *np.array(points, dtype=float).T)
    return SpiceTransient(times, voltages, currents)


def _check_waveform(part: Element, waveform: Waveform) -> None:
    if part.kind not in "rvi":
        raise ValueError(f"{part.name} takes no waveform; resistors and sources do")
    points = np.array(waveform, dtype=float)
    good = points.ndim == 2 and points.shape[1:] == (2,) and len(points) > 0 and np.all(np.isfinite(points))
    if not good or points[0, 0] < 0 or np.any(np.diff(points[:, 0]) <= 0):
        raise ValueError(
            f"the waveform of {part.name} is no list of (time, value) with rising times from 0 on"
        )
    if part.kind == "r" and np.any(points[:, 1] < 0):
        raise ValueError(f"the waveform of {part.name} goes below 0 ohm")


def _conducting(
    netlist: Netlist, values: Mapping[str, float], given: Mapping[str, Waveform], kinds: str
) -> Integers:
    """Islands through elements of some kinds, see `islands`."""
    network = of_netlist(netlist, values)
    conducting = [
        part.kind in kinds and (part.kind != "c" or values[part.name] > 0) for part in netlist.elements
    ]
    return islands(network.ends, np.array(conducting), len(network.nodes))


def _element(
    name: str, part: Element, nodes: Mapping[str, str], value: float, waveform: Waveform | None
) -> tuple[list[str], str]:
    """The statements of an element, and the vector that holds its current."""
    a, b = nodes[part.node_a], nodes[part.node_b]
    course = f"pwl({' '.join(number(entry) for point in waveform for entry in point)})" if waveform else ""
    if part.kind == "i":
        return [f"i{name} {a} {b} {course or number(value)}"], ""
    sensor = f"v{name}#branch"
    if part.kind == "v":
        return [f"v{name} {a} {b} {course or number(value)}"], sensor
    if course:
        # volts = ohms * amperes, with the ohms as the voltage of a node of its own
        return [
            f"v{name} {a} m{name} 0",
            f"b{name} m{name} {b} v=v(c{name})*i(v{name})",
            f"vc{name} c{name} 0 {course}",
        ], sensor
    if part.kind == "c" and value > 0:
        return [f"v{name} {a} m{name} 0", f"c{name} m{name} {b} {number(value)}"], sensor
    if part.kind == "c":
        return [], ""
    if value == 0:
        return [f"v{name} {a} {b} 0"], sensor
    if part.kind == "l":
        return [f"l{name} {a} {b} {number(value)}"], f"l{name}#branch"
    return [f"h{name} {a} {b} h{name} {number(value)}"], f"h{name}#branch"
