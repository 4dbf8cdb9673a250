"""How a check that is worth making is told, to programs and to people."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from gaugesim.cli.output import wrapped
from gaugesim.plan.advice import Advice
from gaugesim.plan.outside import Group

# outcomes that are shown however unlikely they are; of the others those of that probability [1]
_ALWAYS, _RARE = 4, 0.02


def advice_json(advised: Advice) -> dict[str, Any]:
    """A check for a program.

    Parameters
    ----------
    advised : Advice

    Returns
    -------
    dict
    """
    return {
        "check": advised.check,
        "state": advised.state,
        "words": advised.words,
        "minutes": advised.minutes,
        "bits": advised.bits,
        "cautions": list(advised.cautions),
        "outcomes": [
            {
                "outcome": outcome.outcome,
                "words": outcome.words,
                "probability": outcome.probability,
                "leads_to": [
                    {"fault": fault, "words": words, "probability": p} for fault, words, p in outcome.leads_to
                ],
            }
            for outcome in advised.outcomes
        ],
    }


def advice_lines(advised: Advice) -> list[str]:
    """A check for a person.

    Parameters
    ----------
    advised : Advice

    Returns
    -------
    list of str
    """
    lines = check_lines(advised)
    rare = [outcome for outcome in advised.outcomes[_ALWAYS:] if outcome.probability < _RARE]
    for outcome in advised.outcomes:
        if outcome in rare:
            continue
        faults = [f"{words} ({percent(p).strip()})" for _, words, p in outcome.leads_to[:2]]
        leads = f"then {'; or '.join(faults)}" if faults else "then none of these stands out"
        lines += wrapped(
            f"{outcome.words} ({percent(outcome.probability).strip()}): {leads}", "      ", "  - if "
        )
    if rare:
        rest = percent(sum(outcome.probability for outcome in rare)).strip()
        lines += wrapped(f"anything else ({rest}): make sure of it, then enter it", "      ", "  - if ")
    return lines


def check_lines(advised: Advice) -> list[str]:
    """What to do for a check, what it takes and what to watch out for.

    Parameters
    ----------
    advised : Advice

    Returns
    -------
    list of str
    """
    lines = [
        f"Next check: {advised.check}, {advised.minutes:g} {'minute' if advised.minutes == 1 else 'minutes'}"
    ]
    lines += wrapped(f"{advised.words} ({advised.state_words}).", "  ")
    if advised.opens:
        lines += wrapped(f"Counted in: getting {' and '.join(advised.opens)}.", "  ")
    for text in advised.cautions:
        lines += wrapped(text, "    ", "  ! ")
    return lines


def or_else(words: Sequence[str], most: int) -> str:
    """Several things of which one is meant.

    Parameters
    ----------
    words : sequence of str
    most : int
        How many are named [1].

    Returns
    -------
    str

    Examples
    --------
    >>> or_else(["fuse is blown", "battery is flat", "switch is open"], 1)
    'fuse is blown; or one of 2 more'
    """
    # the last one takes no more room than its count would
    named = words if len(words) <= most + 1 else words[:most]
    more = len(words) - len(named)
    return "; or ".join(named) + (f"; or one of {more} more" if more else "")


def groups_json(groups: Sequence[Group]) -> list[dict[str, Any]]:
    """Faults that no check from outside tells apart, for a program.

    Parameters
    ----------
    groups : sequence of Group

    Returns
    -------
    list of dict
    """
    return [
        {
            "faults": list(group.faults),
            "separated_by": None if group.separated_by is None else vars(group.separated_by),
        }
        for group in groups
    ]


def group_lines(groups: Sequence[Group]) -> list[str]:
    """Faults that no check from outside tells apart, for a person.

    Parameters
    ----------
    groups : sequence of Group

    Returns
    -------
    list of str
    """
    lines = ["", "Never told apart from outside"]
    for group in groups:
        by = group.separated_by
        then = f". Told apart by {by.check}, {by.minutes:.0f} minutes" if by else ". Nothing tells them apart"
        lines += wrapped(or_else(group.words, 4) + then, "    ", "  - ")
    return lines


def percent(p: float) -> str:
    """A probability in five columns.

    Parameters
    ----------
    p : float

    Returns
    -------
    str

    Examples
    --------
    >>> percent(0.123), percent(0.004), percent(0.9999)
    (' 12 %', ' <1 %', '>99 %')
    """
    if 0 < p < 0.005:
        return " <1 %"
    if 0.995 <= p < 1:
        return ">99 %"
    return f"{100 * p:3.0f} %"
