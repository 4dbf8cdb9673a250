"""A word, and what words are said of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

# a word, a number or a range
Answer = str | float | tuple[float, float] | list[float]


@dataclass(frozen=True)
class Word:
    """One word.

    Attributes
    ----------
    id : str
        As it stands in a case file.
    told : str
        After "the needle" or "the reading is"; the id itself if left out.
    shown : str
        The whole of what a check showed; that after the topic's subject if left out.
    offered : str
        As an answer to a question; ``shown`` or ``told`` if left out.
    also : tuple of str
        What else people type.
    same : tuple of str
        What may stand in a case file instead.
    below : float or None
        What is less is called so, in the unit of the topic; None for all that remains.
    row : mapping
        Its probability under each condition [1].
    entry : (str, str) or None
        What stands in a case file instead, key and word.
    apart : bool
        Whether it is no class beside the topic's others, but answers a question of its own.
    """

    id: str
    told: str = ""
    shown: str = ""
    offered: str = ""
    also: tuple[str, ...] = ()
    same: tuple[str, ...] = ()
    below: float | None = None
    row: Mapping[str, float] = field(default_factory=dict)
    entry: tuple[str, str] | None = None
    apart: bool = False

    @property
    def spoken(self) -> str:
        """See ``told``."""
        return self.told or self.id.replace("_", " ")

    @property
    def answer(self) -> str:
        """See ``offered``."""
        return self.offered or self.shown or self.spoken


@dataclass(frozen=True)
class Topic:
    """What words are said of, or what is read.

    Attributes
    ----------
    key : str
        Of an entry of a case file.
    words : tuple of Word
        From least to most where they have limits.
    subject : str
        What stands before a word when it is told.
    asks : str
        The question.
    spread : float
        Standard deviation with which a person places the limits, in their unit.
    number : str
        What kind of number may be given instead; empty for none.
    unit, meter : str
        Of that number, and what it is read on.
    or_number : str
        How one is asked to give it.
    span : (float, float)
        Ends of the scale of an instrument whose likelihoods are not those of volts or ohms.
    near : (float, float)
        A number is as good as another that differs by this share, or by this much.
    order : tuple of str
        In which words are offered; as they stand if left out.
    """

    key: str
    words: tuple[Word, ...]
    subject: str = ""
    asks: str = ""
    spread: float = 0.0
    number: str = ""
    unit: str = ""
    meter: str = ""
    or_number: str = ""
    span: tuple[float, float] = (0.0, 0.0)
    near: tuple[float, float] = (0.0, 0.0)
    order: tuple[str, ...] = ()

    @property
    def classes(self) -> tuple[str, ...]:
        """Ids of the words that exclude one another."""
        return tuple(word.id for word in self.words if not word.apart)

    @property
    def written(self) -> tuple[str, ...]:
        """Ids that may stand in a case file."""
        return tuple(word.id for word in self.words if not word.entry)

    @property
    def limits(self) -> tuple[float, ...]:
        """Where one word gives way to the next."""
        return tuple(word.below for word in self.words if word.below is not None)

    @property
    def offered(self) -> tuple[Word, ...]:
        """The words as they are offered."""
        return tuple(self[name] for name in self.order) or self.words

    def row(self, condition: str) -> dict[str, float]:
        """Probability of each word under a condition [1]."""
        return {word.id: word.row[condition] for word in self.words if condition in word.row}

    def in_a_case(self, answer: Answer) -> tuple[str, Answer]:
        """The key and the value that stand for an answer in a case file; empty for a word that it has not."""
        entries = {word.id: word.entry for word in self.words if word.entry}
        return entries.get(answer, (self.key, answer)) if isinstance(answer, str) else (self.key, answer)

    def shown(self, name: str) -> str:
        """What a check showed, as a person says it."""
        return self[name].shown or self.subject + self[name].spoken

    def clause(self, name: str) -> str:
        """The same as part of a sentence: behind "if"."""
        word = self[name]
        if not self.subject:
            return self.shown(name)
        return f"the {word.shown or f'{self.subject}is {word.spoken}'}"

    def __getitem__(self, name: str) -> Word:
        """The word of an id."""
        return {word.id: word for word in self.words}[name]
