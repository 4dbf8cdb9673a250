"""The file of points: what it may say, and what is said of a mistake."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gaugesim.errors import CaseError
from gaugesim.fitting import parse_points, read_points

NEEDLE = [{"ohms": 10, "position": 1.0}, {"ohms": 70, "position": 0.0}]


def test_a_whole_file(tmp_path: Path) -> None:
    path = tmp_path / "points.toml"
    path.write_text(
        """
gauge = "temperature"
words = "Coolant gauge of the old boat"
studs = 3
coils = 2
sweep_degrees = 85
supply_volts = 12.8
needle = [{ ohms = 68, position = 0.62, volts = 5.1 }, { ohms = inf, position = "pegged_low" }]
coil = [{ between = ["stud_feed", "stud_sender"], ohms = 71 }, { part = "divider_feed", ohms = inf }]
sender = [{ celsius = 20, ohms = 700 }]
marks = [{ at = 40, label = "C" }, { at = 80 }, { at = 120, label = "H" }]
"""
    )
    points = read_points(path)
    assert (points.gauge, points.studs, points.coils, points.sweep_degrees) == ("temperature", 3, 2, 85.0)
    assert points.needle[0].supply_volts == 12.8
    assert (points.needle[1].ohms, points.needle[1].pegged) == (np.inf, -1)
    assert points.coil[1].part == "divider_feed"
    assert points.sender[0].at == 20.0
    assert dict(points.marks) == {40.0: "C", 80.0: "", 120.0: "H"}


def test_past_a_mark_a_position_says_at_least() -> None:
    rows = [{"ohms": 10, "position": 1.1}, {"ohms": 300, "position": -0.1}, {"ohms": 70, "position": 0.5}]
    assert [one.pegged for one in parse_points({"gauge": "fuel", "needle": rows}).needle] == [1, -1, 0]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({}, "gauge: is missing"),
        ({"gauge": "feul"}, "did you mean fuel"),
        ({"gauge": "fuel"}, "needle: is missing; give points"),
        ({"gauge": "fuel", "needle": [{"ohms": 10}]}, "needle[1].position: is missing"),
        ({"gauge": "fuel", "needle": [{"ohms": -1, "position": 0}]}, "needle[1].ohms: is -1"),
        (
            {"gauge": "fuel", "needle": [{"ohms": 1, "position": "peged_low"}]},
            "1 top mark), pegged_low or pegged_high",
        ),
        ({"gauge": "fuel", "needle": [{"ohms": 1, "position": 7}]}, "give a number from -0.5 to 1.5"),
        ({"gauge": "fuel", "needle": [{"ohms": 1, "position": [1]}]}, "give a number from -0.5 to 1.5"),
        ({"gauge": "fuel", "needle": NEEDLE, "studs": 2.5}, "studs: is 2.5; give a whole number"),
        ({"gauge": "fuel", "needle": NEEDLE, "stud": 3}, "did you mean studs"),
        ({"gauge": "fuel", "coil": [{"ohms": 10}]}, "coil[1].between: or part is needed"),
        ({"gauge": "fuel", "coil": [{"between": ["stud_feed", "stud_feed"], "ohms": 1}]}, "two different"),
        ({"gauge": "fuel", "coil": [{"between": ["stud_fed", "stud_tap"], "ohms": 1}]}, "mean stud_feed"),
        ({"gauge": "fuel", "sender": [{"celsius": 10, "ohms": 1}]}, "sender[1].level: is missing"),
        ({"gauge": "fuel", "sender": [{"level": 10, "ohms": 1}]}, "level: is 10; give a number from 0 to 1"),
        ({"gauge": "voltmeter", "sender": [{"ohms": 1}]}, "a voltmeter has no sender"),
        ({"gauge": "voltmeter", "needle": [{"position": 0.5}]}, "supply_volts: is missing"),
        ({"gauge": "fuel", "needle": NEEDLE, "marks": [{"at": 0}]}, "marks: has 1 entries; three or more"),
    ],
)
def test_a_mistake_is_named_by_its_key(data: dict[str, Any], words: str) -> None:
    with pytest.raises(CaseError) as caught:
        parse_points(data, "mine.toml")
    assert str(caught.value).startswith("mine.toml")
    assert words in str(caught.value)
