"""Many networks through one deck: the embedded engine's currents, few commands, and nothing stale."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path as FilePath

import numpy as np
import pytest
from spice_steps import Steps, sweeps

from gaugesim.arrays import Floats
from gaugesim.errors import EngineError
from gaugesim.solve import nodal, spice
from gaugesim.solve.network import Network, Path
from gaugesim.solve.spice.ngspice import using_engine

Make = Callable[..., Network]
pytestmark = pytest.mark.ngspice

# a battery, a gauge and its sender, an ohmmeter, and a chafe that is not there
PATHS = [
    Path("battery", "feed", "0", 0.02, 12.0),
    Path("gauge", "feed", "stud", 60.0),
    Path("wire", "stud", "sender", 0.1),
    Path("sender", "sender", "0", 40.0),
    Path("meter", "stud", "0", 100.0, 0.3),
    Path("chafe", "stud", "0", np.inf),
]
NETWORK = Network.of(PATHS)


def rows(**columns: list[float]) -> Floats:
    length = len(next(iter(columns.values())))
    ohms = np.tile(NETWORK.ohms, (length, 1))
    for name, values in columns.items():
        ohms[:, NETWORK.branch(name)] = values
    return ohms


@pytest.fixture
def said(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """Commands that ngspice was given, and ``load``."""
    with using_engine() as engine, monkeypatch.context() as patch:
        commands: list[str] = []
        load, command = engine.load, engine.command
        patch.setattr(engine, "load", lambda text: (commands.append("load"), load(text)))
        patch.setattr(engine, "command", lambda *texts: (commands.extend(texts), command(*texts)))
        yield commands


def agree(steps: Steps, ohms: Floats, volts: Floats, tolerance: float = 1e-9) -> None:
    theirs = steps.currents(ohms, volts)
    mine = nodal.solve(steps.network, ohms, volts).currents[:, steps.outputs]
    assert theirs.shape == mine.shape
    assert np.abs(theirs - mine).max() < tolerance * np.abs(mine).max()


@pytest.mark.parametrize("seed", range(20))
def test_random_networks(random_network: Make, seed: int) -> None:
    network = random_network(seed, opens=0, shorts=0, driven=0)
    rng = np.random.default_rng(seed)
    plain = np.flatnonzero(network.volts == 0)
    ohms = np.tile(network.ohms, (24, 1))
    for row in range(1, 24):
        ohms[row] = ohms[row - 1]
        if row % 6 > 2:  # the last three of each six step one of them evenly
            ohms[row, plain[row // 6]] += 0.7
        else:
            ohms[row, rng.choice(plain, 2)] = rng.choice([1e-6, 0.3, 50.0, 1e5, 1e9], 2)
    volts = network.volts * np.where(np.arange(24) < 12, 1.0, 1.2)[:, None]
    agree(Steps(network, range(len(network.names))), ohms, volts, 1e-7)


def test_up_down_and_absent() -> None:
    ohms = np.concatenate(
        [
            rows(gauge=[60.0, 1e9, 1e-6, 60.0]),
            rows(chafe=[np.inf, 5.0, 10.0, 15.0, 20.0]),
            rows(sender=[240.0, 173.4, 106.8, 40.2, 1e-6], gauge=[1.0] * 5),
            rows(wire=[1e-3, 1e5 + 1e-3, 2e5 + 1e-3]),
            rows(battery=[0.02, 0.1, 0.0, 1e9], wire=[1e9] * 4),
        ]
    )
    # a shorted resistor tells its current by what stands across a millionth of an ohm
    agree(Steps(NETWORK, [4, 1, 3, 0]), ohms, np.tile(NETWORK.volts, (len(ohms), 1)), 1e-8)


def test_few_commands(said: list[str]) -> None:
    steps = Steps(NETWORK, [1])
    assert said == []
    steps.currents(rows(sender=[10.0, 20.0, 30.0, 40.0, 40.0, 170.0]), NETWORK.volts[None])
    assert [text.split()[0] for text in said if text[:4] in ("load", "op", "dc r", "alte")] == [
        "load",
        "dc",
        "alter",
        "dc",
    ]
    said.clear()
    # what is loaded stays loaded from one batch to the next
    steps.currents(rows(gauge=[61.0]), NETWORK.volts[None])
    assert [text.split(" = ")[0] for text in said if text.startswith(("load", "alter"))] == ["alter r1_gauge"]


def test_another_circuit_in_between_is_noticed() -> None:
    steps = Steps(NETWORK, [1])
    assert steps.currents(np.empty((0, 6)), np.empty((0, 6))).shape == (0, 1)
    first = steps.currents(NETWORK.ohms[None], NETWORK.volts[None])
    spice.solve(Network.of([Path("battery", "feed", "0", 1.0, 6.0)]))
    assert steps.currents(NETWORK.ohms[None], NETWORK.volts[None]).tolist() == first.tolist()


def test_after_a_failure_it_begins_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    steps = Steps(NETWORK, [1])
    first = steps.currents(NETWORK.ohms[None], NETWORK.volts[None])
    with using_engine() as engine, monkeypatch.context() as patch:
        command = engine.command

        def fails(*texts: str) -> None:
            command(*texts[:-1])
            raise EngineError("nothing came of it")

        patch.setattr(engine, "command", fails)
        with pytest.raises(EngineError):
            steps.currents(rows(gauge=[50.0, 60.0], sender=[10.0, 40.0]), NETWORK.volts[None])
    agree(steps, NETWORK.ohms[None], NETWORK.volts[None])
    assert steps.currents(NETWORK.ohms[None], NETWORK.volts[None]).tolist() == first.tolist()


def test_what_cannot_be_stepped() -> None:
    steps = Steps(NETWORK, [1])
    for value, problem in ((0.0, "has 0 ohm; short"), (-1.0, "has -1.0 ohm"), (np.nan, "has nan ohm")):
        with pytest.raises(ValueError, match=f"^sender {problem}"):
            steps.currents(rows(sender=[value]), NETWORK.volts[None])
    with pytest.raises(ValueError, match=r"^sender is cut off from ground; open .* 1e9"):
        steps.currents(rows(sender=[np.inf], wire=[np.inf]), NETWORK.volts[None])
    with pytest.raises(ValueError, match=r"^gauge has volts, and had none"):
        steps.currents(rows(sender=[40.0]), np.ones((1, 6)))
    with pytest.raises(ValueError, match="current source"):
        Steps(Network.of([*PATHS, Path("pump", "feed", "0", np.inf)], {"pump": 1.0}), [1])


def test_a_batch_is_cut_where_steps_are_even() -> None:
    ohms = np.array([[1, 5], [2, 5], [3, 5], [4, 5], [4, 7], [4, 8], [5, 9], [5, 9.0]])
    plain = np.zeros(2, dtype=bool)
    assert sweeps(ohms, np.zeros((8, 2)), plain) == [(0, 4, 0), (4, 6, 1), (6, 7, -1), (7, 8, -1)]
    # other volts, or a branch that is no resistor
    volts = np.zeros((8, 2))
    volts[2:] = 1
    assert sweeps(ohms, volts, plain)[:2] == [(0, 2, 0), (2, 4, 0)]
    assert sweeps(ohms, np.zeros((8, 2)), ~plain) == [(row, row + 1, -1) for row in range(8)]
    assert sweeps(ohms[:1], volts[:1], plain) == [(0, 1, -1)]
    # too small a step, and too far down; up it may go as far as it will
    small = np.array([[4, 1], [4 + 1e-12, 1], [4 + 2e-12, 1]])
    assert sweeps(small, np.zeros((3, 2)), plain) == [(0, 1, -1), (1, 2, -1), (2, 3, -1)]
    far = np.array([[1001, 1], [501, 1], [1, 1], [1000, 1], [1999, 1], [2998, 1]])
    assert sweeps(far, np.zeros((6, 2)), plain) == [(0, 2, 0), (2, 6, 0)]


def test_memory_stays_where_it_is() -> None:
    statm = FilePath("/proc/self/statm")
    if not statm.exists():
        pytest.skip("this system does not tell how much memory is in use")
    steps = Steps(NETWORK, [1])

    def pages(runs: int) -> int:
        values = 40 + np.arange(runs) % 3 + (np.arange(runs) % 2) * 0.1
        steps.currents(rows(sender=values.tolist()), NETWORK.volts[None])
        return int(statm.read_text().split()[1])

    before = pages(4000)
    after = pages(20_000)
    assert (after - before) * os.sysconf("SC_PAGE_SIZE") < 8_000_000
