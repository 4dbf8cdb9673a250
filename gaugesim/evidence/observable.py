"""Observables: what may be seen, and what every row of a batch would answer to it; and what was answered."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.prediction import BENT_READ, OFTEN_BENT, Prediction
from gaugesim.solve.network import Integers
from gaugesim.vocabulary import spoken

Truths = NDArray[np.bool_]
# the numbers of the classes, or the numbers, that were answered in each case; and that for each observable
Answer = Integers | Floats
Answers = Sequence[Answer]
Tabulate = Callable[[Prediction], Floats]


# how what was seen, and what would be seen, joins on to its subject
WAS, WERE, SHOWED = ("was", "be"), ("were", "be"), ("showed", "show")
GAVE, LOOKED = ("gave", "give"), ("looked", "look")


@dataclass(frozen=True)
class Statement:
    """How an observable is stated.

    Attributes
    ----------
    subject : str
        What is looked at, in words: "needle, key on and engine cold".
    where : str
        File and key of the entry that it comes from.
    verb : (str, str)
        Between the subject and what was seen, and between it and what would be seen.
    implied : bool
        Whether nobody said it: what a complaint implies.
    slip : float
        How often it may be a slip [1].
    """

    subject: str
    where: str
    stage: int = 1
    verb: tuple[str, str] = WAS
    implied: bool = False
    slip: float = like.SLIP


@dataclass(frozen=True)
class Observable:
    """Something that may be seen, and how every row would answer: by one of several classes, or by a number.

    Attributes
    ----------
    broad : float
        Probability, or density, of an answer if nothing is known.
    classes : tuple of str
        Empty for a number.
    table : ndarray, shape (rows, classes), or None
        Probability of each class while the fault acts.
    prediction : Prediction or None
        The value behind the answer, in the unit of the answer (ohms in natural logarithms).
    tabulate : callable or None
        From such a prediction to a table, where the classes are those of a value.
    noise : ndarray, shape (rows,), or None
        Standard deviation of a number that is read, by itself.
    sudden : ndarray, shape (duties, rows, classes), or None
        Probability of what only a fault shows that comes and goes, by the share of the time it acts.
    base : ndarray, shape (rows, classes), or None
        What a fault that comes and goes shows beside that, if not ``table``.
    comes_and_goes : bool
        Whether an intermittent fault acts at one time and not at another; if not, it always answers
        as itself.
    unit : str
        Of a number: ``position``, ``volts`` or ``log ohms``.
    lowest : float
        Lower end of where a number may lie of which nothing is known; the upper is ``1/broad`` from it.
    """

    statement: Statement
    broad: float
    classes: tuple[str, ...] = ()
    table: Floats | None = None
    prediction: Prediction | None = None
    tabulate: Tabulate | None = None
    noise: Floats | None = None
    sudden: Floats | None = None
    base: Floats | None = None
    comes_and_goes: bool = True
    unit: str = ""
    lowest: float = 0.0

    @property
    def is_number(self) -> bool:
        """Whether it is answered by a number."""
        return not self.classes

    @cached_property
    def slipped(self) -> Floats:
        """Probability of each class with slips, shape (rows, classes)."""
        assert self.table is not None
        return (1 - self.statement.slip) * self.table + self.statement.slip * self.broad

    @property
    def shown(self) -> Prediction:
        """The value behind the answer."""
        assert self.prediction is not None
        return self.prediction

    @cached_property
    def followed(self) -> Integers:
        """Rows in which a number is followed draw by draw, since no straight line describes it."""
        if not self.is_number:
            return np.zeros(0, dtype=np.intp)
        return self.shown.bent(BENT_READ, OFTEN_BENT)

    def density(self, values: Floats) -> Floats:
        """Density of numbers in every row, slips included.

        Parameters
        ----------
        values : ndarray, shape (cases,)
            In the unit of the prediction [1].

        Returns
        -------
        ndarray, shape (rows, cases)
        """
        assert self.noise is not None
        mean = self.shown.mean[:, None]
        wide = np.sqrt(self.noise**2 + self.shown.deviation**2)[:, None]
        # a needle that nothing drives is among those that are followed
        dense = like.density(values, np.nan_to_num(mean), wide)
        if self.followed.size:
            drawn = self.shown.take(self.followed).in_draws()[..., None]
            near = like.density(values, drawn, self.noise[self.followed, None, None])
            dense[self.followed] = near.mean(axis=1)
        return (1 - like.SLIP) * dense + like.SLIP * self.broad

    def likelihood(self, answers: Integers | Floats) -> Floats:
        """Probability, or density, of answers while the fault acts, slips included.

        Parameters
        ----------
        answers : ndarray, shape (cases,)
            Numbers of classes, or numbers [1].

        Returns
        -------
        ndarray, shape (rows, cases)
        """
        if self.is_number:
            return self.density(np.asarray(answers, dtype=float))
        return self.slipped[:, np.asarray(answers, dtype=np.intp)]

    def by_duty(self, acting: Integers, sound: Integers) -> Floats:
        """Probability of each class under faults that come and go, slips included.

        Parameters
        ----------
        acting : ndarray of int, shape (k,)
            Their rows.
        sound : ndarray of int, shape (k,)
            The rows of the same circuits without the fault.

        Returns
        -------
        ndarray, shape (duties, k, classes)
        """
        assert self.table is not None
        if not self.comes_and_goes:
            mixed = np.broadcast_to(self.table[acting], (len(like.DUTIES), len(acting), len(self.classes)))
        else:
            base = self.table if self.base is None else self.base
            duty = like.DUTIES[:, None, None]
            mixed = duty * base[acting] + (1 - duty) * base[sound]
            if self.sudden is not None:
                sudden = self.sudden[:, acting]
                mixed = sudden + (1 - sudden.sum(axis=-1, keepdims=True)) * mixed
        return np.asarray((1 - self.statement.slip) * mixed + self.statement.slip * self.broad)

    def mended(self, rows: Truths) -> Observable:
        """The same observable where some rows have been made sound.

        Parameters
        ----------
        rows : ndarray of bool, shape (rows,)
        """
        return self.take(np.where(rows, 0, np.arange(len(rows))))

    def take(self, index: Integers) -> Observable:
        """The same observable about other rows."""
        return replace(
            self,
            table=None if self.table is None else self.table[index],
            prediction=None if self.prediction is None else self.prediction.take(index),
            noise=None if self.noise is None else self.noise[index],
            sudden=None if self.sudden is None else self.sudden[:, index],
            base=None if self.base is None else self.base[index],
        )

    def say(self, word: str) -> str:
        """One of the classes as a person says it after the verb."""
        # of looks, "normal" is not a place on a scale
        return word.replace("_", " ") if self.statement.verb == LOOKED else spoken(word)

    def answer(self, value: str | float, seen: str = "") -> Observation:
        """What was seen.

        Parameters
        ----------
        value : str or float
            A class, or a number in the unit of the prediction [1].
        seen : str, optional
            The same in words.
        """
        if isinstance(value, str):
            return Observation(self, self.classes.index(value), seen or self.say(value))
        return Observation(self, value, seen)


@dataclass(frozen=True)
class Observation:
    """An observable and its answer.

    Attributes
    ----------
    answer : int or float
        Number of the class, or the number that was read.
    """

    observable: Observable
    answer: int | float
    seen: str

    @property
    def subject(self) -> str:
        """What was looked at, in words."""
        return self.observable.statement.subject

    @property
    def verb(self) -> tuple[str, str]:
        """Between the subject and what was seen, and what would be seen."""
        return self.observable.statement.verb

    @property
    def sentence(self) -> str:
        """What was seen, in words."""
        return f"{self.subject} {self.verb[0]} {self.seen}"

    @property
    def where(self) -> str:
        """File and key."""
        return self.observable.statement.where

    @property
    def implied(self) -> bool:
        """Whether nobody said it."""
        return self.observable.statement.implied

    @property
    def stage(self) -> int:
        """Counts up when something has been changed on the vehicle."""
        return self.observable.statement.stage

    @property
    def broad(self) -> float:
        """Probability, or density, if nothing is known."""
        return self.observable.broad

    @cached_property
    def likelihood(self) -> Floats:
        """Probability, or density, in every row while the fault acts, slips included, shape (rows,)."""
        return self.observable.likelihood(np.array([self.answer]))[:, 0]
