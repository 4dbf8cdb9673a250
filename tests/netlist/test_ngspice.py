"""What the reader accepts, ngspice reads in the same way; what it refuses, otherwise or not at all."""

import json
import os
import random
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import spice_files

import gaugesim
from gaugesim.expression import FUNCTIONS, RESERVED, SUFFIXES, ExpressionError, parse
from gaugesim.netlist import read

pytestmark = pytest.mark.ngspice

PARAMETERS = {"a": 3.0, "b": 0.5, "low": 0.01, "big": 4.2e4, "zero": 0.0, "minus": -2.5}
COMPARISONS = ("<", ">", "<=", ">=", "==", "!=")


def ours(texts: list[str]) -> list[float]:
    with np.errstate(all="ignore"):
        return [parse(text)(PARAMETERS.__getitem__) for text in texts]


def theirs(folder: Path, texts: list[str]) -> list[float]:
    """The value that ngspice gives each expression, as the voltage of a source."""
    lines = [f"V{i} n{i} 0 {{{text}}}\nR{i} n{i} 0 1k" for i, text in enumerate(texts)]
    given = " ".join(f"{name}={value!r}" for name, value in PARAMETERS.items())
    path = folder / "expressions.cir"
    path.write_text("\n".join(["expressions", f".param {given}", *lines, ""]))
    voltages, _ = spice_files.solve_file(path)
    return [voltages[f"n{i}"] for i in range(len(texts))]


def expression(rng: random.Random, depth: int) -> str:
    """A random expression of everything that the grammar has."""
    if depth == 0:
        number = (
            f"{rng.uniform(0.1, 9):.3g}{rng.choice(['', '', 'k', 'm', 'MEG', 'u', 'Kohm', 'e-2', 'E2k'])}"
        )
        return rng.choice([*PARAMETERS, number])

    def inner() -> str:
        return expression(rng, depth - 1)

    def signed() -> str:
        return rng.choice(["", "", "-", "+"]) + inner()

    gap = rng.choice(["", " "])
    kind = rng.randrange(9)
    if kind < 3:
        symbol = rng.choice("+-*/")
        return f"{inner()}{gap}{symbol}{gap}{inner()}"
    if kind == 3:
        name = rng.choice(list(FUNCTIONS))
        return f"{name}({', '.join(signed() for _ in range(FUNCTIONS[name][0]))})"
    if kind == 4:
        return f"({signed()})"
    if kind == 5:
        return f"({inner()}){rng.choice(['^', '**'])}{rng.choice(['2', '0.5', '-1', '(-2)', 'b'])}".replace(
            "-1", "(-1)"
        )
    if kind == 6:
        return f"{inner()} {rng.choice(COMPARISONS)} {inner()}"
    if kind == 7:
        return f"({inner()} {rng.choice(['&&', '||'])} !({inner()}))"
    return f"({signed()} ? {inner()} : {inner()})"


def random_expressions(seed: int, count: int) -> list[str]:
    """Random expressions that have a value of a size at which two programs can be compared."""
    rng = random.Random(seed)
    texts: list[str] = []
    while len(texts) < count:
        text = expression(rng, rng.randrange(1, 5))
        try:
            value = ours([text])[0]
        except ExpressionError:  # the pieces do not always fit: a ? b ? c : d : e
            continue
        parts = pieces(text)
        if np.isfinite(value) and (value == 0 or 1e-9 < abs(value) < 1e9) and parts:
            texts.append(text)
    return texts


def pieces(text: str) -> bool:
    """Whether no step of the evaluation leaves the numbers: ngspice evaluates both branches of a choice."""
    seen: list[float] = []

    def watched(name: str) -> float:
        return PARAMETERS[name]

    with np.errstate(all="raise", under="ignore"):
        try:
            seen.append(parse(text)(watched))
        except FloatingPointError:
            return False
    return bool(np.isfinite(seen).all())


@pytest.mark.parametrize("seed", range(8))
def test_random_expressions(tmp_path: Path, seed: int) -> None:
    texts = random_expressions(seed, 150)
    got = theirs(tmp_path, texts)
    wrong = [
        (text, mine, other)
        for text, mine, other in zip(texts, ours(texts), got, strict=True)
        if abs(mine - other) > 1e-9 * max(abs(mine), 1e-9)
    ]
    assert wrong == []


def test_every_suffix_in_any_case(tmp_path: Path) -> None:
    units = ("", "ohm", "V", "hz", "Farad", "henry")
    written = [
        f"2.5{form}{unit}"
        for suffix in [*SUFFIXES, ""]
        for form in {suffix, suffix.upper(), suffix.capitalize()}
        for unit in units
    ]
    assert theirs(tmp_path, written) == pytest.approx(ours(written), rel=1e-12)
    bare = "\n".join(f"V{i} n{i} 0 {text}\nR{i} n{i} 0 1k" for i, text in enumerate(written))
    path = tmp_path / "bare.cir"
    path.write_text(f"numbers without braces\n{bare}\n")
    voltages, _ = spice_files.solve_file(path)
    assert list(voltages.values()) == pytest.approx(ours(written), rel=1e-12)


UNREAD = """
import json, os, sys
from gaugesim.errors import EngineError
from gaugesim.solve.spice.ngspice import using_engine
for statements in json.load(sys.stdin):
    sys.stdout.flush()
    if child := os.fork():
        os.waitpid(child, 0)
        continue
    with using_engine() as engine:
        try:
            engine.load(f"* test\\n{statements}\\nRload n 0 1e9\\n.end\\n")
            print(engine.operating_point(["n"])[0])
        except EngineError:
            print("nan")
    sys.stdout.flush()
    os._exit(0)
"""


def unread(*statements: str) -> list[float]:
    """What ngspice makes of statements that the reader refuses: a voltage, NaN where it gives up.

    Some of them make it end itself, so each has a process of its own.
    """
    done = subprocess.run(
        [sys.executable, "-c", UNREAD],
        input=json.dumps(statements),
        env=os.environ | {"PYTHONPATH": str(Path(gaugesim.__file__).parent.parent)},
        capture_output=True,
        text=True,
        check=True,
        timeout=300,
    )
    values = [float(line) for line in done.stdout.split()]
    assert len(values) == len(statements), done.stderr
    return values


def test_what_is_refused_as_ngspice_reads_it_otherwise() -> None:
    texts = {
        "2^3^2": (512, 64),  # from the right in mathematics, from the left in ngspice
        "2**3**2": (512, 64),
        "(0-2)^3": (-8, 8),  # the magnitude of the base
        "1 ? 0 ? 5 : 6 : 7": (6, 5),
        "5mil": (127e-6, 5e-3),  # milli, where outside of braces it is a thousandth of an inch
    }
    there = unread(*(f"V1 n 0 {{{text}}}" for text in texts))
    for (text, (elsewhere, expected)), value in zip(texts.items(), there, strict=True):
        assert value == pytest.approx(expected)
        assert value != pytest.approx(elsewhere)
        try:
            assert np.isnan(ours([text])[0])
        except ExpressionError:
            continue


def test_what_is_refused_as_ngspice_cannot_read_it() -> None:
    texts = ["a*-b", "a--b", "2^-a", "a < -b", "!-a", "a ? -b : b"]
    given = ".param a=3 b=0.5\nV1 n 0"
    assert unread(f"{given} {{a*b}}", *(f"{given} {{{text}}}" for text in texts)) == pytest.approx(
        [1.5] + [np.nan] * len(texts), nan_ok=True
    )
    for text in texts:
        with pytest.raises(ExpressionError, match="put the sign in parentheses"):
            parse(text)


def test_a_reserved_name_goes_wrong_in_ngspice() -> None:
    names = sorted(RESERVED - {"ac"})
    top = unread(*(f".param {name}=3\nI1 0 n 1\nR1 n 0 {{{name}*2}}" for name in names))
    subcircuit = ".subckt s p params: {0}=1\nI1 0 p 1\nR1 p 0 {{{0}*2}}\n.ends\nX1 n s params: {0}=3"
    inside = unread(*(subcircuit.format(name) for name in names))
    right = [
        name for name, *values in zip(names, top, inside, strict=True) if values == pytest.approx([6, 6])
    ]
    assert right == []
    assert unread("V1 n 0 {ac}\n.param ac=3", "V1 n 0 {ad}\n.param ad=3") == pytest.approx(
        [np.nan, 3], nan_ok=True
    )


def test_other_names_go_right(tmp_path: Path) -> None:
    words = (
        "temp e pi c i k kelvin boltz yes no true and or not div mod if else r v x m l w tc1 scale dc sqrt2"
    )
    names = words.split()
    path = tmp_path / "names.cir"
    lines = [f".param {name}={i + 1}" for i, name in enumerate(names)]
    lines += [f"V{name} n{name} 0 {{{name}*2}}\nR{name} n{name} 0 1" for name in names]
    subcircuit = (
        ".subckt s{0} p params: {0}=1\nV1 p 0 {{{0}*2}}\n.ends\nX{0} m{0} s{0} params: {0}=5\nRm{0} m{0} 0 1"
    )
    lines += [subcircuit.format(name) for name in names]
    path.write_text("\n".join(["title", *lines, ""]))
    voltages, _ = spice_files.solve_file(path)
    for i, name in enumerate(names):
        assert (voltages[f"n{name}"], voltages[f"m{name}"]) == pytest.approx((2 * (i + 1), 10))


SCOPES = """title
.param g=6 r=7 late={early} early=2
V1 top 0 12
.subckt inner p params: k=1
R1 p q {g}
R2 q 0 {k*r}
.ends
.subckt outer p params: g=1 k={g/2} r=3
.param half={k/2}
Xin p inner params: k={half}
Xself p inner params: k=k
Xdefault p inner
R3 p 0 {r + late}
.ends
X1 top outer params: g=4
X2 top outer params: g={g*2} r={r}
X3 top outer
Xalone top inner params: k={late}
.end
"""


def test_parameters_are_looked_up_where_ngspice_does(tmp_path: Path) -> None:
    path = tmp_path / "scopes.cir"
    path.write_text(SCOPES)
    for given in ({}, {"g": 9.0, "early": 5.0}, {"late": 1.5, "r": 2.0}):
        values = read(path).values(given)
        voltages, currents = spice_files.solve_file(path, given)
        for part in read(path).elements:
            if part.kind == "r":
                across = voltages[part.node_a] - voltages.get(part.node_b, 0.0)
                assert across / currents[part.name] == pytest.approx(values[part.name], rel=1e-9)


WRITTEN = {
    "continued": "V1 n 0\n+ 12",
    "continued without a gap": "V1 n 0\n+12",
    "continued within braces": "V1 n 0 {4*\n+ 3}",
    "continued after a comment": "V1 n 0\n* between\n+ 12",
    "continued after a blank line": "V1 n 0\n\n+ 12",
    "indented": "   V1 n 0 12\n   * note",
    "semicolon": "V1 n 0 12 ; note {",
    "semicolon close": "V1 n 0 12;note",
    "dollar": "V1 n 0 12 $ note",
    "dollar close": "V1 n 0 12 $note",
    "slashes": "V1 n 0 12 // note",
    "upper case": "V1 N 0 DC 12",
    "tabs": "V1\tn\t0\t12",
    "quotes": ".param x=12\nV1 n 0 'x'",
    "spaces in braces": ".param x = 12\nV1 n 0 { x + 0 }",
    "two on a line": ".param x=6 y={2*x}\nV1 n 0 {y}",
    "bare expression in a parameter": ".param x=2*6\nV1 n 0 {x}",
    "bare choice in a parameter": ".param x=1>0?12:13\nV1 n 0 {x}",
    "used before it is set": "V1 n 0 {x}\n.param x={y}\n.param y=12",
    "ground by name": "V1 n gnd 12\nR2 n GND 1",
    "not quite ground": "V1 n 00 12\nR2 00 0 1\nV2 00 0 0",
    "ends with a name": "X1 n s\n.subckt s p\nV1 p 0 12\n.ends s",
    "values by key": "V1 n 0 12\nR2 n m R=1\nL1 m k L=1u\nC1 k 0 c = 1n",
}  # fmt: skip


@pytest.mark.parametrize("statements", WRITTEN.values(), ids=WRITTEN)
def test_ways_to_write_it(tmp_path: Path, statements: str) -> None:
    path = tmp_path / "main.cir"
    path.write_text(f"title\n{statements}\nRload n 0 1k\n.end\n")
    values = read(path).values()
    assert next(value for name, value in values.items() if name in ("v1", "v.x1.v1")) == 12
    assert spice_files.solve_file(path)[0]["n"] == pytest.approx(12)


def test_ways_to_write_it_without_the_reader_in_between() -> None:
    assert unread(*WRITTEN.values()) == pytest.approx([12] * len(WRITTEN))
