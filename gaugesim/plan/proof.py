"""Proof of the repair: what must now be seen, and how likely a fault that only sleeps would still pass."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from gaugesim.diagnose import Diagnosis
from gaugesim.evidence import likelihood as like
from gaugesim.reading import deviations, respond, situation, spread
from gaugesim.reading.words import needle_word, spoken
from gaugesim.scenario.tolerance import DEVIATIONS_90

# a fault is called cured when it is less likely than this to be there still
CURED = 0.05


@dataclass(frozen=True)
class MustSee:
    """A needle that must now be seen.

    Attributes
    ----------
    gauge, state, state_words : str
    word : str
        What to call it.
    low, high : float
        Its band over tolerances [position]; NaN where nothing drives it.
    still_passes : float
        Chance that it is seen all the same if the repair was the wrong one.
    """

    gauge: str
    state: str
    state_words: str
    word: str
    low: float
    high: float
    still_passes: float


@dataclass(frozen=True)
class Proof:
    """What proves a repair.

    Attributes
    ----------
    must_see : tuple of MustSee
        The most telling first.
    still_passes : float
        Chance that a wrong repair passes all of them.
    intermittent : float
        Chance, before the repair, that the fault is one that comes and goes.
    quiet_trips : int
        Trips without the complaint before such a fault may be called cured.
    quiet_wiggles : int
        Times that the repaired joint is moved without a jump that say the same.
    """

    must_see: tuple[MustSee, ...]
    still_passes: float
    intermittent: float
    quiet_trips: int
    quiet_wiggles: int


def proof(found: Diagnosis, repaired: str | None = None) -> Proof:
    """What must be seen after a repair, and what it rules out.

    Parameters
    ----------
    found : Diagnosis
    repaired : str, optional
        The part that is mended, as the ranking calls it; the leading suspect's if left out.

    Returns
    -------
    Proof
    """
    entry = found.posteriors[0]
    cells = entry.cells
    circuit, gauge = cells.circuit, cells.circuit.gauge(found.gauge)
    repaired = repaired or found.ranking[0].part
    names = {*repaired.split("+")}
    mended = np.array(
        [
            all(circuit.short_name(one.part.id, found.gauge) in names for one in fault.singles)
            for fault in cells.faults
        ]
    )
    left = np.where(cells.of_faults(mended, True), 0.0, entry.cell)
    left = left / left.sum() if left.sum() > 0 else left
    duty = cells.intermittent
    must_see, all_pass = [], np.ones(len(left))
    for state in circuit.sheet.states.values():
        if state.id == "key_off":
            continue
        where = situation(circuit, state.id)
        sound = respond(where)
        position = float(sound.positions[gauge.id][0])
        half = DEVIATIONS_90 * float(deviations(spread(where, None, sound).positions[gauge.id])[0])
        low, high = np.clip([position - half, position + half], *gauge.stops)
        stands = respond(where, cells.scenarios(where.parameters)).positions[gauge.id]
        # a person calls it right when it is no further off than anyone would notice
        off = np.abs(np.nan_to_num(stands - position, nan=0.5))
        passes = like.normal_below((like.JUDGED_LIMIT - off) / like.JUDGED_SPREAD)
        usual = float(like.DUTIES.mean())
        passes = np.where(duty, usual * passes + (1 - usual), passes)
        all_pass = np.minimum(all_pass, passes)
        must_see.append(
            MustSee(
                gauge.id,
                state.id,
                state.words,
                spoken(needle_word(gauge, position)),
                float(low),
                float(high),
                float(left @ passes),
            )
        )
    sleeping = float(entry.cell[duty].sum())
    ordered = tuple(sorted(must_see, key=lambda need: need.still_passes))
    return Proof(ordered, float(left @ all_pass), sleeping, quiet_trips(sleeping), quiet_wiggles(sleeping))


def quiet_trips(chance: float) -> int:
    """Trips without the complaint after which an intermittent fault is unlikely to be there still.

    Parameters
    ----------
    chance : float
        That it is there before the first trip [1].

    Returns
    -------
    int
        Enough for less than `CURED`, if the fault acts on a share q of the trips and q is Beta(1, 4): the
        chance of n quiet trips is then 4/(n + 4).

    Examples
    --------
    >>> quiet_trips(0.5), quiet_trips(0.01)
    (72, 0)
    """
    if chance <= CURED:
        return 0
    odds = chance / (1.0 - chance) if chance < 1 else 1e9
    return max(0, math.ceil(4.0 * odds * (1.0 - CURED) / CURED - 4.0))


def quiet_wiggles(chance: float) -> int:
    """Times that a joint is moved without a jump, to the same end.

    Parameters
    ----------
    chance : float
        As for `quiet_trips` [1].

    Returns
    -------
    int

    Examples
    --------
    >>> quiet_wiggles(0.5)
    3
    """
    if chance <= CURED:
        return 0
    odds = chance / (1.0 - chance) if chance < 1 else 1e9
    needed = math.log(odds * (1.0 - CURED) / CURED)
    return max(1, math.ceil(needed / -math.log(1.0 - like.JUMP_WHEN_MOVED["intermittent"])))
