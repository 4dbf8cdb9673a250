"""Pictures for a wall: legible from the back row, sound beside faulty, arrows as they were worked out."""

from collections.abc import Callable

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.text import Text

from gaugesim.circuit import Circuit, find
from gaugesim.draw import scene
from gaugesim.draw.wall import LETTERS, draw_wall
from gaugesim.draw.why_picture import SIZE, draw_why, tips
from gaugesim.reading import why
from gaugesim.scenario.fault import all_faults

Legible = Callable[[Axes], None]


def a_fault(circuit: Circuit) -> str:
    random = np.random.default_rng(len(circuit.id))
    return str(random.choice([fault.id for fault in all_faults(circuit)]))


def sizes(ax: Axes) -> list[float]:
    return [text.get_fontsize() for text in ax.figure.findobj(Text) if text.get_text().strip()]


def test_dials_are_large_and_side_by_side(any_circuit: Circuit, legible: Legible) -> None:
    ax = draw_wall(scene(any_circuit, faults=[a_fault(any_circuit)]), scene(any_circuit))
    legible(ax)
    assert min(sizes(ax)) >= LETTERS == 16
    assert tuple(ax.figure.get_size_inches() * 144) == pytest.approx((1920, 1080), abs=0.1)
    needles = ax.figure.findobj(lambda each: str(each.get_gid()).startswith("needle-"))
    assert len(needles) == 2 * len(any_circuit.sheet.gauges)


def test_arrows_are_legible(any_circuit: Circuit, legible: Legible) -> None:
    shown = scene(any_circuit, faults=[a_fault(any_circuit)])
    told = why(shown.situation, shown.scenarios)
    for gauge in told.gauges:
        ax = draw_why(told, gauge, shown.fault_words)
        legible(ax)
        assert min(sizes(ax)) >= 16


def test_the_drawn_arrows_lead_to_the_drawn_sum() -> None:
    told = why(scene(find("temp_opposed_coil")).situation)
    own = told.gauges["temperature"]
    assert tips(own)[-1] == pytest.approx(own.total)
    ax = draw_why(told, "temperature")
    (total,) = ax.findobj(lambda each: each.get_gid() == "sum")
    (start, end) = (np.array(each) for each in total._posA_posB)
    assert np.degrees(np.arctan2(*(end - start)[::-1])) == pytest.approx(own.degrees)
    way = np.zeros(2)
    for k in range(3):
        (arrow,) = ax.findobj(lambda each, k=k: each.get_gid() == f"arrow-{k}")
        a, b = (np.array(each) for each in arrow._posA_posB)
        way += b - a
    assert way == pytest.approx(end - start)
    (needle,) = ax.findobj(lambda each: each.get_gid() == "needle")
    (x0, x1), (y0, y1) = needle.get_data()
    assert np.degrees(np.arctan2(y1 - y0, x1 - x0)) == pytest.approx(own.degrees)
    assert SIZE[0] / SIZE[1] == pytest.approx(16 / 9, rel=1e-3)
