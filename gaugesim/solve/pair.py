"""Two changes at once of a network solved once: every pair by a closed formula, in blocks of a set size.

With ``share`` b = 1/(1/d + K_ff) of each change alone, the outputs y under changes s and t are a ratio:

    y D = (y_0 + F_t) + b_s E_st,    F_t = -b_t D_t v_t,    E_st = b_t H_st - D_s v_s,
    D = 1 - b_s b_t K_st K_ts,       H_st = D_s K_st v_t + D_t K_ts v_s - y_0 K_st K_ts

so a block of pairs costs one product and one sum for each output. Exact opens and shorts have 1/d = 0 and are
ordinary numbers here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.solve.change import REDUNDANT
from gaugesim.solve.network import Floats, Integers

# below this determinant the closed formula has lost too many digits: two opens in series, say
NEAR = 1e-5
# numbers of one output that are worked on at a time: with the outputs of a cluster they stay in the
# processor's nearer cache, and the calls of numpy are few enough not to count
BLOCK = 16384
# pieces that stand side by side: more of them make long thin blocks
MOST_ACROSS = 64
# severities that stand together
PIECE = 8


@dataclass(frozen=True)
class Ports:
    """What the places of change of a factored network do to one another and to the outputs.

    Attributes
    ----------
    coupling : ndarray, shape (places, places)
        K [S, ohm or 1].
    drive : ndarray, shape (places,)
        v [A or V].
    transfer : ndarray, shape (outputs, places)
        D, in units of the output for one of the place [1].
    sound : ndarray, shape (outputs,)
        The outputs without any change [1].
    """

    coupling: Floats
    drive: Floats
    transfer: Floats
    sound: Floats


@dataclass(frozen=True)
class Amounts:
    """Changes by themselves, each at one place.

    Attributes
    ----------
    place : ndarray of int, shape (n,)
        Which of the `Ports` [1].
    share : ndarray, shape (n,)
        1/(1/d + K): a change's effect for one unit of what drives it [ohm or S]; 0 for no change.
    bears : ndarray of bool, shape (n,)
        Whether it makes any difference by itself; an open in a dead end does not.
    least : ndarray, shape (n,)
        Where D is not above this, the change is redundant beside another [1].
    """

    place: Integers
    share: Floats
    bears: NDArray[np.bool_]
    least: Floats

    @classmethod
    def of(cls, ports: Ports, place: Integers, amount: Floats) -> Amounts:
        """Changes of given size.

        Parameters
        ----------
        ports : Ports
        place : ndarray of int, shape (n,)
            Which of the ports each change is made at [1].
        amount : ndarray, shape (n,)
            Ohms added in series, or siemens in parallel; ``inf`` for an exact open or short, 0 for none.

        Returns
        -------
        Amounts

        Examples
        --------
        >>> ports = Ports(np.array([[2.0]]), np.array([6.0]), np.ones((1, 1)), np.zeros(1))
        >>> Amounts.of(ports, np.zeros(2, dtype=int), np.array([0.5, np.inf])).share
        array([0.25, 0.5 ])
        """
        large = np.abs(amount) > 1
        diagonal = np.where(large, 1.0 / np.where(large, amount, 1.0), 1.0)
        scale = np.where(large, 1.0, amount)
        pivot = diagonal + scale * ports.coupling[place, place]
        unit = np.where(diagonal == 0, 1.0, np.abs(diagonal))
        bears = np.abs(pivot) > REDUNDANT * unit
        safe = np.where(bears, pivot, 1.0)
        return cls(place, np.where(bears, scale / safe, 0.0), bears, REDUNDANT * unit / np.abs(safe))


@dataclass(frozen=True)
class Pieces:
    """Changes with equally many severities, side by side.

    Attributes
    ----------
    owner : ndarray of int, shape (pieces,)
        What each piece belongs to: no two pieces of one owner make a pair.
    rows : ndarray of int, shape (severities, pieces)
        Their numbers among the `Amounts`.
    """

    owner: Integers
    rows: Integers

    @classmethod
    def cut(cls, owner: Integers, most: int = PIECE) -> tuple[Pieces, ...]:
        """Pieces of all changes.

        Parameters
        ----------
        owner : ndarray of int, shape (n,)
            What each change belongs to, in ascending order [1].
        most : int, optional
            Severities of a piece [1].

        Returns
        -------
        tuple of Pieces
            One for each number of severities, the largest first: what a block works out for each of its
            second changes serves all severities of the first.

        Examples
        --------
        >>> [pieces.rows.tolist() for pieces in Pieces.cut(np.array([0, 0, 0, 1, 2, 2]), 2)]
        [[[0, 4], [1, 5]], [[2, 3]]]
        """
        starts = np.flatnonzero(np.diff(owner, prepend=-1))
        groups: dict[int, list[tuple[int, int]]] = {}
        for start, end in zip(starts, [*starts[1:], len(owner)], strict=True):
            for first in range(start, end, most):
                groups.setdefault(min(most, end - first), []).append((int(owner[start]), first))
        return tuple(
            cls(
                np.array([name for name, _ in found], dtype=np.intp),
                np.array([first for _, first in found]) + np.arange(count)[:, None],
            )
            for count, found in sorted(groups.items(), reverse=True)
        )


@dataclass(frozen=True)
class Block:
    """Some pairs: their outputs are ``outputs / determinant``.

    Attributes
    ----------
    first : ndarray of int, shape (a, m, 1, 1)
        Numbers of the first changes among the `Amounts`.
    second : ndarray of int, shape (1, 1, n, b)
        Numbers of the second.
    valid : ndarray of bool, shape (a, 1, 1, b)
        Which of them are pairs, each once.
    outputs : ndarray, shape (outputs, a, m, n, b)
        Overwritten by the next block.
    determinant : ndarray, shape (a, m, n, b)
        D, above zero; likewise.
    """

    first: Integers
    second: Integers
    valid: NDArray[np.bool_]
    outputs: Floats
    determinant: Floats


def pair_blocks(
    ports: Ports, amounts: Amounts, groups: Sequence[Pieces], apart: NDArray[np.bool_], size: int = BLOCK
) -> Iterator[Block]:
    """Outputs under every pair of changes that bear by themselves.

    Parameters
    ----------
    ports : Ports
    amounts : Amounts
        All of them bearing.
    groups : sequence of Pieces
    apart : ndarray of bool, shape (owners, owners)
        Which owners make a pair [1].
    size : int, optional
        Pairs in a block, at most [1].

    Yields
    ------
    Block
        Its arrays are used again for the next one.

    Source
    ------
    Woodbury's formula for two changes; Leung and Spence (1975) for large changes of a circuit.
    """
    # fresh memory costs more than what is worked out in it
    room = np.empty((3, (len(ports.sound) + 1) * size))
    for i, one in enumerate(groups):
        for other in groups[i:]:
            each = len(one.rows) * len(other.rows)
            high = max(1, size // (each * min(len(other.owner), MOST_ACROSS)))
            for top in range(0, len(one.owner), high):
                first = slice(top, top + high)
                # in its own group, what stands further up has been first already
                start = top if other is one else 0
                wide = max(1, size // (each * len(one.owner[first])))
                for left in range(start, len(other.owner), wide):
                    second = slice(left, left + wide)
                    valid = apart[one.owner[first, None], other.owner[None, second]]
                    if other is one:
                        number = np.arange(len(one.owner))
                        valid = valid & (number[first, None] < number[None, second])
                    if np.any(valid):
                        yield _block(ports, amounts, one.rows[:, first], other.rows[:, second], valid, room)


def _block(
    ports: Ports, amounts: Amounts, first: Integers, second: Integers, valid: NDArray[np.bool_], room: Floats
) -> Block:
    a, b = amounts.place[first[0]], amounts.place[second[0]]
    forth, back = ports.coupling[a[:, None], b], ports.coupling.T[a[:, None], b]
    both = forth * back
    gain_a, gain_b = (np.ascontiguousarray(ports.transfer[:, at]) for at in (a, b))
    alone_a, alone_b = gain_a * ports.drive[a], gain_b * ports.drive[b]
    count, shape = len(ports.sound) + 1, (len(a), len(first), len(second), len(b))

    def taken(which: int, *shape: int) -> Floats:
        return room[which, : count * int(np.prod(shape))].reshape(count, *shape)

    # the determinant stands last, as an output that is 1 and that no change moves by itself
    mixed, added = taken(0, len(a), len(b)), taken(1, len(a), len(b))
    np.multiply(gain_a[:, :, None], forth * ports.drive[b], out=mixed[:-1])
    np.multiply(gain_b[:, None, :], back * ports.drive[a, None], out=added[:-1])
    mixed[:-1] += added[:-1]
    np.multiply(ports.sound[:, None, None], both, out=added[:-1])
    mixed[:-1] -= added[:-1]
    np.negative(both, out=mixed[-1])
    share_a, share_b = amounts.share[first].T, amounts.share[second]
    slope, values = taken(1, len(a), len(second), len(b)), taken(2, *shape)
    np.multiply(mixed[:, :, None, :], share_b, out=slope)
    slope[:-1] -= alone_a[:, :, None, None]
    base = np.ones((count, len(second), len(b)))
    base[:-1] = ports.sound[:, None, None] - alone_b[:, None, :] * share_b
    np.multiply(share_a[:, :, None, None], slope[:, :, None], out=values)
    values += base[:, None, None]
    determinant = values[-1]
    near = determinant < NEAR
    if np.any(near):
        where = np.flatnonzero(near)
        g, severity = divmod(where // share_b.size, len(first))
        pairs = first[severity, g], second.reshape(-1)[where % share_b.size]
        flat = values.reshape(count, -1)
        flat[:-1, where] = _one_after_the_other(ports, amounts, *pairs, determinant.reshape(-1)[where])
        flat[-1, where] = 1.0
    return Block(
        first.T[:, :, None, None], second[None, None], valid[:, None, None], values[:-1], determinant
    )


def _one_after_the_other(
    ports: Ports, amounts: Amounts, first: Integers, second: Integers, determinant: Floats
) -> Floats:
    """Outputs of pairs of which the second makes little difference, or none, once the first is there."""
    a, b, share = amounts.place[first], amounts.place[second], amounts.share[first]
    drive = ports.drive[b] - ports.coupling[b, a] * share * ports.drive[a]
    transfer = ports.transfer[:, b] - ports.transfer[:, a] * (share * ports.coupling[a, b])
    bears = determinant > amounts.least[second]
    little = np.where(bears, amounts.share[second] * drive / np.where(bears, determinant, 1.0), 0.0)
    alone = ports.sound[:, None] - ports.transfer[:, a] * (share * ports.drive[a])
    return np.asarray(alone - transfer * little)
