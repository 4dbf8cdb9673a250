"""Checks that take more than looking, and which parts and points of a circuit they make sense at."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Collection, Iterator, Sequence
from typing import TypeVar

from gaugesim.circuit import Circuit
from gaugesim.scenario.kinds.kind import Kind
from gaugesim.sheet import Gauge, Part, Point

Named = TypeVar("Named", Part, Point)


class CheckKind(Kind):
    """A kind of check that takes more than looking."""

    @abstractmethod
    def where(self, circuit: Circuit, wanted: Sequence[str], gauges: Sequence[Gauge]) -> Iterator[str]:
        """Ids of the checks of this kind that make sense."""


def own(entries: Collection[Named], gauges: Sequence[Gauge]) -> list[Named]:
    """Parts or points of some gauges, and those that they share."""
    ids = ("", *(gauge.id for gauge in gauges))
    return [entry for entry in entries if entry.gauge in ids]


def bare(entry: Part | Point) -> str:
    """An id without its gauge."""
    return entry.id.removeprefix(f"{entry.gauge}_") if entry.gauge else entry.id


def has(names: Collection[str], name: str, gauge: Gauge) -> bool:
    """Whether a gauge has a part or a point, of its own or shared."""
    return name in names or f"{gauge.id}_{name}" in names


def is_inside(part: Part) -> bool:
    """Whether a part is an element of a subcircuit: a winding or a sender, no wire and no joint."""
    return part.element.startswith("r.")
