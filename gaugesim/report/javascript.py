"""A netlist's expressions written out in JavaScript, so that a page works out its parts' values itself.

Each expression is evaluated once with symbols in place of numbers: numpy hands every operation on a symbol to
the symbol, which writes it down.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from gaugesim.expression import Expression
from gaugesim.netlist import Netlist
from gaugesim.netlist.model import ParameterScope

# what each of numpy's operations is in JavaScript; a comparison gives 1 or 0, as in a netlist
_OPERATIONS = {
    "add": "({} + {})",
    "subtract": "({} - {})",
    "multiply": "({} * {})",
    "divide": "({} / {})",
    "negative": "(-{})",
    "power": "Math.pow({}, {})",
    "minimum": "Math.min({}, {})",
    "maximum": "Math.max({}, {})",
    "exp": "Math.exp({})",
    "log": "Math.log({})",
    "log10": "Math.log10({})",
    "sqrt": "Math.sqrt({})",
    "absolute": "Math.abs({})",
    "sign": "Math.sign({})",
    "floor": "Math.floor({})",
    "ceil": "Math.ceil({})",
    "sin": "Math.sin({})",
    "cos": "Math.cos({})",
    "tan": "Math.tan({})",
    "arctan": "Math.atan({})",
    "sinh": "Math.sinh({})",
    "cosh": "Math.cosh({})",
    "tanh": "Math.tanh({})",
    "less": "Number({} < {})",
    "less_equal": "Number({} <= {})",
    "greater": "Number({} > {})",
    "greater_equal": "Number({} >= {})",
    "equal": "Number({} === {})",
    "not_equal": "Number({} !== {})",
    "logical_and": "Number({} !== 0 && {} !== 0)",
    "logical_or": "Number({} !== 0 || {} !== 0)",
    "logical_not": "Number({} === 0)",
}


class SymbolicValue(np.lib.mixins.NDArrayOperatorsMixin):
    """A value that is not known yet, as JavaScript.

    Parameters
    ----------
    text : str
        What works it out.

    Examples
    --------
    >>> from gaugesim.expression import parse
    >>> script(parse("2*exp(beta) + min(a, 3)"), lambda name: SymbolicValue(f"v('{name}')"))
    "((2.0 * Math.exp(v('beta'))) + Math.min(v('a'), 3.0))"
    """

    ndim = 1  # so that nothing takes it for a number

    def __init__(self, text: str) -> None:
        self.text = text

    def __array_ufunc__(self, operation: np.ufunc, method: str, *parts: Any, **options: Any) -> Any:
        """Write an operation down."""
        if method != "__call__" or operation.__name__ not in _OPERATIONS:
            return NotImplemented
        return SymbolicValue(_OPERATIONS[operation.__name__].format(*map(_text, parts)))

    def __array_function__(self, function: Any, _types: Any, parts: Any, _options: Any) -> Any:
        """Write a choice down."""
        if function is np.ndim:
            return self.ndim
        if function is not np.where:
            return NotImplemented
        return SymbolicValue("({} ? {} : {})".format(*map(_text, parts)))


def _text(part: Any) -> str:
    if isinstance(part, SymbolicValue):
        return part.text
    value = float(part)
    if math.isnan(value):
        return "NaN"
    return repr(value) if math.isfinite(value) else f"({'-' if value < 0 else ''}Infinity)"


def script(expression: Expression, look: Any) -> str:
    """An expression in JavaScript.

    Parameters
    ----------
    look : callable
        From a parameter's name to a number or a `SymbolicValue`.
    """
    return _text(expression(look))


class Functions:
    """Parameters and elements of a netlist as JavaScript functions of ``v``, which looks parameters up."""

    def __init__(self, netlist: Netlist) -> None:
        self._netlist = netlist
        self._parameters: dict[str, str] = {}
        for name in netlist.scope.local:
            self._look(netlist.scope, name)
        self._elements = [self._in(part.value, part.scope) for part in netlist.elements]

    def _look(self, scope: ParameterScope, name: str) -> SymbolicValue:
        """Where a name gets its value from, as the netlist itself looks for it."""
        key = f"{scope.name}/{name}" if scope.name else name
        if name in scope.given and scope.parent is not None:
            expression, home = scope.given[name], scope.parent
        elif name in scope.local:
            expression, home = scope.local[name], scope
        else:
            assert scope.parent is not None
            return self._look(scope.parent, name)
        if key not in self._parameters:
            self._parameters[key] = ""  # on its way
            self._parameters[key] = self._in(expression, home)
        return SymbolicValue(f"v({json.dumps(key)})")

    def _in(self, expression: Expression, scope: ParameterScope) -> str:
        return script(expression, lambda name: self._look(scope, name))

    def setting(self, expression: Expression) -> str:
        """What a fault's severity ``x`` makes of a parameter. A function of ``v`` and ``x``."""
        scope = self._netlist.scope
        text = script(expression, lambda name: SymbolicValue("x") if name == "x" else self._look(scope, name))
        return f"(v, x) => {text}"

    def lines(self) -> Iterator[str]:
        """The functions as a script.

        Yields
        ------
        str
            ``PARAMETERS``, an object, and ``ELEMENTS``, a list in the order of the netlist.
        """
        yield "const PARAMETERS = {"
        for key, text in self._parameters.items():
            yield f"  {json.dumps(key)}: (v) => {text},"
        yield "};"
        yield "const ELEMENTS = ["
        for text in self._elements:
            yield f"  (v) => {text},"
        yield "];"
