"""Chance that a whole class shares: numbers that follow from a key alone, and tell nothing about the key."""

from __future__ import annotations

import hashlib

import numpy as np

from gaugesim.errors import CaseError

# so slow to work out that trying words takes longer than finding the fault
_ROUNDS = 200_000
# a seed is no larger than what every reader of JSON keeps exactly
MOST_SEED = 2**53


def class_key(word: str) -> str:
    """What a class's tasks follow from: a teacher's word, which cannot be told from it. Empty for no class.

    Parameters
    ----------
    word : str
        Capitals and blanks around it do not count; empty for no class.

    Examples
    --------
    >>> class_key("Harbour") == class_key(" harbour "), class_key("harbour") == class_key("pump")
    (True, False)
    """
    text = " ".join(word.casefold().split())
    return hashlib.pbkdf2_hmac("sha256", text.encode(), b"gaugesim class", _ROUNDS, 8).hex() if text else ""


def refuse_seed(seed: int, option: str = "") -> None:
    """Refuse a seed that is negative or too large, which was given by an option.

    Raises
    ------
    CaseError
    """
    if not 0 <= seed <= MOST_SEED:
        problem = f"{option} {seed} is no seed".strip()
        raise CaseError(problem, "", f"give a whole number up to {MOST_SEED}")


def generator(*key: object) -> np.random.Generator:
    """Random numbers that follow from a key.

    The key goes through a hash first, so neighbouring seeds have nothing to do with one another.

    Examples
    --------
    >>> generator(7, "a").random() == generator(7, "a").random()
    True
    >>> abs(generator(7, "a").random() - generator(8, "a").random()) > 1e-6
    True
    """
    text = "\x1f".join(str(part) for part in key)
    digest = hashlib.blake2b(text.encode(), digest_size=16, person=b"gaugesim").digest()
    return np.random.default_rng(int.from_bytes(digest, "big"))
