"""A network of which a few branches have open resistances, for many sets of them at once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.solve import nodal
from gaugesim.solve.network import Network


class _Ports(NamedTuple):
    """Ohms of the open branches; K, v and D of these with the path last; the outputs: see `solve.change`."""

    ohms: Floats
    coupling: Floats
    drive: Floats
    outward: Floats
    outputs: Floats


@dataclass(frozen=True)
class ReducedNetwork:
    """A network, solved once, and what of it is open and wanted.

    Attributes
    ----------
    branches : tuple of str
        Those whose resistance is open.
    path : tuple of str
        Two nodes between which a resistor may be put; empty for none.
    nodes : tuple of str
        Whose voltages are wanted.
    wanted : tuple of str
        Branches whose currents are wanted.
    """

    network: Network
    branches: tuple[str, ...]
    path: tuple[str, ...]
    nodes: tuple[str, ...]
    wanted: tuple[str, ...]

    @cached_property
    def _seen(self) -> _Ports:
        """What its one solution says of all that is open and wanted."""
        network, factored = self.network, nodal.factor(self.network)
        joined = network.node_numbers(self.path)[None] if self.path else np.zeros((0, 2), dtype=np.intp)
        columns = factored.columns(network.branch_numbers(self.branches), joined)
        node_count, size = len(network.nodes), factored.size
        numbers = [network.node(name) for name in self.nodes]
        of_nodes = [(number if number < node_count else size, size) for number in numbers]
        of_branches = [(node_count + network.branch(name), size) for name in self.wanted]
        rows = factored.rows([*of_nodes, *of_branches])
        p, q = (columns.p_index, columns.p_sign), (columns.q_index, columns.q_sign)
        return _Ports(
            columns.ohms[: len(self.branches)],
            factored.transfer(q, p),
            factored.pick(q),
            factored.transfer(rows, p),
            factored.pick(rows),
        )

    def solved(self, ohms: Floats, siemens: Floats) -> tuple[Floats, Floats]:
        """Voltages and currents with each set of resistances and each resistor on the path.

        Parameters
        ----------
        ohms : ndarray, shape (sets, branches)
            [ohm].
        siemens : ndarray, shape (resistors,)
            ``inf`` for a dead short [S].

        Returns
        -------
        volts : ndarray, shape (sets, resistors, nodes)
            [V].
        amperes : ndarray, shape (sets, resistors, wanted)
            [A].

        Examples
        --------
        >>> from gaugesim.solve.network import Path
        >>> battery, coil = Path("battery", "feed", "0", 0.0, 12.0), Path("coil", "feed", "stud", 50.0)
        >>> network = Network.of([battery, coil])
        >>> opened = ReducedNetwork(network, ("coil",), ("stud", "0"), ("stud",), ("coil",))
        >>> volts, amperes = opened.solved(np.array([[100.0]]), np.array([0.0, 0.01, np.inf]))
        >>> volts.round(9).ravel().tolist(), amperes.round(9).ravel().tolist()
        ([12.0, 6.0, 0.0], [0.0, 0.06, 0.12])
        """
        seen, count = self._seen, len(self.branches)
        amount = (ohms - seen.ohms)[..., None]
        # the parts first: what they make of the drives, and of the path
        drives = np.column_stack([seen.drive[:count], seen.coupling[:count, count:]])
        system = np.eye(count) + amount * seen.coupling[:count, :count]
        flow = np.linalg.solve(system, amount * drives)
        outputs = seen.outputs - flow[..., 0] @ seen.outward[:, :count].T
        if not self.path:
            return self._parted(np.repeat(outputs[:, None], len(siemens), axis=1))
        # then each resistor on top of them
        back = seen.coupling[count, :count]
        drive, own = (
            seen.drive[count] - flow[..., 0] @ back,
            seen.coupling[count, count] - flow[..., 1] @ back,
        )
        gain = seen.outward[:, count] - flow[..., 1] @ seen.outward[:, :count].T
        with np.errstate(divide="ignore"):
            added = drive[:, None] / (1.0 / siemens + own[:, None])
        return self._parted(outputs[:, None] - added[..., None] * gain[:, None])

    def _parted(self, outputs: Floats) -> tuple[Floats, Floats]:
        """Voltages, and currents."""
        return outputs[..., : len(self.nodes)], outputs[..., len(self.nodes) :]
