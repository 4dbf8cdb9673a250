"""The ranking after each piece of evidence."""

from collections.abc import Callable

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from gaugesim.draw import course, draw_course

STEPS = (
    "at first",
    "needle at half, key on and cold",
    "it never moves",
    "no voltage at the unplugged sender lead",
)
FAULTS = tuple(f"part {k} of the circuit makes no contact now and then" for k in range(30))


def random_table(seed: int) -> np.ndarray:
    random = np.random.default_rng(seed)
    return random.dirichlet(np.full(len(FAULTS), 0.3), len(STEPS))


@pytest.mark.parametrize("seed", range(8))
def test_lines_are_the_probabilities(seed: int, legible: Callable[[Axes], None]) -> None:
    table = random_table(seed)
    found = course(STEPS, FAULTS, table)
    ax = draw_course(found)
    legible(ax)
    assert found.probability.sum(axis=1) == pytest.approx(1.0)
    for words, column in zip(found.faults, found.probability.T, strict=True):
        (line,) = [line for line in ax.lines if line.get_gid() == words]
        assert line.get_ydata() == pytest.approx(column)
        if words in FAULTS:
            assert column == pytest.approx(table[:, FAULTS.index(words)])


def test_the_likeliest_is_kept_and_comes_first() -> None:
    table = random_table(1)
    found = course(STEPS, FAULTS, table, most=3)
    assert found.faults[0] == FAULTS[int(np.argmax(table[-1]))]
    assert len(found.faults) == 4


def test_one_that_led_on_the_way_is_kept() -> None:
    table = np.full((3, 10), 0.02)
    table[1, 7] = 0.8
    table[2, :3] = 0.2
    assert "part 7" in " ".join(course(STEPS[:3], FAULTS[:10], table, most=4).faults)


def test_lines_differ_without_colour() -> None:
    ax = draw_course(course(STEPS, FAULTS, random_table(2)))
    looks = [
        (line.get_linestyle(), tuple(line._dash_pattern[1] or ()), line.get_marker())
        for line in ax.lines
        if line.get_gid()
    ]
    assert len(set(looks)) == len(looks)
    assert {line.get_color() for line in ax.lines} <= {"black", "0.45", "0.4", "0.9"}


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ([[0.5, 0.5]], "give one row a step"),
        ([[0.9, 0.9]] * 2, "each row sums to 1"),
        ([[-0.1, 0.2]] * 2, "from 0 to 1"),
    ],
)
def test_a_table_that_is_none_is_refused(table: list[list[float]], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        course(STEPS[:2], FAULTS[:2], table)


def test_axes_are_taken_and_given_back() -> None:
    ax = Figure(figsize=(9, 5)).add_subplot()
    assert draw_course(course(STEPS, FAULTS, random_table(3)), ax) is ax
