"""Expressions against Python's own arithmetic: values, arrays, and every text that is refused."""

import math
import random

import numpy as np
import pytest

from gaugesim.expression import FUNCTIONS, ExpressionError, parse, read_number

VALUES = {"a": 3.0, "b": 0.5, "c_1": 7.25}

PYTHON = {
    "exp": math.exp, "ln": math.log, "log": math.log, "log10": math.log10, "sqrt": math.sqrt, "abs": abs,
    "sgn": lambda x: math.copysign(1.0, x) if x else 0.0, "floor": math.floor, "ceil": math.ceil,
    "sin": math.sin, "cos": math.cos, "tan": math.tan, "atan": math.atan,
    "sinh": math.sinh, "cosh": math.cosh, "tanh": math.tanh, "min": min, "max": max, "pow": pow,
}  # fmt: skip


def value(text: str) -> float:
    return parse(text)(VALUES.__getitem__)


@pytest.mark.parametrize(
    "text",
    [
        "1 + 2*3", "(1 + 2)*3", "10 - 3 - 2", "100/5/2", "2*3**2", "-a", "-a*b", "-(a - b)", "a*(-b)",
        "a**(-b)",
        "2.5e-3*a", ".5 + 5.", "a/b/c_1", "a - (b - c_1)", "((a))", "1e3*1E-3", "2**a", "-2**2", "+a",
        "a + b*c_1 - a/b",
    ],
)  # fmt: skip
def test_arithmetic_is_pythons_own(text: str) -> None:
    expected = eval(text, {"__builtins__": {}}, dict(VALUES))
    assert value(text) == pytest.approx(expected, rel=1e-15)
    assert value(text.replace("**", "^")) == value(text)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_functions_are_pythons_own(name: str) -> None:
    assert PYTHON.keys() == FUNCTIONS.keys()
    rng = random.Random(4)
    for _ in range(20):
        arguments = [rng.uniform(0.01, 5) for _ in range(FUNCTIONS[name][0])]
        text = f"{name.upper()}({', '.join(map(repr, arguments))})"
        assert value(text) == pytest.approx(PYTHON[name](*arguments), rel=1e-14)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a > b", 1), ("a < b", 0), ("a >= 3", 1), ("a <= 2", 0), ("a == 3", 1), ("a != 3", 0),
        ("!0", 1), ("!a", 0),
        ("1 && 0", 0), ("1 || 0", 1), ("1 || 0 && 0", 1), ("a > b && b > a", 0), ("1 + 1 == 2", 1),
        ("2 == 2 < 3", 1),  # of one rank, from the left, as in ngspice
        ("a > b ? 10 : 20", 10), ("a < b ? 10 : 20", 20), ("a < b ? 1 : b < 1 ? 2 : 3", 2),
        ("a > b ? (b > a ? 1 : 2) : 3", 2), ("a > b ? b + 1 : 0", 1.5), ("2*(a > b ? 1 : 0)", 2), ("2^!0", 2),
    ],
)  # fmt: skip
def test_logic(text: str, expected: float) -> None:
    assert value(text) == expected


def test_names_are_lower_case_and_listed() -> None:
    expression = parse("Top*(LEVEL - max(top, 2k))")
    assert expression.names == {"top", "level"}
    assert expression({"top": 3e3, "level": 4e3}.__getitem__) == 3e6


def test_an_array_gives_what_its_numbers_give_one_by_one() -> None:
    rng = np.random.default_rng(5)
    batch = {"a": rng.uniform(0, 2, 50), "b": rng.uniform(0, 2, 50), "c_1": 2.0}
    for text in ("a*b + c_1", "a > b ? a : b^2", "max(a, b) - exp(-a)", "!(a > 1) || b > 1", "c_1"):
        together = np.broadcast_to(parse(text)(batch.__getitem__), 50)
        for i in range(50):
            single = {name: float(np.broadcast_to(column, 50)[i]) for name, column in batch.items()}
            assert together[i] == parse(text)(single.__getitem__)


def test_suffixes_are_those_of_spice() -> None:
    # m is milli and meg is mega in any case: the one trap that every SPICE has
    assert (read_number("1M"), read_number("1Meg"), read_number("1MEG")) == (1e-3, 1e6, 1e6)
    assert (read_number("1e3k"), read_number("2.5e-3m"), read_number("1F")) == (1e6, 2.5e-6, 1e-15)


REFUSED = {
    "2^3^2": "put one of the powers in parentheses",  # ngspice (2^3)^2, most of mathematics 2^(3^2)
    "2**3^2": "put one of the powers in parentheses",
    "a*-b": "put the sign in parentheses",  # ngspice does not read it
    "a--b": "put the sign in parentheses",
    "2^-a": "put the sign in parentheses",
    "--a": "put the sign in parentheses",
    "a < -b": "put the sign in parentheses",
    "!-a": "put the sign in parentheses",
    "a ? -b : b": "put the sign in parentheses",
    "a ? b : -b": "put the sign in parentheses",
    "a ? b ? 1 : 2 : 3": "put the inner choice in parentheses",  # ngspice reads it in another way
    "5mil": "means different things",  # ngspice: milli in braces, a thousandth of an inch outside
    "2a": "means different things",  # atto since ngspice 40, nothing before
    "2amp": "means different things",
    "1e": "means different things",
    "1d3": "means different things",
    "4k7": "is not expected",
    "5\N{MICRO SIGN}": "after the SI suffix only letters may follow",
    "a % b": "means nothing",
    "a = b": "means nothing",
    "'a'": "means nothing",
    "a; b": "means nothing",
    "$a": "means nothing",
    "a.b": "means nothing",
    "a[0]": "means nothing",
    "__import__('os')": "means nothing",
    "int(a)": "no function 'int'; there are abs",
    "min(a)": "min takes 2 values, 1 given",
    "exp(a, b)": "exp takes 1 values, 2 given",
    "exp()": "expected a value",
    "": "an empty expression",
    "  ": "an empty expression",
    "a +": "found the end, expected 'a value'",
    "(a": "found the end, expected ')'",
    "a)": "')' is not expected there",
    "a b": "'b' is not expected there",
    "2(3)": "'(' is not expected there",
    "a ? b": "found the end, expected ':'",
    "* a": "expected a value",
    "a* *b": "expected a value",
    "1 <> 2": "expected a value",
}


@pytest.mark.parametrize(("text", "reason"), REFUSED.items())
def test_what_is_no_expression_is_refused(text: str, reason: str) -> None:
    with pytest.raises(ExpressionError, match=reason.replace("(", r"\(").replace(")", r"\)")):
        parse(text)


@pytest.mark.parametrize("text", ["(" * 5000 + "a" + ")" * 5000, "!" * 100_000 + "a"])
def test_endless_nesting_is_refused(text: str) -> None:
    with pytest.raises(ExpressionError, match="nested too deeply"):
        parse(text)


@pytest.mark.parametrize("text", ["k", "4.7.1", "0x10", "1_000", "4k7", "5\N{OHM SIGN}", "-5", ""])
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(ExpressionError, match="is not a number"):
        read_number(text)


def test_a_negative_base_has_no_power() -> None:
    # ngspice would take the magnitude of the base
    assert np.isnan(value("(-2)^3"))
    assert np.isnan(value("pow(-2, 3)"))
    assert value("(0 - 0)^2") == 0
