"""Multimeter: how it loads what it measures, and when its ohms say open."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugesim.physics._arguments import numbers, positive
from gaugesim.physics.constants import OHMMETER_HIGHEST_OHMS, VOLTMETER_INPUT_OHMS

VOLTMETER_OHMS = VOLTMETER_INPUT_OHMS.value
"""Input resistance of a voltmeter [ohm]. Source: bench multimeter manuals, at least 10 megohm."""

HIGHEST_OHMS = OHMMETER_HIGHEST_OHMS.value
"""Resistance [ohm] above which an ohmmeter says "open". Assumed."""


def is_open(ohms: ArrayLike, highest_ohms: ArrayLike = HIGHEST_OHMS) -> NDArray[np.bool_]:
    """Whether an ohmmeter says "open" to this resistance.

    Parameters
    ----------
    ohms : array_like
        Resistance [ohm].
    highest_ohms : array_like
        Highest resistance that the meter shows [ohm].

    Returns
    -------
    bool or array of bool
        True above the meter's range [1].

    Raises
    ------
    ValueError
        If the highest resistance is not above zero.

    Source
    ------
    Range of a hand-held multimeter, assumed.

    Examples
    --------
    >>> bool(is_open(1e9)), bool(is_open(240.0))
    (True, False)
    """
    return np.asarray(numbers("ohms", ohms) > positive("highest_ohms", highest_ohms))
