"""Nothing that a stranger's netlist says reaches ngspice as a line of its own, by whatever way it goes in."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from gaugesim import netlist
from gaugesim.errors import GaugesimError, NetlistError
from gaugesim.netlist import Netlist
from gaugesim.solve import spice
from gaugesim.solve.network import of_netlist
from gaugesim.solve.spice.ngspice import using_engine

pytestmark = pytest.mark.ngspice

# everything at which some program ends a line, and the sign for nothing that ends a text in C
BREAKS = ("\n", "\r", "\r\n", "\v", "\f", "\0", "\x1c", "\x1d", "\x1e", "\x85", "\u2028", "\u2029")
SOUND = {
    "title": "a lamp",
    "comment": "the lamp",
    "after": "cold",
    "element": "r2",
    "node": "b",
    "subcircuit": "lamp",
    "instance": "xlamp",
    "terminal": "feed",
    "given": "ohms",
    "parameter": "volts",
    "value": "12",
    "expression": "volts",
    "file": "part.cir",
    "inside": "in the part",
}
STATEMENTS = ("*", ".title ", ".param ", ".subckt ", ".ends", ".options ", ".op", ".end", ".save ")


def written(folder: Path, words: dict[str, str]) -> Path:
    """A netlist that has a place for each of the words."""
    made = SOUND | words
    text = """{title}
* {comment}
.param {parameter}={value} ; {after}
.subckt {subcircuit} {terminal} return params: {given}=4
R1 {terminal} return {{{given}}}
.ends
.include {file}
V1 a 0 dc {{{expression}}}
{element} a {node} 1
{instance} {node} 0 {subcircuit} {given}=6
""".format(**made)
    (folder / "part.cir").write_text(f"* {made['inside']}\nR9 a 0 1k\n", newline="")
    path = folder / "own.cir"
    path.write_text(text, newline="")
    return path


class Watched:
    """The ngspice library, with what it is told written down."""

    def __init__(self, library: Any, ffi: Any) -> None:
        self.told: list[str] = []
        self._library = library
        self._ffi = ffi

    def __getattr__(self, name: str) -> Any:
        return getattr(self._library, name)

    def ngSpice_Circ(self, lines: Any) -> int:
        k = 0
        while lines[k] != self._ffi.NULL:
            self.told.append(self._ffi.string(lines[k]).decode())
            k += 1
        return int(self._library.ngSpice_Circ(lines))


@pytest.fixture
def watched(monkeypatch: pytest.MonkeyPatch) -> Iterator[Watched]:
    with using_engine() as running:
        watched = Watched(running._library, running._ffi)
        monkeypatch.setattr(running, "_library", watched)
        monkeypatch.setattr(running._shared, "_ngspice_shared", watched)
        yield watched


def hand_over(found: Netlist) -> None:
    """Every way in which a netlist comes to ngspice."""
    spice.pyspice_circuit(SimpleNamespace(netlist=found)).simulator().operating_point()
    spice.solve(of_netlist(found, found.values()))


def assert_statements(told: list[str]) -> None:
    assert told
    for line in told[1:]:
        assert line.isascii()
        assert line.isprintable()
        assert not line or line.lower().startswith((*STATEMENTS, "r", "v", "i", "l", "c", "h", "x"))
        assert "canary" not in line or line.startswith((".title", "*"))


@pytest.mark.parametrize("place", SOUND)
def test_a_line_of_its_own(tmp_path: Path, watched: Watched, place: str) -> None:
    mark = tmp_path / "canary"
    for stop in BREAKS:
        order = stop.join(["", ".control", f"shell touch {mark}", ".endc", ""])
        for word in (SOUND[place] + order + SOUND[place], order, SOUND[place] + order):
            path = written(tmp_path, {place: word})
            with pytest.raises(GaugesimError):
                hand_over(netlist.read(path))
    assert not watched.told
    assert not mark.exists()


def test_what_is_sound_is_handed_over(tmp_path: Path, watched: Watched) -> None:
    hand_over(netlist.read(written(tmp_path, {})))
    assert_statements(watched.told)


@pytest.mark.parametrize("stop", BREAKS)
def test_a_title_that_no_reader_has_seen(tmp_path: Path, watched: Watched, stop: str) -> None:
    mark = tmp_path / "canary"
    title = stop.join(["a lamp", ".control", f"shell touch {mark}", ".endc", ""])
    hand_over(replace(netlist.read(written(tmp_path, {})), title=title))
    assert_statements(watched.told)
    assert not mark.exists()


@pytest.mark.parametrize("stop", [mark for mark in BREAKS if mark not in ("\n", "\r\n")])
def test_the_reader_names_the_sign_that_it_refuses(tmp_path: Path, stop: str) -> None:
    path = written(tmp_path, {"comment": f"one{stop}two"})
    with pytest.raises(NetlistError, match=rf"own\.cir:2: holds a control character, U\+{ord(stop):04X}; "):
        netlist.read(path)


@pytest.mark.parametrize("value", ["5\N{KELVIN SIGN}", "5\N{KELVIN SIGN}ohm", "{5\N{KELVIN SIGN}}"])
def test_a_sign_that_only_looks_like_a_letter(tmp_path: Path, value: str) -> None:
    with pytest.raises(NetlistError, match="has letters beyond ASCII"):
        netlist.read(written(tmp_path, {"value": value}))
