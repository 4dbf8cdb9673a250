"""Arithmetic of a SPICE netlist: numbers with SI suffixes and parameter expressions.

An expression is parsed once into a small tree and then evaluated as often as needed, with floats or
with numpy arrays (one entry a tolerance sample), so that a whole batch of circuits costs one evaluation.

Where ngspice reads a text in its own way (chained powers, a sign behind an operator, ``mil`` in braces) the
text is refused, with the parentheses that make it plain.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from gaugesim.plain import shown

Value = Any  # a float, or an array of floats that broadcasts with its neighbours

SUFFIXES = {
    "t": 1e12,
    "g": 1e9,
    "meg": 1e6,
    "k": 1e3,
    "m": 1e-3,
    "u": 1e-6,
    "n": 1e-9,
    "p": 1e-12,
    "f": 1e-15,
}

# ngspice takes these for functions or quantities of its own.
RESERVED = frozenset(
    """
    abs ac acos acosh agauss arctan asin asinh atan atanh aunif ceil cos cosh exp floor gauss hertz
    int limit ln log log10 max min nint pow pwr sgn sin sinh sqr sqrt tan tanh temper ternary_fcn time unif
    """.split()
)

_NUMBER = re.compile(r"(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?", re.IGNORECASE | re.ASCII)
_NAME = re.compile(r"[a-z_][a-z0-9_]*", re.IGNORECASE | re.ASCII)
_OPERATOR = re.compile(r"\*\*|&&|\|\||<=|>=|==|!=|[-+*/^()<>?:,!]")


def _power(base: Value, exponent: Value) -> Value:
    """NaN for a base below zero, of which ngspice takes the magnitude."""
    return np.power(np.where(np.less(base, 0), np.nan, base), exponent)


def _truth(operate: Callable[..., Value]) -> Callable[..., Value]:
    """1 or 0, but NaN stays NaN: what is no number is neither more nor less than another."""

    def judge(*parts: Value) -> Value:
        return operate(*parts) + 0.0 * sum(parts)

    return judge


FUNCTIONS: dict[str, tuple[int, Callable[..., Value]]] = {
    "exp": (1, np.exp),
    "ln": (1, np.log),
    "log": (1, np.log),
    "log10": (1, np.log10),
    "sqrt": (1, np.sqrt),
    "abs": (1, np.abs),
    "sgn": (1, np.sign),
    "floor": (1, np.floor),
    "ceil": (1, np.ceil),
    "sin": (1, np.sin),
    "cos": (1, np.cos),
    "tan": (1, np.tan),
    "atan": (1, np.arctan),
    "sinh": (1, np.sinh),
    "cosh": (1, np.cosh),
    "tanh": (1, np.tanh),
    "min": (2, np.minimum),
    "max": (2, np.maximum),
    "pow": (2, _power),
}

BINARY: dict[str, tuple[int, Callable[[Value, Value], Value]]] = {
    "||": (1, _truth(np.logical_or)),
    "&&": (2, _truth(np.logical_and)),
    "==": (4, _truth(np.equal)),
    "!=": (4, _truth(np.not_equal)),
    "<": (4, _truth(np.less)),
    ">": (4, _truth(np.greater)),
    "<=": (4, _truth(np.less_equal)),
    ">=": (4, _truth(np.greater_equal)),
    "+": (5, np.add),
    "-": (5, np.subtract),
    "*": (6, np.multiply),
    "/": (6, np.divide),
    "^": (8, _power),
    "**": (8, _power),
}
_SIGN_BINDING = 7
_SIGNS = ("-", "+")
_POWERS = ("^", "**")


class ExpressionError(ValueError):
    """An expression that cannot be read; the text says what is wrong and what would be right."""


@dataclass(frozen=True)
class Expression:
    """A parsed expression.

    Attributes
    ----------
    text : str
        What was written, without braces.
    names : frozenset of str
        The parameters that it needs, in lower case.
    """

    text: str
    names: frozenset[str]
    _evaluate: Callable[[Callable[[str], Value]], Value]

    def __call__(self, lookup: Callable[[str], Value]) -> Value:
        """Evaluate with the values that ``lookup`` gives for each name.

        Parameters
        ----------
        lookup : callable
            From a lower-case parameter name to a float or an array.

        Examples
        --------
        >>> parse("2k*(1 + slope)")({"slope": 0.5}.__getitem__)
        3000.0
        """
        value = self._evaluate(lookup)
        return float(value) if np.ndim(value) == 0 else value

    def __reduce__(self) -> tuple[Callable[[str], Expression], tuple[str]]:
        """Travel to another process as text: the closures of the tree cannot."""
        return parse, (self.text,)


def read_number(text: str) -> float:
    """Read a SPICE number: ``4.7k``, ``10meg``, ``5mOhm``.

    Parameters
    ----------
    text : str
        Digits, an optional exponent, an optional SI suffix in any case; letters after it are a unit. A unit
        alone must not start with a, d or e, which some versions of ngspice take for atto or an exponent.

    Raises
    ------
    ExpressionError
        If the text does not start with a number or goes on with something else.

    Examples
    --------
    >>> read_number("4.7kohm"), read_number("10MEG"), read_number("5M")
    (4700.0, 10000000.0, 0.005)
    """
    match = _NUMBER.match(text)
    if not match:
        raise ExpressionError(f"{shown(text)} is not a number; write for example 4.7k or 10meg")
    value, unit = float(match.group()), text[match.end() :]
    rest = unit.lower()
    if unit and not (unit.isalpha() and unit.isascii()):  # small letters make a k of the Kelvin sign
        raise ExpressionError(f"{shown(text)} is not a number; after the SI suffix only letters may follow")
    if rest.startswith(("a", "d", "e", "mil")):
        raise ExpressionError(
            f"{shown(text)}: {rest!r} means different things to different programs; leave it out"
        )
    for suffix, factor in SUFFIXES.items():  # 'meg' stands before 'm'
        if rest.startswith(suffix):
            return value * factor
    return value


def parse(text: str) -> Expression:
    """Parse an expression of numbers, parameters, operators and functions.

    Parameters
    ----------
    text : str
        For example ``"r20*(1 + 0.00393*(ambient - 20))"`` or ``"level > 0.5 ? 10 : 90"``.

    Raises
    ------
    ExpressionError
        With what was found and what was expected in its place.

    Examples
    --------
    >>> sorted(parse("a + max(b, 2)*exp(-a)").names)
    ['a', 'b']
    """
    try:
        return _ExpressionParser(text).whole()
    except RecursionError:
        raise ExpressionError(f"{shown(text)} is nested too deeply; make parameters of its parts") from None


class _ExpressionParser:
    """Precedence climbing over the tokens of one expression."""

    def __init__(self, text: str) -> None:
        self.text = text
        # the next one last
        self.tokens = _tokens(text)[::-1]
        self.names: set[str] = set()

    def whole(self) -> Expression:
        tree = self.ternary()
        if self.tokens:
            raise ExpressionError(f"{shown(self.text)}: {self.tokens[-1][1]!r} is not expected there")
        return Expression(self.text, frozenset(self.names), tree)

    def peek(self) -> str:
        return self.tokens[-1][1] if self.tokens and self.tokens[-1][0] == "operator" else ""

    def take(self, expected: str = "") -> tuple[str, str]:
        if not self.tokens or (expected and self.tokens[-1][1] != expected):
            token = repr(self.tokens[-1][1]) if self.tokens else "the end"
            raise ExpressionError(f"{shown(self.text)}: found {token}, expected {expected or 'a value'!r}")
        return self.tokens.pop()

    def ternary(self, sign: bool = True) -> Callable[..., Value]:
        """A whole expression; ``sign`` says whether it may start with one."""
        condition = self.binary(0, sign)
        if self.peek() != "?":
            return condition
        self.take("?")
        yes = self.binary(0)
        if self.peek() == "?":
            raise ExpressionError(
                f"{shown(self.text)}: put the inner choice in parentheses, a ? (b ? c : d) : e"
            )
        self.take(":")
        no = self.ternary(sign=False)

        def choose(given: Value, first: Value, second: Value) -> Value:
            return np.where(given != 0, first, second) + 0.0 * given

        return _apply(choose, condition, yes, no)

    def binary(self, least: int, sign: bool = False) -> Callable[..., Value]:
        left = self.signed() if sign and self.peek() in _SIGNS else self.operand()
        while (symbol := self.peek()) in BINARY and BINARY[symbol][0] >= max(least, 1):
            self.take()
            binding, operate = BINARY[symbol]
            left = _apply(operate, left, self.binary(binding + 1))
            if symbol in _POWERS and self.peek() in _POWERS:
                raise ExpressionError(f"{shown(self.text)}: put one of the powers in parentheses, (a^b)^c")
        return left

    def signed(self) -> Callable[..., Value]:
        _, sign = self.take()
        operand = self.binary(_SIGN_BINDING)
        return _apply(np.negative, operand) if sign == "-" else operand

    def operand(self) -> Callable[..., Value]:
        if self.peek() in _SIGNS:
            raise ExpressionError(f"{shown(self.text)}: put the sign in parentheses, a*(-b)")
        if self.peek() == "!":
            self.take()
            return _apply(_truth(np.logical_not), self.binary(_SIGN_BINDING))
        return self.atom()

    def atom(self) -> Callable[..., Value]:
        kind, token = self.take()
        if kind == "number":
            number = read_number(token)
            return lambda look: number
        if kind == "name" and self.peek() == "(":
            return self.call(token)
        if kind == "name":
            self.names.add(token)
            return lambda look: look(token)
        if token == "(":
            inner = self.ternary()
            self.take(")")
            return inner
        raise ExpressionError(f"{shown(self.text)}: found {token!r}, expected a value")

    def call(self, name: str) -> Callable[..., Value]:
        if name not in FUNCTIONS:
            raise ExpressionError(
                f"{shown(self.text)}: no function {name!r}; there are {', '.join(sorted(FUNCTIONS))}"
            )
        count, function = FUNCTIONS[name]
        self.take("(")
        arguments = [self.ternary()]
        while self.peek() == ",":
            self.take(",")
            arguments.append(self.ternary())
        self.take(")")
        if len(arguments) != count:
            raise ExpressionError(f"{shown(self.text)}: {name} takes {count} values, {len(arguments)} given")
        return _apply(function, *arguments)


def _apply(function: Callable[..., Value], *parts: Callable[..., Value]) -> Callable[..., Value]:
    return lambda look: function(*(part(look) for part in parts))


def _tokens(text: str) -> list[tuple[str, str]]:
    tokens, at = [], 0
    while at < len(text):
        if text[at].isspace():
            at += 1
            continue
        if match := _NUMBER.match(text, at):
            end = match.end()
            while end < len(text) and text[end].isalpha():
                end += 1
            tokens.append(("number", text[at:end]))
            at = end
        elif match := _NAME.match(text, at):
            tokens.append(("name", match.group().lower()))
            at = match.end()
        elif match := _OPERATOR.match(text, at):
            tokens.append(("operator", match.group()))
            at = match.end()
        else:
            raise ExpressionError(f"{shown(text)}: the character {text[at]!r} means nothing in an expression")
    if not tokens:
        raise ExpressionError("an empty expression; write a number or a parameter")
    return tokens
