"""Circuit symbols: one unit long, from terminal to terminal."""

import numpy as np
import pytest

from gaugesim.draw.symbols import NAMES, symbol

ONE_TERMINAL = ("ground", "cross")


@pytest.mark.parametrize("name", [name for name in NAMES if name not in ONE_TERMINAL])
def test_a_symbol_reaches_from_terminal_to_terminal(name: str) -> None:
    points = np.concatenate(symbol(name).lines)
    for terminal in ([0.0, 0.0], [1.0, 0.0]):
        # a box or a circle touches its terminal with an edge, not with a corner
        assert np.abs(points - terminal).sum(axis=1).min() < 0.26
    assert points[:, 0].min() > -0.01
    assert points[:, 0].max() < 1.01


def test_a_closed_switch_is_not_an_open_one() -> None:
    rise = [
        max(np.ptp(line[:, 1]) for line in symbol(name).lines if len(line) == 2)
        for name in ("switch_open", "switch_closed")
    ]
    assert rise[0] > 0.3
    assert rise[1] == 0


def test_a_source_has_its_plus_at_the_first_terminal() -> None:
    # the longer plate of a battery is its plus; of the round source the plus has a stroke along the lead
    plates = sorted(symbol("battery").lines, key=lambda line: -np.ptp(line[:, 1]))
    assert plates[0][0, 0] < plates[-1][:, 0].max()
    assert min(plate[0, 0] for plate in plates[:4]) == plates[0][0, 0]
    (along,) = [line for line in symbol("source").lines if len(line) == 2 and np.ptp(line[:, 0]) > 0.1]
    assert along[:, 0].max() < 0.5


def test_only_meters_have_a_letter() -> None:
    assert {name: symbol(name).text for name in NAMES if symbol(name).text} == {
        "voltmeter": "V",
        "ohmmeter": "Ω",
    }
