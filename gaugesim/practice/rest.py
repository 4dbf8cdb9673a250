"""Repairs: what may be replaced, what it takes, and what may still be needed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError
from gaugesim.evidence import handling
from gaugesim.plan.job import Job
from gaugesim.plan.problem import NO_PLACE, Problem

# to find that the gauge was right all along takes a minute too
LEAST_MINUTES = 1.0


@dataclass(frozen=True)
class Repair:
    """Something that may be replaced or mended.

    Attributes
    ----------
    name : str
        A part as the ranking calls it, or a whole gauge.
    parts : frozenset of str
        The parts that are new after it.
    minutes : float
        Once it can be reached.
    price : float
    place : str
    words : str
        What is done.
    """

    name: str
    parts: frozenset[str]
    minutes: float
    price: float
    place: str
    words: str

    @property
    def short(self) -> str:
        """The same in two or three words: what is replaced, what is mended where it is, what is seen to."""
        what = self.words.partition(": ")[2]
        if what.startswith(("replace", "exchange")):
            return f"replace {self.name}"
        return f"see to {self.name}" if what.startswith("find out") else f"mend {self.name}"


def repair_named(circuit: Circuit, name: str, gauge: str) -> Repair:
    """A repair by its name.

    Parameters
    ----------
    circuit : Circuit
    name : str
        A part, or ``gauge``, or another gauge's ``GAUGE_gauge``.
    gauge : str
        The gauge complained of.

    Returns
    -------
    Repair

    Raises
    ------
    GaugesimError
        If there is no such part.
    """
    sheet = circuit.sheet
    if name == "gauge" or (name.removesuffix("_gauge") in sheet.gauges and name.endswith("_gauge")):
        whose = gauge if name == "gauge" else name.removesuffix("_gauge")
        inside = sorted(handling.whole(circuit, "gauge", whose))
        if not inside:
            raise CaseError(f"{circuit.id} has no parts inside the {whose} gauge", "", "name a part")
        parts = [sheet.parts[part] for part in inside]
        dearest = max(parts, key=lambda part: (part.repair_minutes, part.price))
        words = f"{sheet.gauges[whose].words}: exchange it whole"
        return Repair(name, frozenset(inside), dearest.repair_minutes, dearest.price, dearest.place, words)
    part = circuit.part(name, gauge)
    if part.kind in handling.GAUGE_KINDS and part.kind != "series_resistor":
        # what is inside a gauge is replaced with it
        own = part.gauge in ("", gauge)
        return repair_named(circuit, "gauge" if own else f"{part.gauge}_gauge", gauge)
    if part.kind == "process":
        words = f"{part.words}: find out by other means whether the gauge is right, and see to it"
    else:
        words = f"{part.words}: {part.repair}"
    return Repair(
        circuit.short_name(part.id, gauge),
        frozenset([part.id]),
        max(part.repair_minutes, LEAST_MINUTES),
        part.price,
        part.place,
        words,
    )


@dataclass(frozen=True, eq=False)
class Rest:
    """What may still have to be repaired.

    Attributes
    ----------
    work : Job
        What the complaint alone told.
    replaced : frozenset of str
        Names of the repairs that were made.
    """

    work: Job
    replaced: frozenset[str] = frozenset()

    @cached_property
    def left(self) -> tuple[frozenset[str], ...]:
        """What each hypothesis still needs repaired."""
        return tuple(frozenset(entry.repair.split("+")) - self.replaced for entry in self.work.hypotheses)

    @cached_property
    def replaced_parts(self) -> frozenset[str]:
        """The parts that are new."""
        return frozenset(part for name in self.replaced for part in self.repair(name).parts)

    @cached_property
    def repairs(self) -> tuple[str, ...]:
        """Names of the repairs of `problem`, several joined by ``+``."""
        return tuple(dict.fromkeys("+".join(sorted(names)) for names in self.left if names))

    @cached_property
    def problem(self) -> Problem:
        """What is left to do, as a planning problem."""
        base = self.work.problem
        places = self.work.places
        minutes, where = np.zeros(len(self.repairs)), np.full(len(self.repairs), NO_PLACE, dtype=np.intp)
        for r, joined in enumerate(self.repairs):
            parts = [self.repair(name) for name in joined.split("+")]
            minutes[r] = sum(part.minutes for part in parts)
            # the problem knows one place of a repair: the dearest
            dearest = max(parts, key=lambda part: base.setup_minutes[places.index(part.place)])
            where[r] = places.index(dearest.place)
        number = {frozenset(joined.split("+")): r for r, joined in enumerate(self.repairs)}
        repair_of = np.array([number.get(names, 0) for names in self.left], dtype=np.intp)
        return replace(
            base,
            repair_minutes=minutes,
            repair_places=where,
            repair_of=repair_of,
            price=np.zeros(len(minutes)),
        )

    def repair(self, name: str) -> Repair:
        """A repair of this circuit by its name.

        Parameters
        ----------
        name : str

        Returns
        -------
        Repair
        """
        return repair_named(self.work.circuit, name, self.work.diagnosis.gauge)
