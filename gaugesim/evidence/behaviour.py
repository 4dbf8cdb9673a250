"""How things are said to behave: dead, never moving, jumping, now and then, worth no mention."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.prediction import Prediction
from gaugesim.movement import MOVEMENTS
from gaugesim.vocabulary import JUDGED, MOVES, OFTEN

FOLLOWS = ("follows", "does_not_follow")
DEAD = ("dead", "moves")
MENTIONED = ("not_mentioned", "mentioned")


def dead_table(from_rest: Prediction) -> Floats:
    """Probability that a needle is called dead, or said to move, when the key is turned.

    Parameters
    ----------
    from_rest : Prediction
        How far it is from where it rests with the key off [position].

    Returns
    -------
    ndarray, shape (cells, 2)
    """
    driven = ~np.isnan(from_rest.mean)
    limits = [-like.REST_LIMIT, like.REST_LIMIT]
    inside = like.ordered(
        np.where(driven, from_rest.mean, 0.0), from_rest.deviation, limits, like.REST_SPREAD
    )
    dead = like.CALLED_DEAD * np.where(driven, inside[:, 1], 1.0)
    return np.stack([dead, 1 - dead], axis=1)


def moves_table(reach: Prediction, movement: str) -> Floats:
    """Probability of never, slowly, at once and jumps for a steady fault.

    Parameters
    ----------
    reach : Prediction
        How far the needle moves over what was tried [position]; NaN counts as not at all.

    Returns
    -------
    ndarray, shape (cells, 4)
    """
    never = _still(np.nan_to_num(reach.mean), reach.deviation)
    shares = said_to_move("steady", movement)
    return np.stack([never, *((1 - never) * shares[word] for word in MOVES.classes[1:])], axis=1)


def said_to_move(when: str, movement: str) -> dict[str, float]:
    """What a needle that moves is said to do, with a ``steady`` or an ``intermittent`` fault [1]."""
    return MOVES.row(f"{when}_heated" if MOVEMENTS[movement].heats else when)


def _still(difference: Floats, deviation: Floats) -> Floats:
    """Probability that a difference is small enough to pass for none."""
    limits = [-like.STILL_LIMIT, like.STILL_LIMIT]
    return like.ordered(difference, deviation, limits, like.STILL_SPREAD)[:, 1]


def follows_table(reach: Prediction, sound_reach: float) -> Floats:
    """Probability that a needle is said to follow what it should show, or not.

    Parameters
    ----------
    reach : Prediction
        How far the needle moves over what was tried [position]; NaN counts as not at all.
    sound_reach : float
        How far the sound needle would move.

    Returns
    -------
    ndarray, shape (cells, 2)
    """
    along = np.nan_to_num(reach.mean) * np.sign(sound_reach)
    follows = like.ordered(
        along, reach.deviation, [like.FOLLOWS_SHARE * abs(sound_reach)], like.FOLLOWS_SPREAD
    )
    return follows[:, ::-1]


def sudden_table(acting: Prediction, classes: tuple[str, ...], said: Mapping[str, float]) -> Floats:
    """Probability that something is said to come and go, for each duty of an intermittent fault.

    Parameters
    ----------
    acting : Prediction
        How far it is from its sound place while the fault acts, in shares of its range.
    said : mapping
        Probability of what is said of it where it acts half the time [1].

    Returns
    -------
    ndarray, shape (duties, cells, classes)
        0 for classes of which nothing is said.
    """
    visible = 1 - _still(np.nan_to_num(acting.mean, nan=0.5), acting.deviation)
    lively = np.minimum(1.0, 6.0 * like.DUTIES * (1.0 - like.DUTIES))
    sudden = np.zeros((len(like.DUTIES), len(visible), len(classes)))
    for word, chance in said.items():
        sudden[:, :, classes.index(word)] = chance * lively[:, None] * visible[None]
    return sudden


def always_there(table: Floats) -> Floats:
    """Probability of each class seen always, sometimes and once, of a fault that is always there.

    Parameters
    ----------
    table : ndarray, shape (cells, classes)
        Of the classes alone [1].

    Returns
    -------
    ndarray, shape (cells, 3*classes)
    """
    return np.concatenate([table * share for share in OFTEN.row("steady").values()], axis=1)


def now_and_then(table: Floats) -> Floats:
    """The same of what only a fault shows that comes and goes, by its duty.

    Parameters
    ----------
    table
        As for `always_there`.

    Returns
    -------
    ndarray, shape (duties, cells, 3*classes)
    """
    between = np.minimum(1.0, 4.0 * like.DUTIES * (1.0 - like.DUTIES))[:, None, None]
    said = [table * share for share in OFTEN.row("intermittent").values()]
    return np.asarray(between * np.concatenate([np.zeros_like(table), *said], axis=1))


def mentioned_table(right: Floats) -> Floats:
    """Probability that an owner says nothing of gauges that he was not asked about, or mentions some.

    Parameters
    ----------
    right : ndarray, shape (gauges, cells)
        Probability that each passes for right [1].

    Returns
    -------
    ndarray, shape (cells, 2)
    """
    each = (1 - right) * like.SILENT_ABNORMAL + right * like.SILENT_NORMAL
    silent = like.SPEAKS_OF_ONE + (1 - like.SPEAKS_OF_ONE) * each.prod(axis=0)
    return np.stack([silent, 1 - silent], axis=1)


def noticed_table(off: Prediction, doubt: float = 0.0) -> Floats:
    """Probability that a needle passes for right with an owner, or is seen to be wrong.

    Parameters
    ----------
    off : Prediction
        How far its needle is from its sound place [position].
    doubt : float, optional
        How far the owner does not know where it should stand [position].

    Returns
    -------
    ndarray, shape (cells, 2)
    """
    limit = like.NOTICED_LIMIT + doubt
    limits = [-limit, limit]
    right = like.ordered(np.nan_to_num(off.mean, nan=0.5), off.deviation, limits, JUDGED.spread)[:, 1]
    return np.stack([right, 1 - right], axis=1)


def with_loads_table(table: Floats, moved: Prediction) -> Floats:
    """Probability of how a needle is said to move where something is switched on and off.

    Parameters
    ----------
    table : ndarray, shape (cells, 4)
        Of `MOVES`, if nothing were switched [1].
    moved : Prediction
        How far the needle is from where it stands in the usual state [position].

    Returns
    -------
    ndarray, shape (cells, 4)
        A needle that goes with lamps and loads jumps as they come on and go off; that needs no
        intermittent fault.
    """
    jumps = MOVES.classes.index("jumps")
    seen = like.JUMPS_WITH_LOADS * (1 - _still(np.nan_to_num(moved.mean), moved.deviation))
    result = table * (1 - seen)[:, None]
    result[:, jumps] += seen
    return np.asarray(result)
