"""A network as SPICE text.

A resistance is written as a voltage source controlled by its own current (an H element), not as a resistor:
all that is added up at a node is then currents, and an open of 1e9 ohm beside a wire of a milliohm loses
nothing. Resistors add up conductances, and between two opens in series such a sum keeps five digits.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

import numpy as np

from gaugesim.solve.network import GROUND, Integers, Network, islands

# No help for circuits that do not settle at once: a circuit that was looked at before does, and help leaves
# traces in the result. The largest pivot is taken: values of fifteen decades stand side by side.
OPTIONS = ".options gminsteps=0 srcsteps=0 pivrel=0.99"


def spice_number(value: float) -> str:
    """A number with all its digits and no unit."""
    return repr(float(value))


def spice_name(number: int, name: str) -> str:
    """A name that no SPICE takes apart and that is the only one of its number.

    Examples
    --------
    >>> spice_name(7, "r.xfuel.rcoil")
    '7_r_xfuel_rcoil'
    """
    return f"{number}_{re.sub(r'[^a-z0-9]+', '_', name.lower())}"


def title_line(title: str) -> str:
    """A first line that is a title and no statement."""
    return "* " + " ".join(title.encode("ascii", "replace").decode().split())


def ties(nodes: Iterable[str], island: Integers) -> list[str]:
    """Statements that ground each island that nothing grounds; no current can flow in them.

    Parameters
    ----------
    island : ndarray of int, shape (nodes + 1,)
        See `islands`.
    """
    ground = len(island) - 1
    return [f"rtie{i} {node} 0 1" for i, node in enumerate(nodes) if island[i] == i != ground]


def deck(network: Network, title: str) -> tuple[str, list[str], list[str]]:
    """Write a network.

    Returns
    -------
    text : str
    nodes : list of str
        SPICE names of its nodes.
    currents : list of str
        For each branch the vector that holds its current, ``""`` for none.
    """
    nodes = [*(f"n{spice_name(i, node)}" for i, node in enumerate(network.nodes)), GROUND]
    conducting = np.isfinite(network.ohms) & np.isnan(network.amperes)
    lines, currents = [title_line(title)], []
    for k, name in enumerate(network.names):
        a, b = (nodes[end] for end in network.ends[k])
        own, ohms, volts = spice_name(k, name), network.ohms[k], network.volts[k]
        if not np.isnan(network.amperes[k]):
            lines.append(f"i{own} {a} {b} {spice_number(network.amperes[k])}")
        if not conducting[k]:
            currents.append("")
            continue
        if volts or not ohms:
            lines.append(f"v{own} {a} {f'm{own}' if ohms else b} {spice_number(volts)}")
        if ohms:
            lines.append(f"h{own} {f'm{own}' if volts else a} {b} h{own} {spice_number(ohms)}")
        currents.append(f"{'h' if ohms else 'v'}{own}#branch")
    lines += ties(nodes[:-1], islands(network.ends, conducting, len(network.nodes)))
    return "\n".join([*lines, OPTIONS, ".op", ".end", ""]), nodes[:-1], currents
