"""Needles against time: where none moves far, its movement is drawn so that it can be seen."""

import numpy as np

from gaugesim.circuit import find
from gaugesim.draw import draw_transient
from gaugesim.transients import WarmUp, transient


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


def test_a_warm_up_is_drawn_over_its_coolant_in_minutes(legible) -> None:
    circuit = find("cluster_air_core")
    run = transient(
        circuit, "key_on_cold", "running_warm", 900.0, step_seconds=5.0, warm_up=WarmUp(opens_below=6.0)
    )
    ax = draw_transient(run, circuit)
    legible(ax)
    assert ax.get_xlabel() == "minutes after the start"
    [inset] = ax.child_axes
    coolant, opening = inset.lines
    minutes, celsius = coolant.get_data()
    assert minutes[-1] == 15.0
    assert np.all(np.diff(celsius) > -1e-9)
    # it begins to open below what it holds
    assert opening.get_ydata()[0] == run.coolant.opens_celsius == float(celsius[-1].round(3)) - 6.0
