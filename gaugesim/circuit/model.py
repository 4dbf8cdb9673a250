"""A circuit: a netlist with its sheet, states and parameters applied."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any, TypeVar

from gaugesim.errors import unknown_name
from gaugesim.expression import Value
from gaugesim.netlist import Netlist
from gaugesim.sheet import Gauge, Part, Point, Sheet
from gaugesim.solve.network import Network, of_netlist

_Entry = TypeVar("_Entry")
# how many things a circuit keeps in `Circuit.recall`: more than states and checks need, little memory
KEPT = 256


@dataclass(frozen=True, repr=False)
class Circuit:
    """A netlist with its sheet."""

    netlist: Netlist
    sheet: Sheet

    @property
    def id(self) -> str:
        """Its name: that of its files."""
        return self.sheet.id

    def __repr__(self) -> str:
        sheet = self.sheet
        counts = f"{len(sheet.gauges)} gauges, {len(sheet.parts)} parts, {len(sheet.states)} states"
        return f"<circuit {self.id}: {sheet.words}; {counts}>"

    @cached_property
    def wiring(self) -> Network:
        """The network with its nodes and branches; the values are those of the netlist as it stands."""
        return self.network(self.values({}))

    def parameters(
        self, state: str | None = None, given: Mapping[str, float] | None = None
    ) -> dict[str, float]:
        """Parameter values that a state sets, with some replaced.

        Only what differs from the netlist as it stands; pass it to `values`.

        Parameters
        ----------
        state : str, optional
            A state of the sheet; its default state if left out.

        Raises
        ------
        UnknownNameError
            If there is no such state or parameter.
        """
        state = self.sheet.default_state if state is None else state
        if state not in self.sheet.states:
            raise unknown_name("state", state, self.sheet.states, self.id)
        for name in given or {}:
            if name not in self.netlist.scope.local:
                raise unknown_name("parameter", name, self.netlist.scope.local, self.id)
        return {**self.sheet.states[state].set, **(given or {})}

    def values(self, parameters: Mapping[str, Value]) -> Mapping[str, Value]:
        """Evaluate every element, see `Netlist.values`.

        Not to be changed by the caller: a large netlist has many values, and many ask for one.

        Parameters
        ----------
        parameters : mapping
            Floats, or arrays of one shape.
        """
        return self.recall("values", parameters, lambda: self.netlist.values(parameters))

    def parameter_values(self, parameters: Mapping[str, Value]) -> dict[str, Value]:
        """Evaluate every ``.param`` line, see `Netlist.parameter_values`."""
        return {**self.recall("parameters", parameters, lambda: self.netlist.parameter_values(parameters))}

    def __getstate__(self) -> dict[str, Any]:
        """What another process is sent: not what is kept in `recall`, which may be of any kind and size."""
        return {field.name: getattr(self, field.name) for field in fields(self)}

    def recall(self, what: Hashable, parameters: Mapping[str, Value], make: Callable[[], _Entry]) -> _Entry:
        """Something that follows from parameter values, worked out once while they are the same.

        Not to be changed by the caller.

        Parameters
        ----------
        parameters : mapping
            If one of them is an array, nothing is kept.
        """
        if not all(isinstance(value, int | float) for value in parameters.values()):
            return make()
        key = (what, frozenset(parameters.items()))
        # what was asked for last stands last, so that what goes is what nobody has asked for longest
        entry = self._kept.pop(key) if key in self._kept else make()
        if len(self._kept) >= KEPT:
            del self._kept[next(iter(self._kept))]
        self._kept[key] = entry
        return entry

    @cached_property
    def _kept(self) -> dict[Hashable, Any]:
        return {}

    def network(self, values: Mapping[str, float]) -> Network:
        """The network with given element values: at direct current inductors are wires, capacitors opens."""
        return of_netlist(self.netlist, values)

    def gauge(self, name: str | None = None) -> Gauge:
        """A gauge by name; the only one, or the first, if no name is given.

        Raises
        ------
        UnknownNameError
        """
        if not name:
            return next(iter(self.sheet.gauges.values()))
        if name not in self.sheet.gauges:
            raise unknown_name("gauge", name, self.sheet.gauges, self.id)
        return self.sheet.gauges[name]

    def part(self, name: str, gauge: str | None = None) -> Part:
        """A part by id, by its id without the name of the gauge complained of, or by one of its pieces.

        Raises
        ------
        UnknownNameError
        """
        own, parts = self.gauge(gauge).id, self.sheet.parts
        pieces = {piece: part for part in parts.values() if part.gauge in ("", own) for piece in part.pieces}
        return _find("part", {**pieces, **parts}, name, own, self.id)

    def point(self, name: str, gauge: str | None = None) -> Point:
        """A point by id, or by its id without the name of the gauge complained of.

        Raises
        ------
        UnknownNameError
        """
        return _find("point", self.sheet.points, name, self.gauge(gauge).id, self.id)

    def short_name(self, name: str, gauge: str) -> str:
        """A part's id without the gauge's name in front, if it is of that gauge and no other is called so."""
        short = name.removeprefix(f"{gauge}_")
        own = self.sheet.parts[name].gauge == gauge and short not in self.sheet.parts
        return short if own else name

    def prefix(self, gauge: str) -> str:
        """What stands in front of the ids of a gauge's own parts: its name, where there are several."""
        own = [part for part in self.sheet.parts.values() if part.gauge == gauge]
        return f"{gauge}_" if any(part.id.startswith(f"{gauge}_") for part in own) else ""

    def gauge_elements(self, gauge: Gauge) -> tuple[str, ...]:
        """Elements of the gauge itself: what is in hand when it is off the panel."""
        inside = f".{gauge.instance}."
        return tuple(part.name for part in self.netlist.elements if inside in f"{part.name}")


def _find(kind: str, entries: Mapping[str, _Entry], name: str, gauge: str, where: str) -> _Entry:
    for candidate in (name, f"{gauge}_{name}"):
        if candidate in entries:
            return entries[candidate]
    raise unknown_name(kind, name, entries, where)
