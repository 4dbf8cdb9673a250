"""What every kind of movement has to say for itself."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, ClassVar

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.movement.gauge import Gauge
from gaugesim.table import Table


@dataclass(frozen=True)
class Prior:
    """What is plausible for a quantity before anything has been measured.

    A normal distribution, of the logarithm where the quantity is positive. All of them are assumed, wide, and
    typical of the trade rather than of one make: they only keep what the points do not determine within
    reason, and the fit says where it rests on them.

    Attributes
    ----------
    middle, deviation : float
        Of the quantity [1], or of its natural logarithm.
    """

    middle: float
    deviation: float


@dataclass(frozen=True)
class Flows:
    """What flows through a gauge's windings in a batch of scenarios.

    Attributes
    ----------
    mean : callable
        From an element and a power to the mean over time of its current to that power, shape (..., n).
    ohms : callable
        From an element to its resistance, ``inf`` where it is open, shape (n,) [ohm].
    turns : callable
        From an element to what is left of its turns, shape (n,) [1].
    strength : ndarray, shape (n,), or float
        What is left of the whole movement's [1].
    """

    mean: Callable[[str, int], Floats]
    ohms: Callable[[str], Floats]
    turns: Callable[[str], Floats | float]
    strength: Floats | float


@dataclass(frozen=True)
class PriorKnowledge:
    """What is known of a gauge before it is fitted.

    Attributes
    ----------
    sweep_degrees : float or None
        Angle between the end marks, if it was measured [degree].
    held_volts : float or None
        What a regulator in front of it holds, if that is known [V].
    """

    coils: Sequence[str]
    design_volts: str
    sweep_degrees: float | None = None
    held_volts: float | None = None


@dataclass(frozen=True)
class Unknowns:
    """Parameter sets of a gauge that is to be fitted.

    Attributes
    ----------
    sign : int
        1 where the position rises with what drives the needle, -1 where it falls.
    ohms : ndarray, shape (sets, parts)
        Of its windings and of resistors that steer it [ohm].
    free : ndarray, shape (sets, parameters)
        The others, as `Movement.free` names them [1].
    """

    gauge: Gauge
    sign: int
    ohms: Floats
    free: Floats
    names: tuple[str, ...]
    coils: tuple[int, ...]


class Movement(ABC):
    """A kind of movement; unless it says otherwise, its needle goes in proportion to what drives it.

    Attributes
    ----------
    constants : tuple of str
        Numbers that a sheet gives of it alone.
    along_field : bool
        Whether its needle lies along the sum of its coils' fields.
    heats : bool
        Whether its winding warms a strip, slowly: it bears so many watts, and a regulator may feed it.
    power : int
        Of the current that drives it; times the winding's ohms where it heats.
    winding : str
        Its element in `netlists/movements`, where it has one.
    stops, accuracy : float
        What a gauge of which nothing else is known has [position].
    """

    id: ClassVar[str]
    constants: ClassVar[tuple[str, ...]] = ("low", "high")
    along_field: ClassVar[bool] = False
    heats: ClassVar[bool] = False
    has_sender: ClassVar[bool] = True
    power: ClassVar[int] = 1
    unit: ClassVar[str] = "A"
    winding: ClassVar[str] = "rcoil"
    stops: ClassVar[tuple[float, float]] = (-0.1, 1.1)
    accuracy: ClassVar[float] = 0.03
    ohms: ClassVar[Prior]

    def read(self, table: Table) -> dict[str, Any]:
        """Its own keys of a gauge's table in a sheet, as `Gauge` has them."""
        return {
            "element": table.text("element").lower(),
            **{name: table.number(name) for name in ("low", "high")},
        }

    def drive(self, gauge: Gauge, flows: Flows) -> Floats:
        """What drives the needle, shape (..., n)."""
        left = flows.turns(gauge.element) ** self.power
        if self.heats:
            ohms = flows.ohms(gauge.element)
            left = np.where(np.isfinite(ohms), ohms, 0.0)
        return np.asarray(flows.mean(gauge.element, self.power) * left * flows.strength)

    def position(self, gauge: Gauge, drive: Floats) -> Floats:
        """Where that puts the needle, NaN where nothing drives it, shape (..., n) [position]."""
        return np.asarray(np.clip((drive - gauge.low) / (gauge.high - gauge.low), *gauge.stops))

    @abstractmethod
    def free(self, gauge: Gauge, knowledge: PriorKnowledge) -> dict[str, Prior]:
        """What is to be fitted beside the ohms."""

    def held(self, of: Unknowns) -> Floats | None:
        """What a regulator in front of it holds, shape (sets, 1) [V]; None if there is none."""
        return None

    @abstractmethod
    def needle(self, of: Unknowns, amperes: Floats, closed: Floats) -> Floats:
        """Positions as if there were no stops, shape (sets, resistors) [position].

        Parameters
        ----------
        amperes : ndarray, shape (sets, resistors + 2, parts)
            While a regulator's contact is closed; last with the sender's lead off and with it grounded [A].
        closed : ndarray, shape (sets, resistors)
            For which share of the time it is [1].
        """

    @abstractmethod
    def scale(self, of: Unknowns, ends: Floats) -> tuple[Floats, Floats]:
        """What drives the needle, or its direction, at the low and at the top mark.

        Parameters
        ----------
        ends : ndarray, shape (sets, 2, parts)
            Currents with the sender's lead off and with it grounded [A].

        Returns
        -------
        low, high : ndarray, shape (sets,)
            [W], [A] or [degree].
        """

    def fitted(self, of: Unknowns, ends: Floats) -> dict[str, tuple[Floats, str, bool]]:
        """Fitted constants as the sheet has them, each with its unit and whether it is always above zero."""
        low, high = self.scale(of, ends)
        return {"low": (low, self.unit, False), "high": (high, self.unit, False)}

    def with_fit(self, of: Unknowns, ends: Floats) -> Gauge:
        """The gauge with the constants of the first parameter set."""
        low, high = self.scale(of, ends)
        return replace(of.gauge, low=float(low[0]), high=float(high[0]))
