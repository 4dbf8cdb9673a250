"""A network as SPICE text.

A resistance is written as a voltage source controlled by its own current (an H element), not as a resistor:
all that is added up at a node is then currents, and an open of 1e9 ohm beside a wire of a milliohm loses
nothing. Resistors add up conductances, and between two opens in series such a sum keeps five digits; they
are three times as quick, and `DeckNames` writes them where that is asked for.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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


@dataclass(frozen=True)
class DeckNames:
    """How a network stands in a deck.

    Attributes
    ----------
    nodes : tuple of str
        SPICE names of its nodes.
    sources, resistances : tuple of str
        For each branch its V element and its H or R element, ``""`` for none.
    """

    nodes: tuple[str, ...]
    sources: tuple[str, ...]
    resistances: tuple[str, ...]

    @classmethod
    def of(
        cls,
        network: Network,
        has_volts: NDArray[np.bool_],
        has_ohms: NDArray[np.bool_],
        resistors: bool = False,
    ) -> DeckNames:
        """Lay out a network.

        Parameters
        ----------
        has_volts, has_ohms : ndarray of bool, shape (branches,)
            Whether a branch is to have an electromotive force [1] and a resistance [1] that may be set; one
            that is open has neither.
        resistors : bool, optional
            Whether branches of ohms alone are to be R elements, whose currents are no vectors.
        """
        conducting = np.isfinite(network.ohms) & np.isnan(network.amperes)
        names = [spice_name(k, name) for k, name in enumerate(network.names)]
        return cls(
            tuple(f"n{spice_name(i, node)}" for i, node in enumerate(network.nodes)),
            tuple(
                f"v{name}" if conducting[k] and (has_volts[k] or not has_ohms[k]) else ""
                for k, name in enumerate(names)
            ),
            tuple(
                f"{'r' if resistors and not has_volts[k] else 'h'}{name}"
                if conducting[k] and has_ohms[k]
                else ""
                for k, name in enumerate(names)
            ),
        )

    @property
    def currents(self) -> tuple[str, ...]:
        """For each branch the vector that holds its current, ``""`` for none."""
        elements = (
            resistance or source for source, resistance in zip(self.sources, self.resistances, strict=True)
        )
        return tuple(f"{name}#branch" if name and name[0] != "r" else "" for name in elements)

    def alter_ohms(self, k: int, ohms: float) -> str:
        """The command that gives a branch another resistance.

        Parameters
        ----------
        ohms : float
            [ohm]
        """
        name = self.resistances[k]
        return f"alter {name} {'=' if name[0] == 'r' else 'gain ='} {spice_number(ohms)}"

    def alter_volts(self, k: int, volts: float) -> str:
        """The command that gives a branch another electromotive force.

        Parameters
        ----------
        volts : float
            [V]
        """
        return f"alter {self.sources[k]} dc = {spice_number(volts)}"

    def text(self, network: Network, title: str, more: Iterable[str] = ()) -> str:
        """Write the deck."""
        nodes = (*self.nodes, GROUND)
        lines = [title_line(title)]
        for k, name in enumerate(network.names):
            a, b = (nodes[end] for end in network.ends[k])
            source, resistance = self.sources[k], self.resistances[k]
            middle = f"m{spice_name(k, name)}"
            if not np.isnan(network.amperes[k]):
                lines.append(f"i{spice_name(k, name)} {a} {b} {spice_number(network.amperes[k])}")
            if source:
                lines.append(f"{source} {a} {middle if resistance else b} {spice_number(network.volts[k])}")
            if resistance:
                sensed = "" if resistance[0] == "r" else f"{resistance} "
                lines.append(
                    f"{resistance} {middle if source else a} {b} {sensed}{spice_number(network.ohms[k])}"
                )
        conducting = np.isfinite(network.ohms) & np.isnan(network.amperes)
        lines += ties(self.nodes, islands(network.ends, conducting, len(network.nodes)))
        return "\n".join([*lines, *more, OPTIONS, ".op", ".end", ""])
