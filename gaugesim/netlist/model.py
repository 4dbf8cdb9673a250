"""What a netlist holds once it is flattened, and what its parameters come to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from gaugesim.errors import NetlistError, unknown_name
from gaugesim.expression import Expression, Value
from gaugesim.netlist.lines import Line, mistake

KINDS = {
    "r": "a resistor",
    "v": "a voltage source",
    "i": "a current source",
    "l": "an inductor",
    "c": "a capacitor",
}


@dataclass(frozen=True)
class ParameterScope:
    """Parameters of the whole netlist or of one subcircuit instance.

    Attributes
    ----------
    name : str
        ``""`` for the whole netlist, else the instance as ngspice names it, ``xfuel.xcoils``.
    given : dict
        Expressions that the instance hands in; they are evaluated in ``parent``.
    local : dict
        Expressions that hold inside; they are evaluated here.
    """

    name: str
    given: Mapping[str, Expression]
    local: Mapping[str, Expression]
    parent: ParameterScope | None = None

    def knows(self, name: str) -> bool:
        """Whether a parameter of that name can be seen from here."""
        return name in self.local or (self.parent is not None and self.parent.knows(name))


@dataclass(frozen=True)
class Element:
    """A two-terminal element of the flattened netlist.

    Attributes
    ----------
    name : str
        As ngspice names it: ``rsender_wire``, or ``r.xfuel.rcoil`` inside a subcircuit.
    kind : str
        ``r``, ``v``, ``i``, ``l`` or ``c``.
    node_a, node_b : str
        Its nodes; ``"0"`` is battery negative.
    value : Expression
        Ohms, volts, amperes, henries or farads.
    scope : ParameterScope
        Where the names in ``value`` are looked up.
    """

    name: str
    kind: str
    node_a: str
    node_b: str
    value: Expression
    scope: ParameterScope
    where: str
    comment: str = ""


@dataclass(frozen=True)
class Netlist:
    """A flattened netlist whose parameters can still be set.

    Attributes
    ----------
    scope : ParameterScope
        The parameters of the whole netlist.
    lines : tuple of Line
        The statements that were read, title first, with those of included files in place: all that another
        program need see of it.
    where : mapping
        From each ``.param`` outside subcircuits to its file and line.
    """

    path: Path
    title: str
    scope: ParameterScope
    elements: tuple[Element, ...]
    files: tuple[Path, ...]
    lines: tuple[Line, ...]
    where: Mapping[str, str]

    @property
    def parameters(self) -> tuple[str, ...]:
        """Names of the ``.param`` lines outside subcircuits, in the order of the file."""
        return tuple(self.scope.local)

    @property
    def nodes(self) -> tuple[str, ...]:
        """Every node, ``"0"`` left out, in the order in which the elements name them."""
        seen = dict.fromkeys(node for part in self.elements for node in (part.node_a, part.node_b))
        return tuple(node for node in seen if node != "0")

    def element(self, name: str) -> Element:
        """Find an element by its ngspice name.

        Parameters
        ----------
        name : str
            Lower case, for example ``"r.xfuel.rcoil"``.

        Raises
        ------
        UnknownNameError
            With the nearest names, if there is none.
        """
        if name not in self._by_name:
            raise unknown_name("element", name, [part.name for part in self.elements], str(self.path))
        return self._by_name[name]

    @cached_property
    def _by_name(self) -> Mapping[str, Element]:
        return {part.name: part for part in self.elements}

    @cached_property
    def _hanging(self) -> tuple[Mapping[str, tuple[Element, ...]], Mapping[str, frozenset[str]]]:
        """Elements that hang on each ``.param`` line, through however many others; and what each hangs on."""
        needed: dict[tuple[str, str], frozenset[str]] = {}

        def needs(expression: Expression, scope: ParameterScope) -> frozenset[str]:
            return frozenset().union(*(through(name, scope) for name in expression.names))

        def through(name: str, scope: ParameterScope) -> frozenset[str]:
            key = (scope.name, name)
            if key not in needed:
                needed[key] = frozenset()  # a circle ends here; `values` refuses it by name
                if name in scope.given and scope.parent is not None:
                    needed[key] = needs(scope.given[name], scope.parent)
                elif name in scope.local:
                    own = frozenset() if scope.parent else frozenset({name})
                    needed[key] = own | needs(scope.local[name], scope)
                elif scope.parent is not None:
                    needed[key] = through(name, scope.parent)
            return needed[key]

        result: dict[str, list[Element]] = {name: [] for name in self.scope.local}
        for part in self.elements:
            try:
                moving = needs(part.value, part.scope)
            except RecursionError:
                raise _too_deep(part.value, part.where) from None
            for name in moving:
                result[name].append(part)
        hangs_on = {}
        for name, expression in self.scope.local.items():
            try:
                hangs_on[name] = through(name, self.scope)
            except RecursionError:
                raise _too_deep(expression, self.where[name]) from None
        return {name: tuple(parts) for name, parts in result.items()}, hangs_on

    def needed_by(self, parameters: Iterable[str]) -> frozenset[str]:
        r"""Parameters on which some hang, through however many others, and these themselves.

        Examples
        --------
        >>> from gaugesim.netlist import read_text
        >>> netlist = read_text("divider\n.param top=1k rest={3*top}\nV1 in 0 12\nR1 in 0 {rest}")
        >>> sorted(netlist.needed_by(["rest"]))
        ['rest', 'top']
        """
        return frozenset().union(*(self._hanging[1].get(name, frozenset({name})) for name in parameters))

    def moved_by(self, parameters: Iterable[str]) -> tuple[Element, ...]:
        r"""Elements whose values can change with any of some parameters.

        Examples
        --------
        >>> from gaugesim.netlist import read_text
        >>> netlist = read_text("divider\n.param top=1k\nV1 in 0 12\nR1 in out {top}\nR2 out 0 3k")
        >>> [part.name for part in netlist.moved_by(["top"])]
        ['r1']
        """
        moved = {part.name for name in parameters for part in self._hanging[0].get(name, ())}
        return tuple(part for part in self.elements if part.name in moved)

    def values(
        self, parameters: Mapping[str, Value] | None = None, elements: Iterable[Element] | None = None
    ) -> dict[str, Value]:
        r"""Evaluate elements.

        From element name to its value [ohm, V, A, H or F]: a float, or an array where a parameter it depends
        on is one.

        Parameters
        ----------
        elements : iterable of Element, optional
            Only these; all if left out.

        Raises
        ------
        NetlistError
            If parameters go round in a circle, or a value is not a number.
        UnknownNameError
            If a name has no value, or ``parameters`` holds one that the netlist has not.

        Examples
        --------
        >>> from gaugesim.netlist import read_text
        >>> netlist = read_text("divider\n.param top=1k\nV1 in 0 12\nR1 in out {top}\nR2 out 0 {3*top}")
        >>> netlist.values({"top": 2e3})["r2"]
        6000.0
        """
        evaluation = self._evaluation(parameters)
        result = {}
        for part in self.elements if elements is None else elements:
            value = evaluation.whole(part.value, part.scope, part.where)
            if not np.all(np.isfinite(value)) or (part.kind in "rlc" and np.any(np.asarray(value) < 0)):
                positive = "" if part.kind in "vi" else " that is not negative"
                raise mistake(
                    f"{part.name} = {{{part.value.text}}} is {value}",
                    f"{KINDS[part.kind]} takes a finite number{positive}",
                    part.where,
                )
            result[part.name] = value
        return result

    def parameter_values(
        self, parameters: Mapping[str, Value] | None = None, names: Iterable[str] | None = None
    ) -> dict[str, Value]:
        """Evaluate ``.param`` lines outside subcircuits.

        Parameters
        ----------
        names : iterable of str, optional
            Which of them; every one if left out.
        """
        evaluation = self._evaluation(parameters)
        return {
            name: evaluation.whole(self.scope.local[name], self.scope, self.where[name], name)
            for name in (self.scope.local if names is None else names)
        }

    def _evaluation(self, parameters: Mapping[str, Value] | None) -> _ParameterValues:
        for name in parameters or {}:
            if name not in self.scope.local:
                raise unknown_name("parameter", name, self.scope.local, str(self.path))
        return _ParameterValues(self.scope, parameters or {}, self.where)


def _too_deep(expression: Expression, where: str) -> NetlistError:
    return mistake(f"{{{expression.text[:40]}}} hangs on too many others", "shorten the chain", where)


class _ParameterValues:
    """Values of parameters, each worked out once and on demand."""

    def __init__(self, top: ParameterScope, overrides: Mapping[str, Value], where: Mapping[str, str]) -> None:
        self.where = where
        self.values: dict[tuple[str, str], Value] = {
            (top.name, name): value for name, value in overrides.items()
        }
        self.pending: set[tuple[str, str]] = set()

    def whole(self, expression: Expression, scope: ParameterScope, where: str, name: str = "") -> Value:
        """An element's value, or that of the parameter called ``name``."""
        try:
            return self.name(name, scope, where) if name else self.expression(expression, scope, where)
        except RecursionError:
            raise _too_deep(expression, where) from None

    def expression(self, expression: Expression, scope: ParameterScope, where: str) -> Value:
        # a value that is no number is reported by the element's name
        with np.errstate(all="ignore"):
            return expression(lambda name: self.name(name, scope, where))

    def name(self, name: str, scope: ParameterScope, where: str) -> Value:
        key = (scope.name, name)
        if key in self.values:
            return self.values[key]
        if key in self.pending:
            raise mistake(f"parameter {name!r} depends on itself", "break the circle", where)
        self.pending.add(key)
        if name in scope.given and scope.parent is not None:
            value = self.expression(scope.given[name], scope.parent, where)
        elif name in scope.local:
            # what is wrong in a line of the circuit's own is not the fault of what it includes
            own = where if scope.parent is not None else self.where.get(name, where)
            value = self.expression(scope.local[name], scope, own)
        elif scope.parent is not None:
            value = self.name(name, scope.parent, where)
        else:
            raise unknown_name("parameter", name, scope.local, where)
        self.pending.discard(key)
        self.values[key] = value
        return value
