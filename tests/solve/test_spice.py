"""The reference engine against the embedded one, against closed forms in time, and against misuse."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path as FilePath

import numpy as np
import pytest
import spice_files

from gaugesim import circuit, netlist
from gaugesim.circuit import Circuit
from gaugesim.errors import EngineError, UnsolvableError
from gaugesim.netlist import read_text
from gaugesim.solve import nodal, spice
from gaugesim.solve.network import OPEN_OHMS, SHORT_OHMS, Network, Path, of_netlist
from gaugesim.solve.nodal import Solution
from gaugesim.solve.spice.decks import deck
from gaugesim.solve.spice.ngspice import using_engine

Make = Callable[..., Network]
BATTERY = Path("battery", "feed", "0", 0.0, 12.0)
LAMP = Path("lamp", "feed", "0", 6.0)
SHIPPED = [(name, state) for name in circuit.available() for state in circuit.find(name).sheet.states]
needs_ngspice = pytest.mark.ngspice


@pytest.fixture(scope="module")
def shipped() -> dict[str, Circuit]:
    return {name: circuit.find(name) for name in circuit.available()}


def assert_same(one: Solution, other: Solution, tolerance: float = 1e-9) -> None:
    volts = np.nanmax(np.abs(other.voltages), initial=1.0)
    amperes = np.abs(other.currents).max(initial=1e-3)
    assert one.voltages.shape == other.voltages.shape
    assert np.array_equal(np.isnan(one.voltages), np.isnan(other.voltages))
    assert np.nanmax(np.abs(one.voltages - other.voltages)) < tolerance * volts
    assert np.abs(one.currents - other.currents).max() < tolerance * amperes


# --- agreement on networks --------------------------------------------------------------------------------


@needs_ngspice
@pytest.mark.parametrize("seed", range(40))
def test_random_networks(random_network: Make, seed: int) -> None:
    network = random_network(seed, opens=seed % 4, shorts=seed % 3, driven=0 if seed % 4 else 2)
    finite = random_network(seed, opens=4, shorts=3).finite()
    assert {OPEN_OHMS, SHORT_OHMS} <= set(finite.ohms)
    for each in (network, finite):
        assert_same(spice.solve(each), nodal.solve(each))


@needs_ngspice
def test_between_two_opens_in_series_nothing_is_lost() -> None:
    # between them 0.01 ohm: as conductances 1e-9 is added to 100, and ten of its digits are gone
    paths = [
        BATTERY,
        Path("upper", "feed", "a", 1e9),
        Path("wire", "a", "b", 0.01),
        Path("lower", "b", "0", 1e9),
    ]
    network = Network.of(paths)
    exact = 12 * 1e9 / (2e9 + 0.01)
    for solution in (nodal.solve(network), spice.solve(network)):
        assert solution.voltage("b") == pytest.approx(exact, rel=1e-12)


@needs_ngspice
def test_names_that_spice_would_take_apart() -> None:
    names = ["all", "V(a)", "time", "a.b", "x y", "R1#branch", "gnd", "é", "A", "a", "1", "*", "n1"]
    paths = [Path(f"{name}:0", name, "0", 10.0 + i) for i, name in enumerate(names)]
    paths += [Path(f"feed:{name}", "feed", name, 5.0 + i) for i, name in enumerate(names)]
    network = Network.of([BATTERY, *paths])
    assert_same(spice.solve(network), nodal.solve(network), 1e-13)


@needs_ngspice
def test_the_text_is_a_netlist_of_its_own(random_network: Make) -> None:
    network = random_network(5, opens=2, shorts=1, driven=0)
    text, nodes, _ = deck(network, ".param title\nshell ls")
    assert text.splitlines()[0] == "* .param title shell ls"
    assert {line[0] for line in text.splitlines()[1:]} <= set("hvr.")
    with using_engine() as engine:
        engine.load(text)
        first = engine.operating_point(nodes)
    expected = nodal.solve(network).voltages[:-1]
    assert first[~np.isnan(expected)] == pytest.approx(expected[~np.isnan(expected)], rel=1e-9, abs=1e-9)


@needs_ngspice
def test_memory_stays_where_it_is() -> None:
    # Linux tells what is resident in pages
    statm = FilePath("/proc/self/statm")
    if not statm.exists():
        pytest.skip("this system does not tell how much memory is in use")
    network = Network.of([BATTERY, Path("wire", "feed", "a", 0.1), Path("lamp", "a", "0", 6.0)])

    def pages(runs: int) -> int:
        for _ in range(runs):
            spice.solve(network)
        return int(statm.read_text().split()[1])

    before = pages(500)
    after = pages(5_000)
    assert (after - before) * os.sysconf("SC_PAGE_SIZE") < 2_000_000


# --- the same refusals ------------------------------------------------------------------------------------

REFUSED: dict[str, tuple[list[Path], dict[str, float], type[Exception]]] = {
    "fighting sources": ([BATTERY, LAMP, Path("other", "feed", "0", 0.0, 6.0)], {}, UnsolvableError),
    "a ring of shorts": (
        [BATTERY, LAMP, Path("a", "feed", "x", 0.0), Path("b", "x", "feed", 0.0)],
        {},
        UnsolvableError,
    ),
    "a current into nothing": ([BATTERY, LAMP, Path("m", "0", "x", np.inf)], {"m": 1.0}, UnsolvableError),
    "a negative resistance": ([BATTERY, Path("lamp", "feed", "0", -6.0)], {}, ValueError),
    "no number": ([BATTERY, Path("lamp", "feed", "0", np.nan)], {}, ValueError),
}


@needs_ngspice
@pytest.mark.parametrize(("paths", "currents", "kind"), REFUSED.values(), ids=REFUSED)
def test_both_engines_refuse_with_the_same_words(
    paths: list[Path], currents: dict[str, float], kind: type[Exception]
) -> None:
    network = Network.of(paths, currents)
    with pytest.raises(kind) as embedded:
        nodal.solve(network)
    with pytest.raises(kind) as reference:
        spice.solve(network)
    assert str(reference.value) == str(embedded.value) != ""


@needs_ngspice
def test_nodes_that_are_cut_off_have_no_voltage_in_either() -> None:
    paths = [
        BATTERY,
        LAMP,
        Path("lead", "feed", "sender", np.inf),
        Path("ring", "x", "y", 1.0),
        Path("cell", "y", "x", 1.0, 1.5),
    ]
    network = Network.of(paths)
    assert np.isnan(spice.solve(network).voltage("sender"))
    assert_same(spice.solve(network), nodal.solve(network), 1e-13)


# --- files as they stand ----------------------------------------------------------------------------------


def test_there_are_circuits_to_compare() -> None:
    assert len(SHIPPED) >= 24


@needs_ngspice
@pytest.mark.parametrize(("name", "state"), SHIPPED)
def test_a_shipped_file_as_it_stands(shipped: dict[str, Circuit], name: str, state: str) -> None:
    made = shipped[name]
    parameters = made.parameters(state)
    network = made.network(made.values(parameters))
    embedded = nodal.solve(network)
    voltages, currents = spice_files.solve_file(made.netlist.path, parameters)
    assert list(voltages) == list(network.nodes)
    assert list(currents) == list(network.names)
    ours = Solution(network, np.array([*voltages.values(), 0.0]), np.array(list(currents.values())))
    assert_same(ours, embedded, 1e-9)
    assert_same(spice.solve(network), embedded, 1e-11)


@needs_ngspice
@pytest.mark.parametrize("name", circuit.available())
def test_a_shipped_file_runs_in_ngspice_untouched(shipped: dict[str, Circuit], name: str) -> None:
    # a user's way: `ngspice FILE`; the includes are found from the file's own folder
    made = shipped[name]
    with using_engine() as engine:
        engine.clear()
        engine.command(f"source {made.netlist.path}")
        voltages = engine.operating_point(made.netlist.nodes)
        engine.command("remcirc")
    expected = nodal.solve(made.network(made.values({}))).voltages[:-1]
    assert voltages == pytest.approx(expected, rel=1e-6, abs=1e-6)


def write(folder: FilePath, body: str) -> FilePath:
    path = folder / "own.cir"
    path.write_text(f"title\n{body}")
    return path


@needs_ngspice
def test_a_file_with_everything(tmp_path: FilePath) -> None:
    body = """.param volts=12 ohms={volts/4}
V1 in 0 {volts}
I1 0 out 0.5
R1 in mid {ohms}
L1 mid out 1m
C1 out 0 1u
Xload out 0 load params: ohms={2*ohms}
.subckt load p q params: ohms=1
.param half={ohms/2}
R1 p m {half}
L1 m n 1u
V1 n k 0.25
R2 k q {half}
C1 k alone 1n
.ends
R9 lonely friend 5
"""
    voltages, currents = spice_files.solve_file(write(tmp_path, body), {"volts": 24.0})
    parsed = netlist.read(tmp_path / "own.cir")
    network = of_netlist(parsed, parsed.values({"volts": 24.0}))
    embedded = nodal.solve(network)
    ours = Solution(network, np.array([*voltages.values(), 0.0]), np.array([*currents.values()]))
    assert_same(ours, embedded, 1e-12)
    assert np.isnan([voltages["lonely"], voltages["friend"], voltages["xload.alone"]]).all()
    assert currents["l.xload.l1"] == pytest.approx(currents["r.xload.r1"])
    assert (currents["i1"], currents["c1"], currents["c.xload.c1"]) == (0.5, 0, 0)


# --- PySpice ----------------------------------------------------------------------------------------------


@needs_ngspice
@pytest.mark.parametrize("name", circuit.available())
def test_a_shipped_circuit_in_pyspice(shipped: dict[str, Circuit], name: str) -> None:
    made = shipped[name]
    for state in made.sheet.states:
        parameters = made.parameters(state)
        solution = nodal.solve(made.network(made.values(parameters)))
        handed = spice.pyspice_circuit(made, parameters)
        analysis = handed.simulator().operating_point()
        for node in made.netlist.nodes:
            assert float(analysis[node][0]) == pytest.approx(solution.voltage(node), rel=1e-9, abs=1e-9)
        for part in made.netlist.elements:
            if part.kind == "v":
                current = float(analysis[part.name][0])
                assert current == pytest.approx(solution.current(part.name), rel=1e-8, abs=1e-9)
    # and the engine goes on as if nothing had been
    network = made.network(made.values({}))
    assert_same(spice.solve(network), nodal.solve(network))


@needs_ngspice
def test_a_handed_circuit_has_bare_numbers_and_the_same_names(tmp_path: FilePath) -> None:
    path = write(
        tmp_path, "V1 a 0 12\nI1 0 a 2u\nR1 a b 4.7k\nR2 b c 0\nL1 c d 0\nL2 d 0 1m\nC1 b 0 1n\nC2 b 0 0\n"
    )

    class Own:
        netlist = netlist.read(path)

    lines = str(spice.pyspice_circuit(Own())).splitlines()
    assert [line for line in lines if line and not line.startswith(".")] == [
        "V1 a 0 12.0",
        "I1 0 a 2e-06",
        "R1 a b 4700.0",
        "Vshort.r2 b c 0.0",
        "Vshort.l1 c d 0.0",
        "L2 d 0 0.001",
        "C1 b 0 1e-09",
    ]


@needs_ngspice
def test_a_handed_circuit_runs_in_time() -> None:
    class Charging:
        netlist = read_text("t\n.param ohms=1k\nV1 in 0 10\nR1 in out {ohms}\nC1 out 0 1u\nR2 out 0 1e9\n")

    simulator = spice.pyspice_circuit(Charging, {"ohms": 2e3}).simulator()
    simulator.initial_condition(out=0)
    run = simulator.transient(step_time=1e-5, end_time=8e-3, use_initial_condition=True)
    since = np.asarray(run.time, dtype=float)
    assert np.asarray(run["out"], dtype=float) == pytest.approx(10 * (1 - np.exp(-since / 2e-3)), abs=2e-2)


# --- the engine itself ------------------------------------------------------------------------------------


@needs_ngspice
def test_what_ngspice_said_is_in_the_error_and_it_goes_on() -> None:
    network = Network.of([BATTERY, LAMP])
    with using_engine() as engine:
        with pytest.raises(EngineError, match=r"ngspice: does not take the circuit; it said: ") as caught:
            engine.load("* title\nq1 a b c nothing\nr1 a 0 1\n.end\n")
        assert "could not find a valid modelname" in str(caught.value)
        assert "\n" not in str(caught.value)
        with pytest.raises(EngineError, match=r"gave up on 'alter hx .*'; it said: Error: no such device"):
            engine.command("alter hx gain = 2")
    assert_same(spice.solve(network), nodal.solve(network), 1e-13)


@needs_ngspice
def test_an_old_result_is_never_read() -> None:
    fighting = "* title\nv1 b 0 1\nv2 b 0 2\nr1 b 0 1\n.options gminsteps=0 srcsteps=0\n.end\n"
    with using_engine() as engine:
        engine.load("* title\nv1 b 0 7\nr1 b 0 1\n.end\n")
        assert engine.operating_point(["b"]).tolist() == [7]
        with pytest.raises(EngineError, match=r"has no result for b"):
            engine.results(["b"], 2)
        engine.load(fighting)
        with pytest.raises(EngineError, match=r"[Ss]ingular"):
            engine.operating_point(["b"])
        with pytest.raises(EngineError, match=r"has no result for b"):
            engine.vector("b")


def python(script: str, folder: FilePath, **environment: str) -> subprocess.CompletedProcess[str]:
    root = str(FilePath(circuit.__file__).parent.parent)
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", script],
        cwd=folder,
        env=os.environ | {"PYTHONPATH": root} | environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


SOLVE = """
from gaugesim.solve import spice
from gaugesim.solve.network import Network, Path
print(spice.solve(Network.of([Path("v", "a", "0", 2.0, 12.0), Path("r", "a", "0", 6.0)])).voltage("a"))
"""


@needs_ngspice
def test_it_is_quiet_and_a_strange_start_up_file_is_left_alone(tmp_path: FilePath) -> None:
    (tmp_path / ".spiceinit").write_text("shell touch mark\nset ngbehavior=hsa\n")
    done = python(SOLVE + "import os; print(os.getcwd())", tmp_path)
    assert done.stdout.split() == ["9.0", str(tmp_path)]
    assert done.stderr == ""
    assert not (tmp_path / "mark").exists()


@needs_ngspice
def test_a_pyspice_that_was_started_before_is_shared(tmp_path: FilePath) -> None:
    script = """
import logging
logging.disable(logging.CRITICAL)
from gaugesim.paths import ngspice_library
from PySpice.Spice.NgSpice.Shared import NgSpiceShared
NgSpiceShared.LIBRARY_PATH = ngspice_library()
before = NgSpiceShared.new_instance()
"""
    after = """
from PySpice.Spice.Netlist import Circuit
c = Circuit("t")
c.V(1, "a", "0", 3.0)
c.R(1, "a", "0", 1.0)
print(float(c.simulator().operating_point()["a"][0]))
"""
    done = python(script + SOLVE + after, tmp_path)
    assert done.stdout.split() == ["9.0", "3.0"], done.stderr


@needs_ngspice
def test_when_ngspice_ends_itself_the_error_says_so(tmp_path: FilePath) -> None:
    script = """
from gaugesim.errors import EngineError
from gaugesim.solve.spice.ngspice import using_engine
with using_engine() as engine:
    for attempt in (lambda: engine.command("quit 1"), lambda: engine.operating_point(["a"])):
        try:
            attempt()
        except EngineError as error:
            print(error.remedy)
"""
    done = python(script, tmp_path)
    assert done.stdout.splitlines() == ["start Python anew before asking it again"] * 2, done.stderr


def test_a_missing_library_is_said(tmp_path: FilePath) -> None:
    script = f"""
from gaugesim.errors import EngineError
try:
    exec({SOLVE!r})
except EngineError as error:
    print(error)
"""
    done = python(script, tmp_path, GAUGESIM_NGSPICE=str(tmp_path / "none.so"))
    assert done.stdout.startswith("GAUGESIM_NGSPICE: there is no ngspice library at"), done.stderr
    wrong = tmp_path / "wrong.so"
    wrong.write_text("no library")
    done = python(script, tmp_path, GAUGESIM_NGSPICE=str(wrong))
    assert "cannot be loaded" in done.stdout, done.stderr
