"""Operating points by ngspice: of a network, of a batch of them, of a netlist file as it stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.errors import NetlistError
from gaugesim.netlist import Element, Netlist, read
from gaugesim.solve.matrix import check
from gaugesim.solve.network import Network, of_netlist
from gaugesim.solve.nodal import Solution
from gaugesim.solve.spice.decks import OPTIONS, DeckNames, number, ties, title_line
from gaugesim.solve.spice.ngspice import Engine, using_engine


def solve(network: Network) -> Solution:
    """Solve a network with ngspice.

    Raises
    ------
    UnsolvableError
        With the reason in circuit words.
    EngineError
        If ngspice is missing or gives up; with what it said.

    Examples
    --------
    >>> from gaugesim.solve.network import Path
    >>> battery, lamp = Path("battery", "feed", "0", 2.0, 12.0), Path("lamp", "feed", "0", 6.0)
    >>> solve(Network.of([battery, lamp])).voltage("feed")
    np.float64(9.0)
    """
    batch = solve_batch(network, network.ohms[None])
    return Solution(network, batch.voltages[0], batch.currents[0])


def solve_batch(network: Network, ohms: Floats, volts: Floats | None = None) -> Solution:
    """Solve a batch of networks of one shape with ngspice.

    The text is loaded once for each pattern of opens; after that only values that differ from the row before
    are altered.

    Parameters
    ----------
    ohms : ndarray, shape (batch, branches)
        Resistances [ohm] in place of the network's own.
    volts : ndarray, shape (batch, branches), optional
        Electromotive forces [V] likewise.

    Raises
    ------
    UnsolvableError
        With the reason in circuit words.
    EngineError
        If ngspice is missing or gives up; with what it said.
    """
    ohms, volts = np.broadcast_arrays(ohms, network.volts[None] if volts is None else volts)
    island = check(network, ohms)
    n = len(network.nodes)
    voltages = np.zeros((len(ohms), n + 1))
    # a branch that is open carries nothing, a current source its own
    currents = np.tile(np.nan_to_num(network.amperes), (len(ohms), 1))
    _, which = np.unique(np.isinf(ohms), axis=0, return_inverse=True)
    with using_engine() as engine:
        for pattern in range(which.max(initial=-1) + 1):
            rows = np.flatnonzero(which.reshape(-1) == pattern)
            first = replace(network, ohms=ohms[rows[0]], volts=volts[rows[0]])
            layout = DeckNames.of(first, np.any(volts[rows] != 0, axis=0), np.any(ohms[rows] != 0, axis=0))
            sensed = [k for k, name in enumerate(layout.currents) if name]
            wanted = [*layout.nodes, *filter(None, layout.currents)]
            engine.load(layout.text(first, "network"))
            for row, before in zip(rows, (rows[0], *rows[:-1]), strict=True):
                for k in np.flatnonzero(ohms[row] != ohms[before]):
                    engine.command(layout.alter_ohms(int(k), ohms[row, k]))
                for k in np.flatnonzero((volts[row] != volts[before]) & np.isfinite(ohms[row])):
                    engine.command(layout.alter_volts(int(k), volts[row, k]))
                values = engine.operating_point(wanted)
                voltages[row, :n] = values[:n]
                currents[row, sensed] = values[n:]
    voltages[island != n] = np.nan
    return Solution(network, voltages, currents)


def solve_file(
    path: Path | str, parameters: Mapping[str, float] | None = None
) -> tuple[dict[str, float], dict[str, float]]:
    """Solve a netlist file with ngspice, expressions and subcircuits included.

    The file is read by `gaugesim.netlist.read` first, and only the statements that it accepted go to ngspice,
    in the words of the file; nothing else in the file, or on the disk, gets there.

    Returns
    -------
    voltages : dict
        From node to voltage against ground [V]; NaN for a node that is cut off from everything.
    currents : dict
        From element to its current, first node to second [A].

    Raises
    ------
    NetlistError, UnknownNameError
        If the file cannot be read, or has a value that ngspice cannot take: 0 ohm, of which it makes 1e-3.
    UnsolvableError
        With the reason in circuit words.
    EngineError
        If ngspice is missing or gives up; with what it said.
    """
    netlist = read(path)
    values = netlist.values(parameters, strict=True)
    for part in netlist.elements:
        if part.kind == "r" and values[part.name] == 0:
            raise NetlistError(
                f"{part.name} has 0 ohm, of which ngspice makes a milliohm",
                part.where,
                "write 1e-6 for a dead short",
            )
    network = of_netlist(netlist, values)
    island = check(network, network.ohms[None])[0]
    with using_engine() as engine:
        engine.load(file_text(netlist, parameters, ties(network.nodes, island)))
        volts = engine.operating_point(network.nodes)
        voltages = np.where(island[:-1] == len(network.nodes), volts, np.nan)
        currents = {part.name: _current(engine, part, values[part.name]) for part in netlist.elements}
    return dict(zip(network.nodes, voltages.tolist(), strict=True)), currents


def file_text(netlist: Netlist, parameters: Mapping[str, float] | None, more: Iterable[str] = ()) -> str:
    """The statements of a netlist as its reader accepted them, with some parameters replaced."""
    lines = [title_line(netlist.title)]
    inside = False
    for line in netlist.lines[1:]:
        word = line.text.split(None, 1)[0]
        inside = (inside or word == ".subckt") and word != ".ends"
        if word not in (".op", ".end") and (inside or word != ".param"):
            lines.append(line.text)
    given = {name: number(value) for name, value in (parameters or {}).items()}
    written = {name: expression.text for name, expression in netlist.scope.local.items()} | given
    lines += [f".param {name}={{{text}}}" for name, text in written.items()]
    return "\n".join([*lines, *more, OPTIONS, ".op", ".end", ""])


def _current(engine: Engine, part: Element, value: float) -> float:
    """Current of an element after an operating point [A]."""
    if part.kind == "r":
        return float(engine.vector(f"@{part.name}[i]")[0])
    if part.kind in "vl":
        return float(engine.vector(f"{part.name}#branch")[0])
    return value if part.kind == "i" else 0.0
