"""Inputs made to break the program: shipped files and sound words, spoilt at random with a fixed seed.

Each must end in an answer or in the program's own complaint of one line. `tests/test_hostile_inputs.py` tries
a few hundred, `tests/benchmarks/hostile.py` as many as one has time for.
"""

from __future__ import annotations

import contextlib
import io
import random
import shutil
import unicodedata
from collections.abc import Callable
from pathlib import Path

import numpy as np

from gaugesim import case as cases
from gaugesim import circuit as circuits
from gaugesim import netlist
from gaugesim.cli import main
from gaugesim.errors import GaugesimError
from gaugesim.evidence import history
from gaugesim.expression import FUNCTIONS, ExpressionError, parse
from gaugesim.fitting import read_points
from gaugesim.lessons import save
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import all_faults

NETLISTS = Path(__file__).parents[1] / "netlists"
# what has broken readers: the ends of numbers, of text, of lines, of nesting
TOKENS = (
    "0 -1 1e300 -1e300 1e-300 1e400 nan inf -inf 0x7fffffffffffffff 99999999999999999999999 1e 1e+ .. . - + "
    "/ ^ ** % ( ) (( )) [ ] { } {{ }} [[ ]] = == != <= ? : , ; # $ ! @ & | ~ ` ' \" ''' \"\"\" \\ \\u0000 "
    "true false 2026-01-01 12:00:00 .control .include .param .subckt .ends .end + * gnd 0 v(a) shell params: "
    "x x=1 {x} {0} {target.__class__} ${HOME} %s %n $\\frac{$ a=b a+b a.b.c part= =open open@2 @ "
    "\n \r \r\n \t \v \f \0 \x1b[2J \x7f \x85 \u2028 \u202e \ufeff \ud800 \u212a \u0130 \uff11 \u00e9"
).split(" ")
# Unicode's own classes of signs that turn the direction of writing round, or end that
TURNS = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")
OPERATORS = "+ - * / ^ ** < > <= >= == != && || ? : , ( ) !".split()


def spoilt(rng: random.Random, text: str) -> str:
    """A text with a few places changed."""
    for _ in range(rng.choice((1, 1, 1, 2, 3, 8))):
        at, to = sorted(rng.randrange(len(text) + 1) for _ in range(2))
        to = min(to, at + rng.choice((0, 1, 3, 10, 200)))
        lines = text.split("\n")
        k = rng.randrange(len(lines))
        match rng.randrange(8):
            case 0:
                text = text[:at] + rng.choice(TOKENS) + text[to:]
            case 1:
                text = text[:at] + text[to:]
            case 2:
                text = text[:at] + text[at:to] * rng.choice((2, 3, 60)) + text[to:]
            case 3:
                text = "\n".join([*lines[:k], *lines[k + 1 :]])
            case 4:
                text = "\n".join([*lines[:k], lines[rng.randrange(len(lines))], *lines[k:]])
            case 5:  # another value
                front, sign, _ = lines[k].partition("=")
                text = "\n".join([*lines[:k], f"{front}{sign} {rng.choice(TOKENS)}", *lines[k + 1 :]])
            case 6:
                words = lines[k].split(" ")
                words[rng.randrange(len(words))] = rng.choice(TOKENS)
                text = "\n".join([*lines[:k], " ".join(words), *lines[k + 1 :]])
            case _:
                text = text[:at] + chr(rng.choice((rng.randrange(128), rng.randrange(0xD7FF)))) + text[at:]
    return text


def written(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    return path


def an_expression(rng: random.Random, folder: Path) -> None:
    words = [*TOKENS, *FUNCTIONS, *OPERATORS, *OPERATORS, "a", "b", "2", "4.7k", "1meg"]
    text = rng.choice(("", " ")).join(rng.choice(words) for _ in range(rng.randrange(1, 9)))
    value = rng.choice((0.0, 1.0, -2.5, 1e300))
    with contextlib.suppress(ExpressionError), np.errstate(all="ignore"):
        parse(text)(lambda name: value if name == "a" else 3.0)


def a_netlist(rng: random.Random, folder: Path) -> None:
    """One without includes."""
    lines = netlist.read(rng.choice(sorted(NETLISTS.glob("*.cir")))).lines
    text = "\n".join([lines[0].text, *(line.written for line in lines[1:])])
    netlist.read(written(folder, "own.cir", spoilt(rng, text))).values()


def a_circuit(rng: random.Random, folder: Path) -> None:
    """Netlist and sheet, of which one file is spoilt, with all that they include."""
    if not (folder / "netlists").is_dir():
        shutil.copytree(NETLISTS, folder / "netlists")
    spoils = sorted((folder / "netlists").rglob("*.*ml")) + sorted((folder / "netlists").rglob("*.cir"))
    path = rng.choice([one for one in spoils if "cases" not in one.parts])
    before = path.read_bytes()
    try:
        written(path.parent, path.name, spoilt(rng, before.decode()))
        shown = path.stem if path.parent.name == "netlists" else rng.choice(circuits.available())
        run("--netlists", str(folder / "netlists"), "read", shown)
    finally:
        path.write_bytes(before)


def a_case(rng: random.Random, folder: Path) -> None:
    original = rng.choice(sorted((NETLISTS / "cases").glob("*.toml"))).read_text(encoding="utf-8")
    cases.read(written(folder, "case.toml", spoilt(rng, original)))


def some_points(rng: random.Random, folder: Path) -> None:
    original = (
        'gauge = "temperature"\nwords = "Coolant gauge of a village fire pump"\nstuds = 3\n'
        "needle = [\n  { ohms = 33, position = 0.88 },\n  { ohms = 68, position = 0.60 },\n]\n"
        'coil = [{ between = ["stud_feed", "stud_sender"], ohms = 70 }]\n[[sender]]\ncelsius = 20\n'
        "ohms = 690\n"
    )
    read_points(written(folder, "points.toml", spoilt(rng, original)))


def a_history(rng: random.Random, folder: Path) -> None:
    original = (
        '[[history]]\npart = "sender"\nmode = "open"\ncount = 3\n\n[[history]]\npart = "fuse"\ncount = 2\n'
    )
    history.read(written(folder, "history.toml", spoilt(rng, original)))


def a_save_file(rng: random.Random, folder: Path) -> None:
    action = save.LearnerAction("checked", "unplug_sender", "key_on_cold")
    original = save.save_text(save.Saved("temp_bridge", "temperature", 7, 2, 3, False, (action,)))
    save.read(written(folder, "save.json", spoilt(rng, original)))


def some_words(rng: random.Random, folder: Path) -> None:
    """Options of `gaugesim read`, near to sound ones."""
    name = rng.choice(circuits.available())
    circuit = circuits.find(name)
    faults = [fault.id for fault in all_faults(circuit)]
    sound = {
        "--state": list(circuit.sheet.states),
        "--check": [*check_ids(circuit), "substitute:33", "float_by_hand:0.5"],
        "--fault": [
            *faults,
            f"{rng.choice(faults)}@{rng.choice(('0', '0.5', '5', '1k', '1e9'))}",
            "sender=12",
        ],
        "--set": [
            f"{one}={rng.choice(('0', '1', '13.5', '-40', '1e9'))}" for one in circuit.netlist.parameters
        ],
        "--at": ["0.1", "30", "3600"],
    }
    words = ["read", name]
    for option in rng.sample(sorted(sound), rng.choice((1, 1, 2))):
        value = rng.choice(sound[option])
        words += [option, spoilt(rng, value) if rng.random() < 0.5 else value]
    run(*words)


def run(*words: str) -> None:
    """Run a command, and see that it ends as a command shall."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(list(words))
    told = err.getvalue()
    assert status in (0, 1, 2), (words, told)
    assert (status == 0) == bool(out.getvalue()), (words, status, told)
    assert not any(map(acts, out.getvalue() + told)), (words, told)


def acts(letter: str) -> bool:
    """Whether a terminal does anything else than show it."""
    if letter in "\n\t":
        return False
    turns = unicodedata.bidirectional(letter) in TURNS
    return turns or unicodedata.category(letter) in ("Cc", "Zl", "Zp", "Cs")


KINDS: dict[str, Callable[[random.Random, Path], None]] = {
    made.__name__: made
    for made in (
        an_expression,
        a_netlist,
        a_circuit,
        a_case,
        some_points,
        a_history,
        a_save_file,
        some_words,
    )
}


def attempt(kind: str, seed: int, folder: Path) -> None:
    """Try one input.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    seed : int
        The same makes the same input.
    folder : Path
        Where its file is written.

    Raises
    ------
    Exception
        Anything but a complaint of the program's own.
    """
    with contextlib.suppress(GaugesimError):
        KINDS[kind](random.Random(f"{kind} {seed}"), folder)
