"""Needles against time: where none moves far, its movement is drawn so that it can be seen."""

import numpy as np

from gaugesim.circuit import find
from gaugesim.draw import draw_transient
from gaugesim.transient import transient


def test_a_small_movement_is_magnified_and_named(legible) -> None:
    circuit = find("cluster_air_core")
    run = transient(circuit, "lights_off", "lights_on", 20.0)
    moved = {name: course - course[0] for name, course in run.positions.items()}
    assert 0 < max(float(np.abs(course).max()) for course in moved.values()) < 0.05
    ax = draw_transient(run, circuit)
    legible(ax)
    lines = {line.get_gid().removeprefix("needle-"): line.get_ydata() for line in ax.lines if line.get_gid()}
    for name, course in moved.items():
        assert np.allclose(lines[name], course)
    low, high = ax.get_ylim()
    assert max(np.ptp(course) for course in moved.values()) > 0.3 * (high - low)
    assert "magnified" in ax.get_ylabel()


def test_a_large_one_is_drawn_from_stop_to_stop(legible) -> None:
    circuit = find("cluster_bimetal_10v")
    ax = draw_transient(transient(circuit, "key_off", "running_warm", 30.0), circuit)
    legible(ax)
    assert ax.get_ylabel() == "needle"
