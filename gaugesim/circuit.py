"""A circuit: a netlist and its sheet, checked against each other, with states and parameters to apply."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path as FilePath
from typing import Any, TypeVar

from gaugesim import netlist as netlists
from gaugesim import sheet as sheets
from gaugesim.errors import SheetError, UnknownNameError, location, nearest, unknown_name
from gaugesim.expression import Value
from gaugesim.netlist import Netlist
from gaugesim.paths import netlist_folders
from gaugesim.sheet import Gauge, Part, Point, Sheet
from gaugesim.solve.network import GROUND, Network, of_netlist

_Entry = TypeVar("_Entry")
# how many things a circuit keeps in `Circuit.recall`: more than states and checks need, little memory
KEPT = 256
GND = "SPICE takes gnd for node 0, battery negative, everywhere: write 0 if that is meant, else another name"


@dataclass(frozen=True, repr=False)
class Circuit:
    """A netlist with its sheet.

    Attributes
    ----------
    netlist : Netlist
    sheet : Sheet
    """

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

        Parameters
        ----------
        state : str, optional
            A state of the sheet; its default state if left out.
        given : mapping, optional
            Values that beat the state's.

        Returns
        -------
        dict
            Only what differs from the netlist as it stands; pass it to `values`.

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

        Parameters
        ----------
        parameters : mapping
            Floats, or arrays of one shape.

        Returns
        -------
        mapping
            Not to be changed by the caller: a large netlist has many values, and many ask for one.
        """
        return self.recall("values", parameters, lambda: self.netlist.values(parameters))

    def parameter_values(self, parameters: Mapping[str, Value]) -> dict[str, Value]:
        """Evaluate every ``.param`` line, see `Netlist.parameter_values`.

        Parameters
        ----------
        parameters : mapping
            Floats, or arrays of one shape.

        Returns
        -------
        dict
        """
        return {**self.recall("parameters", parameters, lambda: self.netlist.parameter_values(parameters))}

    def recall(self, what: Hashable, parameters: Mapping[str, Value], make: Callable[[], _Entry]) -> _Entry:
        """Something that follows from parameter values, worked out once while they are the same.

        Parameters
        ----------
        what : hashable
            What it is.
        parameters : mapping
            If one of them is an array, nothing is kept.
        make : callable
            Works it out.

        Returns
        -------
        object
            Not to be changed by the caller.
        """
        if not all(isinstance(value, int | float) for value in parameters.values()):
            return make()
        key = (what, frozenset(parameters.items()))
        if key not in self._kept:
            if len(self._kept) >= KEPT:
                del self._kept[next(iter(self._kept))]
            self._kept[key] = make()
        return self._kept[key]  # type: ignore[no-any-return]

    @cached_property
    def _kept(self) -> dict[Hashable, Any]:
        return {}

    def network(self, values: Mapping[str, float]) -> Network:
        """The network with given element values: at direct current inductors are wires, capacitors opens.

        Parameters
        ----------
        values : mapping
            From element name to its value.

        Returns
        -------
        Network
        """
        return of_netlist(self.netlist, values)

    def gauge(self, name: str | None = None) -> Gauge:
        """A gauge by name; the only one, or the first, if no name is given.

        Parameters
        ----------
        name : str, optional

        Returns
        -------
        Gauge

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
        """A part by id, or by its id without the name of the gauge complained of.

        Parameters
        ----------
        name : str
        gauge : str, optional

        Returns
        -------
        Part

        Raises
        ------
        UnknownNameError
        """
        return _find("part", self.sheet.parts, name, self.gauge(gauge).id, self.id)

    def point(self, name: str, gauge: str | None = None) -> Point:
        """A point by id, or by its id without the name of the gauge complained of.

        Parameters
        ----------
        name : str
        gauge : str, optional

        Returns
        -------
        Point

        Raises
        ------
        UnknownNameError
        """
        return _find("point", self.sheet.points, name, self.gauge(gauge).id, self.id)

    def short_name(self, name: str, gauge: str) -> str:
        """A part's id without the gauge's name in front, if it is of that gauge.

        Parameters
        ----------
        name : str
        gauge : str

        Returns
        -------
        str
        """
        prefix = f"{gauge}_"
        return (
            name[len(prefix) :] if self.sheet.parts[name].gauge == gauge and name.startswith(prefix) else name
        )

    def gauge_elements(self, gauge: Gauge) -> tuple[str, ...]:
        """Elements of the gauge itself: what is in hand when it is off the panel.

        Parameters
        ----------
        gauge : Gauge

        Returns
        -------
        tuple of str
        """
        inside = f".{gauge.instance}."
        return tuple(part.name for part in self.netlist.elements if inside in f"{part.name}")


def _find(kind: str, known: Mapping[str, _Entry], name: str, gauge: str, where: str) -> _Entry:
    for candidate in (name, f"{gauge}_{name}"):
        if candidate in known:
            return known[candidate]
    raise unknown_name(kind, name, known, where)


def read(path: FilePath | str) -> Circuit:
    """Read a netlist and the sheet beside it.

    Parameters
    ----------
    path : path
        The ``.cir`` file; the sheet has the same name and ends in ``.toml``.

    Returns
    -------
    Circuit

    Raises
    ------
    NetlistError, SheetError
        What is wrong in which file, and what would be right.
    """
    path = FilePath(path)
    circuit = Circuit(netlists.read(path), sheets.read(path.with_suffix(".toml")))
    _check(circuit)
    return circuit


def find(name: str, netlists_folder: FilePath | None = None) -> Circuit:
    """Read a circuit by id or by the path of its netlist.

    Parameters
    ----------
    name : str
        An id, searched in ``netlists_folder``, the folders of ``GAUGESIM_NETLISTS`` and the shipped ones,
        or a path that ends in ``.cir``.
    netlists_folder : path, optional

    Returns
    -------
    Circuit

    Raises
    ------
    UnknownNameError
        With the nearest ids.
    """
    if name.endswith(".cir"):
        return read(name)
    for folder in netlist_folders(netlists_folder):
        if (folder / f"{name}.cir").is_file():
            return read(folder / f"{name}.cir")
    raise _unknown_circuit(name, available(netlists_folder))


def _unknown_circuit(name: str, known: tuple[str, ...]) -> UnknownNameError:
    """What to raise for a circuit that is not there; a netlist where the user stands may have been meant."""
    given = FilePath(name)
    if given.name and given.with_suffix(".cir").is_file():
        near = [str(given.with_suffix(".cir"))]
    else:
        here = {file.stem: str(file) for file in FilePath().glob("*.cir")}
        near = [here.get(one, one) for one in nearest(name, [*here, *known])]
    if near:
        return UnknownNameError(f"no circuit is called '{name}'", "", f"did you mean {' or '.join(near)}?")
    return unknown_name("circuit", name, known)


def available(netlists_folder: FilePath | None = None) -> tuple[str, ...]:
    """Ids of all circuits that can be found, see `find`.

    Parameters
    ----------
    netlists_folder : path, optional

    Returns
    -------
    tuple of str
    """
    found = {
        file.stem: None
        for folder in netlist_folders(netlists_folder)
        for file in sorted(folder.glob("*.cir"))
        if file.with_suffix(".toml").is_file()
    }
    return tuple(found)


def _check(circuit: Circuit) -> None:
    """See that netlist and sheet speak of the same things."""
    sheet, netlist = circuit.sheet, circuit.netlist
    elements = {part.name for part in netlist.elements}
    nodes = {*netlist.nodes, GROUND}
    parameters = set(netlist.scope.local)

    def require(kind: str, name: str, known: set[str], key: str) -> None:
        if name not in known:
            error: UnknownNameError = unknown_name(f"{kind} of {netlist.path.name}", name, known)
            if name == "gnd":
                error = unknown_name(f"{kind} of {netlist.path.name}", name, ())
                raise SheetError(error.problem, location(sheet.path.name, key=key), GND)
            # its line may have been deleted, or its name be wrong here
            add = f"write .param {name}=VALUE there, or " if kind == "parameter" else ""
            raise SheetError(error.problem, location(sheet.path.name, key=key), add + error.remedy)

    for part in sheet.parts.values():
        key = f"parts.{part.id}"
        if part.unit == "ohm":
            require("element", part.element, elements, f"{key}.element")
            require("parameter", part.parameter, parameters, f"{key}.parameter")
        if part.chafes:
            require("node", part.chafes, nodes, f"{key}.chafes")
        for mode in part.modes.values():
            for name in mode.set:
                require("parameter", name, parameters, f"{key}.modes.{mode.id}.set")
            for expression in mode.set.values():
                for name in expression.names - {"x"}:
                    require("parameter", name, parameters, f"{key}.modes.{mode.id}.set")
    for state in sheet.states.values():
        for name in (*state.set, *state.plus_minus):
            require("parameter", name, parameters, f"states.{state.id}")
    for point in sheet.points.values():
        require("node", point.node, nodes, f"points.{point.id}.node")
    for consumer in sheet.consumers.values():
        require("node", consumer.node_a, nodes, f"consumers.{consumer.id}.node_a")
        require("node", consumer.node_b, nodes, f"consumers.{consumer.id}.node_b")
    for gauge in sheet.gauges.values():
        for name in [coil.element for coil in gauge.coils] + ([gauge.element] if gauge.element else []):
            require("element", name, elements, f"gauges.{gauge.id}")
        if not circuit.gauge_elements(gauge):
            require("instance", gauge.instance, _instances(elements), f"gauges.{gauge.id}.instance")
    for name in sheet.quantities:
        require("parameter", name, parameters, f"process or values: {name}")
    if sheet.regulator:
        require("element", sheet.regulator.contact, elements, "regulator.contact")
        require("element", sheet.regulator.heater, elements, "regulator.heater")
        require("parameter", sheet.regulator.design_volts, parameters, "regulator.design_volts")
    covered = {part.parameter for part in sheet.parts.values()} | set(sheet.quantities)
    for name in netlist.parameters:
        if name not in covered:
            raise SheetError(
                f"parameter {name!r} of {netlist.path.name} is in no part, not in [values], not in [process]",
                sheet.path.name,
                "say its unit, tolerance and source",
            )


def _instances(elements: set[str]) -> set[str]:
    return {name.split(".")[1] for name in elements if "." in name}
