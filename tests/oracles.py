"""Laws of parts in closed form, which the netlists' own arithmetic is held to."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
ABSOLUTE_ZERO = -273.15


def copper_factor(celsius: float) -> float:
    """Copper's resistance against that at 20 degrees Celsius. IEC 60028:1925: 0.00393/K."""
    return 1 + 0.00393 * (celsius - 20)


def interrupter_seconds(
    full_rise: Floats | float, opens_at: float, closes_at: float, lag_seconds: float
) -> tuple[Floats | float, float]:
    """Times closed and open of a thermal interrupter: its strip opens it at one rise, closes it at another.

    The strip's heat balance: t_on = τ ln[(ΔT∞ − ΔT_lo)/(ΔT∞ − ΔT_hi)], t_off = τ ln(ΔT_hi/ΔT_lo).
    """
    # ln[(F − lo)/(F − hi)] as log1p, so that a narrow band keeps its digits
    width = opens_at - closes_at
    closed = lag_seconds * np.log1p(width / (full_rise - opens_at))
    return closed, float(lag_seconds * np.log1p(width / closes_at))


def two_coil_series_degrees(sender_ohms: float, shunted_coil_ohms: float, turns_ratio: float) -> float:
    """Angle from the series coil's axis towards that of the coil that the sender shunts.

    Kirchhoff's laws, coils at right angles: tan θ = (N_F/N_E)·R_s/(R_s + R_F); the supply and the first
    coil's resistance cancel.
    """
    share = sender_ohms / (sender_ohms + shunted_coil_ohms)
    return float(np.degrees(np.arctan(turns_ratio * share)))


def steinhart_hart_celsius(ohms: Floats | float, a: float, b: float, c: float) -> Floats:
    """Steinhart & Hart, Deep-Sea Research 15 (1968) 497-503: 1/T = A + B ln R + C (ln R)³."""
    logarithm = np.log(ohms)
    return np.asarray(1 / (a + b * logarithm + c * logarithm**3) + ABSOLUTE_ZERO)


def steinhart_hart_from_points(celsius: Sequence[float] | Floats, ohms: Sequence[float] | Floats) -> Floats:
    """Their coefficients through three points, or by least squares in 1/T."""
    # scaled, or the cubes of the logarithms drown the rest in rounding
    basis = np.log(ohms)[:, None] ** np.array([0, 1, 3])
    size = np.linalg.norm(basis, axis=0)
    found = np.linalg.lstsq(basis / size, 1 / (np.asarray(celsius) - ABSOLUTE_ZERO), rcond=None)[0]
    return np.asarray(found / size)
