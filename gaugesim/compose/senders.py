"""Senders: from ohms at the marks to the parameters of ``netlists/senders``."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugesim.compose.layout import Mounted
from gaugesim.physics.thermistor import beta_from_points, beta_ohms
from gaugesim.sheet import roles

# what the five values of a track are called, from one end to the other
TRACK = ("track_empty", "track_quarter", "track_half", "track_three_quarters", "track_full")
PRESSURE = ("pressure_none", "pressure_quarter", "pressure_half", "pressure_three_quarters", "pressure_full")
QUARTERS = (0.0, 0.25, 0.5, 0.75, 1.0)
# how many marks a temperature scale gets
_TEMPERATURE_MARKS = 5


@dataclass(frozen=True)
class Sender:
    """A gauge's sender.

    Attributes
    ----------
    element : str
        In the netlist; empty without a sender.
    parameters : mapping
        From ``.param`` to its value.
    at : tuple of float
        True values of the marks.
    ohms : tuple of float
        Its ohms there [ohm]; NaN where they are yet to be chosen.
    """

    element: str
    parameters: dict[str, float]
    at: tuple[float, ...]
    ohms: tuple[float, ...]


def sender(gauge: Mounted) -> Sender:
    """The sender as far as it is said: between the ends of a track its ohms may be left to be chosen."""
    choice, p = gauge.choice, gauge.sender_prefix
    if choice.quantity == "voltmeter":
        at = tuple(float(x) for x in np.linspace(*choice.scale, 5))
        return Sender("", {}, at, ())
    if choice.quantity == "temperature":
        low, top = choice.scale
        beta = round(float(beta_from_points(low, choice.ohms[0], top, choice.ohms[-1])))
        at_80 = float(f"{float(beta_ohms(80.0, choice.ohms[0], low, beta)):.4g}")
        at = tuple(float(x) for x in np.linspace(low, top, _TEMPERATURE_MARKS))
        ohms = tuple(float(beta_ohms(x, at_80, 80.0, beta)) for x in at)
        parameters = {f"{p}{roles().sender}": at_80, "sender_beta": float(beta)}
        return Sender(f"r.x{p}sender.rthermistor", parameters, at, ohms)
    names = TRACK if choice.quantity == "fuel" else PRESSURE
    ohms = _five(choice.ohms)
    at = tuple(share * choice.scale[1] for share in QUARTERS)
    parameters = {f"{p}{roles().sender}": 1.0, **dict(zip(names, ohms, strict=True))}
    inner = "" if choice.quantity == "fuel" else "xdiaphragm."
    return Sender(f"r.x{p}sender.{inner}rtrack", parameters, at, ohms)


def with_ohms(sender: Sender, ohms: tuple[float, ...]) -> Sender:
    """The sender with the ohms of its whole track.

    Parameters
    ----------
    ohms : tuple of float
        Five [ohm].
    """
    names = [name for name in sender.parameters if name in (*TRACK, *PRESSURE)]
    return Sender(
        sender.element, {**sender.parameters, **dict(zip(names, ohms, strict=True))}, sender.at, ohms
    )


def _five(ohms: tuple[float, ...]) -> tuple[float, ...]:
    """Ohms at the quarters of the track, NaN where nothing is said."""
    if len(ohms) == 5:
        return ohms
    middle = ohms[1] if len(ohms) == 3 else np.nan
    return (ohms[0], np.nan, middle, np.nan, ohms[-1])
