"""How the pairs of faults are laid out in memory for the compiled loops.

These are plain tuples, as compiled loops take no other records. All numbers come to the loops in them: what
has been compiled is kept, and would not notice a constant of another module that has changed since.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gaugesim.solve.network import Floats, Integers

# what the loops work on is a multiple of this, as what is left over from whole vectors would go one by one
WHOLE = 16
# seconds that are worked on at a time: all that is between stays in the processor's nearest cache, and no two
# rows stand a whole page apart
STRIP = 30 * WHOLE


class Seconds(NamedTuple):
    """Scenarios that are one change at most, as they are put on top of others; those that bear alone first.

    All arrays but ``bears`` run on for another `WHOLE` entries of no meaning.

    Attributes
    ----------
    number : ndarray of int, shape (q,)
        Of the scenario.
    bears : ndarray of bool, shape (q,)
        Whether it makes any difference by itself; an open in a dead end does not.
    forth, back : ndarray, shape (places, q)
        K from each to every place where something may change, and from there to it.
    own, drive : ndarray, shape (q,)
        K of each with itself, and v.
    transfer : ndarray, shape (sums, q)
        D of each sum.
    currents : ndarray, shape (outputs, q)
        D of each branch current.
    gains : ndarray, shape (sources, q)
        What one volt more in a source adds to v.
    diagonal, scale : ndarray, shape (q,)
        The size of the change as ``scale / diagonal``.
    least : ndarray, shape (q,)
        The change is redundant where ``diagonal + scale * own`` is no larger than this.
    """

    number: Integers
    bears: NDArray[np.bool_]
    forth: Floats
    back: Floats
    own: Floats
    drive: Floats
    transfer: Floats
    currents: Floats
    gains: Floats
    diagonal: Floats
    scale: Floats
    least: Floats


class Firsts(NamedTuple):
    """Scenarios as they are put in place first.

    Attributes
    ----------
    fits : ndarray of bool, shape (n,)
        Whether the short way has room for it: its changes all bear, and one coil at most has lost turns.
    rank : ndarray of int, shape (n,)
        How many changes it makes.
    places : ndarray of int, shape (n, k)
        Where.
    solved : ndarray, shape (n, k)
        M v_S.
    inverse : ndarray, shape (n, k, k)
        M.
    outward : ndarray, shape (n, sums, k)
        D_S M.
    sound : ndarray, shape (n, sums)
        y'.
    factor : ndarray, shape (n, sums)
        What is left of each sum's weights.
    more : ndarray, shape (n, sums)
        Weight in each sum of the coil with lost turns, beyond that.
    coil : ndarray of int, shape (n,)
        Which of the outputs that coil's current is.
    steps : ndarray, shape (n, sources)
        Change of the sources' voltages [V].
    held : ndarray, shape (n, gauges)
        Where a stuck needle stands; NaN for one that is free.
    """

    fits: NDArray[np.bool_]
    rank: Integers
    places: Integers
    solved: Floats
    inverse: Floats
    outward: Floats
    sound: Floats
    factor: Floats
    more: Floats
    coil: Integers
    steps: Floats
    held: Floats


class Strips(NamedTuple):
    """Which seconds follow which first: for each first some strips of neighbouring seconds.

    Attributes
    ----------
    first : ndarray of int, shape (firsts,)
        Numbers of scenarios.
    begin, end : ndarray of int, shape (firsts,)
        From which strip to which each has.
    low, high : ndarray of int, shape (strips,)
        From which of the seconds to which each strip is.
    whole : int
        What is worked on is a multiple of this.
    """

    first: Integers
    begin: Integers
    end: Integers
    low: Integers
    high: Integers
    whole: int


class Dials(NamedTuple):
    """How needles follow from sums.

    Attributes
    ----------
    air_core : ndarray of bool, shape (gauges,)
        Whether a needle takes two sums, and not one.
    share : ndarray, shape (gauges,)
        Of the scale, for one radian [1].
    low, high : ndarray, shape (gauges,)
        Stops [position].
    """

    air_core: NDArray[np.bool_]
    share: Floats
    low: Floats
    high: Floats


class Room(NamedTuple):
    """Memory for what is worked out on the way.

    Attributes
    ----------
    drive, own, flow : ndarray, shape (STRIP,)
        Of `put_in_place` and `flows`.
    through : ndarray, shape (k, STRIP)
    values : ndarray, shape (sums, STRIP)
        Of `weigh`.
    """

    drive: Floats
    own: Floats
    flow: Floats
    through: Floats
    values: Floats

    @classmethod
    def of(cls, firsts: Firsts) -> Room:
        """Room for some scenarios.

        Parameters
        ----------
        firsts : Firsts

        Returns
        -------
        Room
        """
        _, sums, most = firsts.outward.shape
        drive, own, flow = np.empty((3, STRIP))
        return cls(drive, own, flow, np.zeros((most, STRIP)), np.empty((sums, STRIP)))
