"""The words that people use of needles, meters, lamps, parts and repairs, and how they are written and said.

The words themselves stand in `topics`.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import takewhile

from gaugesim.vocabulary.topics import (
    AFTER,
    CHANGE,
    COOLANT,
    CRANKING,
    FOUND,
    HEAT,
    JUDGED,
    JUMP,
    LAMP,
    LOOKS,
    MOVES,
    NEEDLE,
    OFTEN,
    OHMS,
    OTHERS,
    RESULT,
    TOPICS,
    TRUTH,
    UNDRIVEN,
    VOLTS,
)

__all__ = [
    "AFTER",
    "CHANGE",
    "COOLANT",
    "CRANKING",
    "FOUND",
    "HEAT",
    "JUDGED",
    "JUMP",
    "LAMP",
    "LOOKS",
    "MOVES",
    "NEEDLE",
    "OFTEN",
    "OHMS",
    "OTHERS",
    "RESULT",
    "TOPICS",
    "TRUTH",
    "UNDRIVEN",
    "VOLTS",
    "enumerated",
    "meant",
    "outcome_words",
    "spoken",
    "written_words",
]

_TOLD = {
    word.id: word.told
    for topic in (*TOPICS.values(), OFTEN, RESULT, AFTER)
    for word in topic.words
    if word.told
}


def written_words(key: str) -> tuple[str, ...]:
    """Words that may stand under a key of a case file, whatever is read there."""
    return tuple(word for topic in TOPICS.values() if topic.key == key for word in topic.written)


def meant(key: str, text: str, words: Collection[str]) -> str:
    """The word of a case file that a text stands for, if it is what else people write for one of them.

    Parameters
    ----------
    words : collection of str
        Those that may stand there.

    Examples
    --------
    >>> meant("needle", "Off the top", ["low", "pegged_high"]), meant("needle", "lo", ["low"])
    ('pegged_high', 'lo')
    """
    typed = text.strip().lower()
    topics = (*TOPICS.values(), OFTEN, RESULT)
    found = {
        word.id
        for topic in topics
        if topic.key == key
        for word in topic.words
        if word.id in words and typed in (*word.also, *word.same)
    }
    return found.pop() if len(found) == 1 else text


def shared_beginning(texts: Sequence[Sequence[str]]) -> int:
    """How many words several texts begin with that are the same in all.

    Examples
    --------
    >>> shared_beginning([["the", "needle", "rises"], ["the", "needle", "falls"]])
    2
    """
    return sum(1 for _ in takewhile(lambda words: len({*words}) == 1, zip(*texts, strict=False)))


def enumerated(names: Sequence[str]) -> str:
    """Names in a row, as they are read aloud.

    Examples
    --------
    >>> enumerated(["fuel", "oil pressure", "temperature"])
    'fuel, oil pressure and temperature'
    """
    return " and ".join([", ".join(names[:-1]), names[-1]] if names[1:] else names)


def spoken(word: str) -> str:
    """A word of a case file as a person says it.

    Examples
    --------
    >>> spoken("pegged_low"), spoken("no_signs_of_heat")
    ('on the low stop', 'no signs of heat')
    """
    return _TOLD.get(word, word.replace("_", " "))


def outcome_words(reads: str, word: str) -> str:
    """What a check showed, as a person says it.

    Parameters
    ----------
    word : str
        The word for it in a case file.

    Examples
    --------
    >>> outcome_words("needle", "pegged_low"), outcome_words("volts", "none")
    ('needle on the low stop', 'no voltage')
    """
    return TOPICS[reads].shown(word)


def outcome_clause(reads: str, word: str) -> str:
    """The same behind "if".

    Examples
    --------
    >>> outcome_clause("needle", "pegged_low"), outcome_clause("change", "rises")
    ('the needle is on the low stop', 'the needle rises')
    """
    return TOPICS[reads].clause(word)
