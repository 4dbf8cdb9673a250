"""A netlist file by ngspice, which works out its expressions and subcircuits itself.

`gaugesim.netlist` reads the file first; only the statements that it accepted go to ngspice, in their words.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

import numpy as np

from gaugesim.netlist import Element, Netlist, read
from gaugesim.solve.matrix import check
from gaugesim.solve.network import of_netlist
from gaugesim.solve.spice.decks import OPTIONS, spice_number, ties, title_line
from gaugesim.solve.spice.ngspice import Engine, using_engine


def solve_file(
    path: Path | str, parameters: Mapping[str, float] | None = None
) -> tuple[dict[str, float], dict[str, float]]:
    """Volts against ground by node, NaN where cut off; amperes by element, first node to second."""
    netlist = read(path)
    values = netlist.values(parameters)
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
    given = {name: spice_number(value) for name, value in (parameters or {}).items()}
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
