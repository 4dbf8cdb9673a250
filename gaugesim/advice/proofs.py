"""Proof of the repair: what must now be seen, and how likely a fault that only sleeps would still pass."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from gaugesim.advice.remedy import repair_named
from gaugesim.arrays import Floats
from gaugesim.case import WHOLES
from gaugesim.circuit import Circuit
from gaugesim.diagnosis import Diagnosis
from gaugesim.evidence import handling
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.cells import Cells
from gaugesim.reading import Situation, deviations, respond, spread
from gaugesim.reading.words import needle_word
from gaugesim.scenario.tolerance import DEVIATIONS_90
from gaugesim.sheet import Gauge, State
from gaugesim.vocabulary import JUDGED, spoken

# a fault is called cured when it is less likely than this to be there still
CURED = 0.05
# a needle in another state is asked for if a wrong repair is seen by it so much more often [1]
TELLS = 0.005
# from this chance on that it comes and goes it is said what else to watch for; assumed
LIKELY = 0.25
# nobody waits for more quiet trips; assumed
MOST_TRIPS = 60


@dataclass(frozen=True)
class MustSee:
    """A needle that must now be seen.

    Attributes
    ----------
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
        The cheapest first; what adds nothing to those before it is left out.
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

    @property
    def trips_will_do(self) -> bool:
        """Whether anybody would wait for so many quiet trips."""
        return 0 < self.quiet_trips <= MOST_TRIPS

    @property
    def watch_words(self) -> str:
        """What else to watch for; empty where no fault that comes and goes is likely."""
        if self.intermittent < LIKELY:
            return ""
        moved = "once" if self.quiet_wiggles == 1 else f"{self.quiet_wiggles} times"
        trips = f"{self.quiet_trips} quiet trips, or the joint" if self.trips_will_do else "the joint"
        return (
            f"For a fault that comes and goes: {trips} moved {moved} without a jump, "
            "before it may be called cured."
        )


def proof(
    diagnosis: Diagnosis, repaired: str | None = None, may_be_had: Callable[[str], bool] = lambda state: True
) -> Proof:
    """What must be seen after a repair, and what it rules out.

    Parameters
    ----------
    repaired : str, optional
        The part that is mended, as the ranking calls it; the leading suspect's if left out.
    may_be_had : callable, optional
        From a state to whether it may be asked for.
    """
    entry = diagnosis.posteriors[0]
    cells = entry.cells
    circuit, gauge = cells.circuit, cells.circuit.gauge(diagnosis.gauge)
    parts = _new_parts(circuit, repaired or diagnosis.ranking[0].part, diagnosis.gauge)
    mended = np.array([all(single.part.id in parts for single in fault.singles) for fault in cells.faults])
    left = np.where(cells.of_faults(mended, True), 0.0, entry.cell)
    left = left / left.sum() if left.sum() > 0 else left
    must_see: list[MustSee] = []
    all_pass = np.ones(len(left))
    for state in _states(circuit, gauge, may_be_had):
        need, passes = _must_see(cells, gauge, state, left)
        together = np.minimum(all_pass, passes)
        # a needle that is right in one place may be stuck there, whatever the odds of that
        elsewhere = len(must_see) == 1 and need.word != must_see[0].word
        if must_see and not elsewhere and left @ (all_pass - together) < TELLS:
            continue  # what is asked for already says as much
        must_see.append(need)
        all_pass = together
    sleeping = float(entry.cell[cells.intermittent].sum())
    return Proof(
        tuple(must_see), float(left @ all_pass), sleeping, quiet_trips(sleeping), quiet_wiggles(sleeping)
    )


def _new_parts(circuit: Circuit, repaired: str, gauge: str) -> frozenset[str]:
    if repaired in WHOLES:
        return handling.parts_of_whole(circuit, repaired, gauge)
    return repair_named(circuit, repaired, gauge).parts


def _states(circuit: Circuit, gauge: Gauge, may_be_had: Callable[[str], bool]) -> list[State]:
    """The states that can be had and whose truth is known, the cheapest first."""
    states = [
        state for state in circuit.sheet.states.values() if state.id != "key_off" and may_be_had(state.id)
    ]
    # an engine's state says how warm it is, but only a dipstick what is in the tank
    settable = [state for state in states if gauge.reads in state.set] if gauge.reads == "fuel_level" else []
    return sorted(settable or states, key=lambda state: state.minutes)


def _must_see(cells: Cells, gauge: Gauge, state: State, left: Floats) -> tuple[MustSee, Floats]:
    """What a sound needle shows in a state, and the chance that each cell shows the same."""
    situation = Situation.of(cells.circuit, state.id)
    sound = respond(situation)
    position = float(sound.positions[gauge.id][0])
    half = DEVIATIONS_90 * float(deviations(spread(situation, None, sound).positions[gauge.id])[0])
    low, high = np.clip([position - half, position + half], *gauge.stops)
    stands = respond(situation, cells.scenarios(situation.parameters)).positions[gauge.id]
    # a person calls it right when it is no further off than anyone would notice
    off = np.abs(np.nan_to_num(stands - position, nan=0.5))
    acting = like.normal_below((JUDGED.limits[1] - off) / JUDGED.spread)
    usual = float(like.DUTIES.mean())
    passes = np.where(cells.intermittent, usual * acting + (1 - usual), acting)
    word = spoken(needle_word(gauge, position))
    need = MustSee(gauge.id, state.id, state.words, word, float(low), float(high), float(left @ passes))
    return need, passes


def quiet_trips(chance: float) -> int:
    """Trips without the complaint after which an intermittent fault is unlikely to be there still.

    Enough for less than `CURED`, if the fault acts on a share q of the trips and q is Beta(1, 4): the chance
    of n quiet trips is then 4/(n + 4).

    Parameters
    ----------
    chance : float
        That it is there before the first trip [1].

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
