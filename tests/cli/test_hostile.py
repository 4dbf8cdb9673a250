"""Files and words made to break the command: one line each, soon, and never the last resort's."""

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

NETLISTS = Path(__file__).parents[2] / "netlists"
CASE = 'circuit = "temp_two_coil"\n'
MEASURED = CASE + '[[measured]]\ncheck = "volts_at:body"\n'
SEEN = CASE + '[[seen]]\nneedle = "half"\n'
# processor seconds in which each must be refused; without its guard each takes minutes
PATIENCE = 20


@pytest.fixture(autouse=True)
def no_endless_work() -> Iterator[None]:
    """Ends a test that would go on for minutes."""
    import signal

    def stop(*_: object) -> None:
        raise AssertionError("it takes longer than anybody waits")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, PATIENCE)
    yield
    signal.setitimer(signal.ITIMER_PROF, 0)
    signal.signal(signal.SIGPROF, before)


CASES = {
    "a whole number too large for a float": (MEASURED + "volts = " + 400 * "9", "volts: is 9999"),
    "one of more digits than are read": (SEEN + "stage = " + 5000 * "9", "a number without end"),
    "one that cannot be written": (
        MEASURED + "volts = 0x" + 9000 * "f",
        "volts: is a number of 10838 digits",
    ),
    "a huge stage": (SEEN + "stage = " + 400 * "9", "stage: is 9999"),
    "a stage of 1e300": (SEEN + "stage = 1e300", "stage: is 1e\\+300; give a number, 1 or more"),
    "a huge setting": (SEEN + "set = { coolant_celsius = 1e300 }", "set.coolant_celsius: is 1e\\+300"),
    "lists within lists": (CASE + "x = " + 500 * "[" + 500 * "]", "is nested too deeply"),
    "tables within tables": (CASE + "x = " + 500 * "{a=" + "1" + 500 * "}", "is nested too deeply"),
    "a key of half a million parts": (CASE + 480_000 * "a." + "b = 1", "a key of more than 30 parts"),
    "a heading of as many": (CASE + "[" + 480_000 * "a." + "b]", "a key of more than 30 parts"),
    "more entries than anybody makes": (
        SEEN + 200 * '[[seen]]\nneedle = "half"\n',
        "has 201 entries; 200 at most",
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_a_case(fail: Any, tmp_path: Path, name: str) -> None:
    text, problem = CASES[name]
    path = tmp_path / "case.toml"
    path.write_text(text)
    status, line = fail("diagnose", str(path))
    assert status == 2
    assert "case.toml: " in line
    assert re.search(problem, line), line


def nested(levels: int, each: int) -> str:
    """Subcircuits of nothing but others; the last is empty."""
    texts = [
        f".subckt s{k} a\n" + "".join(f"X{i} a s{k + 1}\n" for i in range(each)) + ".ends\n"
        for k in range(levels)
    ]
    return "".join(texts) + f".subckt s{levels} a\n.ends\nX1 battery_positive s0\n"


STATEMENTS = {
    "empty subcircuits in each other": (nested(8, 10), "more than 20000 elements and instances"),
    "the same, two in each": (nested(19, 2), "more than 20000 elements and instances"),
    "a long name": ("X1 battery_positive " + 900_000 * "a" + " b\n", "more than 20000 characters"),
    "a long expression": ("R1 a 0 {" + 400_000 * "1+" + "1}\n", "more than 20000 characters"),
    "many continuation lines": ("R1 a 0 {1\n" + 150_000 * "+ +1\n" + "+ }\n", "more than 20000 characters"),
    "many long names": (
        "".join(f".subckt s{k} {19_000 * 'a'} {'b' * 800}\n.ends\n" for k in range(45)),
        "nothing is connected to node 0",
    ),
    "many long expressions": (
        "".join(f".param p{k}={{{'1+' * 9_900}1}}\n" for k in range(10)),
        "nothing is connected to node 0",
    ),
    "many comments": (240_000 * "* a\n", "nothing is connected to node 0"),
}


@pytest.mark.parametrize("name", STATEMENTS)
def test_a_netlist(fail: Any, tmp_path: Path, name: str) -> None:
    text, problem = STATEMENTS[name]
    path = tmp_path / "own.cir"
    path.write_text("title\n" + text)
    status, line = fail("read", str(path))
    assert status == 2
    assert problem in line


WORDS = {
    "movement=stuck@1.2": "is out of range; give 0 to 1",
    "movement=stuck@2": "is out of range; give 0 to 1",
    "sender=drift_up@9": "is out of range; give 1.3 to 6",
    "sender=drift_up@1e300": "is out of range",
}


@pytest.mark.parametrize("fault", WORDS)
def test_a_severity(fail: Any, fault: str) -> None:
    status, line = fail("read", "temp_two_coil", "--fault", fault)
    assert status == 2
    assert WORDS[fault] in line


ASKED = [
    (
        ("read", "cluster_bimetal_5v", "--set", "regulator_volts=0"),
        2,
        "regulator_volts must be above zero",
    ),
    (("read", "temp_two_coil", "--set", "battery_volts=1e300"), 2, "too large; 1e+12 at most"),
    (("show", "temp_two_coil", "--hide", "-1", "--save", "a.png"), 2, "--hide -1 is no seed"),
    (("evaluate", "temp_two_coil", "--cases", "1000000000000"), 2, "1000000 of each at most"),
    (("evaluate", "temp_two_coil", "--plans", "-1"), 2, "1000000 of each at most"),
    (("diagnose", "/dev/zero"), 2, "cannot be read (it is no regular file)"),
]


@pytest.mark.parametrize(("words", "status", "problem"), ASKED, ids=[" ".join(words) for words, *_ in ASKED])
def test_an_option(fail: Any, words: tuple[str, ...], status: int, problem: str) -> None:
    told = fail(*words)
    assert told[0] == status
    assert problem in told[1]


def test_a_contact_that_would_never_rest(capsys: pytest.CaptureFixture[str]) -> None:
    from gaugesim.cli import main

    assert main(["read", "cluster_bimetal_5v", "--set", "charging_volts=1e11", "--at", "1"]) == 1
    assert "would open and close more than" in capsys.readouterr().err.splitlines()[-1]


Spoil = Callable[[str], str]


def first(pattern: str, text: str) -> Spoil:
    return lambda sheet: re.sub(pattern, lambda _: text, sheet, count=1)


SHEETS: dict[str, tuple[Spoil, str]] = {
    "more than a turn": (
        first(r"degrees_high *= *[-\d.]+", "degrees_high = 500"),
        "degrees_high: is 484 degrees",
    ),
    "an id of two": (
        first(r"\[parts\.(?=\w)", '[parts."a=b"]\nwords = "x"\n[parts.'),
        "has an entry called 'a=b'",
    ),
}


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet(fail: Any, netlists: Path, name: str) -> None:
    spoil, problem = SHEETS[name]
    path = netlists / "temp_two_coil.toml"
    path.write_text(spoil(path.read_text()))
    status, line = fail("read", str(netlists / "temp_two_coil.cir"))
    assert status == 2
    assert problem in line


def test_braces_in_words_stand_for_themselves(tmp_path: Path) -> None:
    from gaugesim.circuit import find
    from gaugesim.scenario.check import find_check

    folder = tmp_path / "netlists"
    shutil.copytree(NETLISTS, folder)
    path = folder / "kinds" / "checks.toml"
    path.write_text(re.sub(r'words = "', 'words = "{target.__class__} {0} {x} {gauge} } ', path.read_text()))
    check = find_check(find(str(folder / "temp_two_coil.cir")), "unplug_sender")
    assert check.words.startswith("{target.__class__} {0} {x} temperature ")


def test_dollars_in_words_are_no_formula(tell: Any, tmp_path: Path) -> None:
    folder = tmp_path / "netlists"
    shutil.copytree(NETLISTS, folder)
    for path in (folder / "temp_two_coil.toml", folder / "kinds" / "parts.toml"):
        path.write_text(path.read_text().replace('words = "', 'words = "$\\\\bad{ x$ '))
    tell("--netlists", str(folder), "show", "temp_two_coil", "--save", str(tmp_path / "a.svg"))


def test_a_worker_that_is_ended(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    import os

    from gaugesim.cli import evaluate, main

    def ends(*given: Any, progress: Any) -> None:
        given[-1].submit(os._exit, 9).result()

    monkeypatch.setattr(evaluate, "evaluate", ends)
    assert main(["evaluate", "temp_two_coil", "--workers", "2"]) == 1
    assert "--workers: a process that did the work was ended" in capsys.readouterr().err


def test_nor_on_a_page() -> None:
    from matplotlib.figure import Figure

    from gaugesim.report.elements import image

    def draw() -> Any:
        axes = Figure().add_subplot()
        axes.set_title("$\\bad{ x$")
        return axes

    assert "<img" in image(draw, "a picture")
