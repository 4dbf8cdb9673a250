"""Instrument voltage regulator: a thermal interrupter that pulses the supply.

A bimetal contact opens when its heater, fed behind the contact, has warmed it enough, and closes when it has
cooled. Published figures (5 V, 7 V, 10 V) do not say whether they are the mean or the RMS of the pulses, so
every function that holds a design voltage is told which. A heated gauge answers to the mean square.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, numbers, positive, result

CONVENTIONS = ("rms", "mean")
# what rounding leaves between two points of which one is cut off [V]
ROUNDING_VOLTS = 1e-6


def steady_share(
    on_volts: ArrayLike, off_volts: ArrayLike, design_volts: ArrayLike, dropout_volts: ArrayLike
) -> FloatArray:
    """What part of the full current an electronic regulator lets through, so that its output stands still.

    In a network of resistances all voltages go in a straight line with the current of its pass element, from
    `off_volts` with none to `on_volts` with the element a plain joint. It passes so much that its output is
    ``min(design, input - dropout)``; the input is taken to be `on_volts`, since what feeds it has hundredths
    of an ohm.

    Parameters
    ----------
    on_volts, off_volts : array_like
        Between its output and its ground, with the pass element a plain joint and an open [V].
    design_volts : array_like
        What it holds [V].
    dropout_volts : array_like
        What it needs above its output at least [V].

    Returns
    -------
    float or array
        From 0 to 1; 1 where it cannot tell its output, its own ground being lost [1].

    Source
    ------
    Superposition; "input less dropout" is how data sheets of series regulators put it.

    Examples
    --------
    >>> float(steady_share(14.0, 0.0, 10.0, 1.0)) * 14.0, float(steady_share(10.0, 0.0, 10.0, 1.0)) * 10.0
    (10.0, 9.0)
    """
    closed, opened = np.abs(numbers("on_volts", on_volts)), np.abs(numbers("off_volts", off_volts))
    held = np.minimum(
        positive("design_volts", design_volts), closed - numbers("dropout_volts", dropout_volts)
    )
    swing = closed - opened
    lost = np.abs(swing) < ROUNDING_VOLTS
    part = np.clip((held - opened) / np.where(lost, 1.0, swing), 0.0, 1.0)
    return result(np.where(lost, 1.0, part))


def duty(on_volts: ArrayLike, off_volts: ArrayLike, design_volts: ArrayLike, convention: str) -> FloatArray:
    """Share of the time for which the contact is closed.

    The share D makes the mean (or the mean square) of the heater's voltage, `on_volts` while closed and
    `off_volts` while open, equal to the design voltage (or its square). The heater does not feel polarity.

    Parameters
    ----------
    on_volts : array_like
        Heater voltage while the contact is closed [V].
    off_volts : array_like
        Heater voltage while it is open: 0 unless something else feeds it [V].
    design_volts : array_like
        Voltage that the regulator holds [V].
    convention : str
        What the design voltage is of the pulses: "rms" or "mean" [1].

    Returns
    -------
    float or array
        From 0 to 1; 1 where the closed contact cannot reach the design voltage [1].

    Raises
    ------
    ValueError
        If the design voltage is not above zero or the convention is neither "rms" nor "mean".

    Source
    ------
    Heat balance of an interrupter with a narrow band ("rms"); charge balance ("mean").

    Examples
    --------
    >>> round(float(duty(14.0, 0.0, 10.0, "rms")), 4), round(float(duty(14.0, 0.0, 10.0, "mean")), 4)
    (0.5102, 0.7143)
    """
    if convention not in CONVENTIONS:
        raise ValueError(f'convention must be "rms" or "mean", but {convention!r} was given')
    power = 2 if convention == "rms" else 1
    closed = np.abs(numbers("on_volts", on_volts)) ** power
    opened = np.abs(numbers("off_volts", off_volts)) ** power
    design = positive("design_volts", design_volts) ** power
    swing = closed - opened
    part = (design - opened) / np.where(swing == 0, 1.0, swing)
    return result(np.where(closed <= design, 1.0, np.where(opened >= design, 0.0, part)))
