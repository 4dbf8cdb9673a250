"""Curves of senders, movements and transients: drawn data are the computed ones."""

from collections.abc import Callable

import numpy as np
import pytest
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from gaugesim.circuit import Circuit, find
from gaugesim.draw import (
    TreeNode,
    dials,
    draw_curves,
    draw_dials,
    draw_movement_curve,
    draw_plan,
    draw_sender_curve,
    draw_transient,
    fault_curves,
    plan_page,
    scale_curves,
    scene,
)
from gaugesim.errors import UnsolvableError
from gaugesim.transients import Disturbance, transient

Legible = Callable[[Axes], None]
Named = Callable[[Axes, str], Artist]


def test_the_needle_follows_the_marks(any_circuit: Circuit, legible: Legible, named: Named) -> None:
    for gauge in any_circuit.sheet.gauges:
        found = scale_curves(any_circuit, gauge, "key_on_cold")  # a voltmeter shows what charges, else
        for mark in found.marks:
            # what the circuits' own tests ask of them
            assert np.interp(mark.at, found.values, found.positions) == pytest.approx(
                mark.position, abs=0.025
            )
        ax = draw_movement_curve(found)
        if gauge == any_circuit.gauge().id:  # the others have the same texts with other numbers
            legible(ax)
        assert named(ax, "needle").get_ydata() == pytest.approx(found.positions, nan_ok=True)


def test_bands_are_5_and_95_percent() -> None:
    circuit = find("temp_opposed_coil")
    found = scale_curves(circuit, state="running_warm")
    needle = scene(circuit, "running_warm", given={"coolant_celsius": 90.0}).seen.needles["temperature"]
    k = int(np.flatnonzero(found.values == 90.0)[0])
    assert (found.low[k], found.high[k]) == pytest.approx((needle.low, needle.high))
    # a tolerance is what 95 of 100 keep to, so 5 and 95 % lie at 1.645/1.960 of it
    assert found.ohms_high[k] / found.ohms[k] == pytest.approx(1.1 ** (1.6448536 / 1.9599640))


def test_the_sender_is_that_of_the_circuit(any_circuit: Circuit, legible: Legible, named: Named) -> None:
    for gauge in any_circuit.sheet.gauges.values():
        found = scale_curves(any_circuit, gauge.id)
        if found.ohms is None:
            with pytest.raises(UnsolvableError, match="no sender"):
                draw_sender_curve(found)
            continue
        part = any_circuit.part("sender", gauge.id)
        values = any_circuit.values({**any_circuit.parameters(), gauge.reads: float(found.values[7])})
        assert found.ohms[7] == pytest.approx(float(values[part.element]))
        ax = draw_sender_curve(found)
        if gauge == any_circuit.gauge():
            legible(ax)
        assert named(ax, "sender").get_ydata() == pytest.approx(found.ohms)


@pytest.mark.parametrize(
    "name", ["cluster_bimetal_5v", "cluster_bimetal_10v", "cluster_air_core", "boat_panel"]
)
def test_a_transient_is_drawn_as_computed(name: str, legible: Legible, named: Named) -> None:
    circuit = find(name)
    run = transient(circuit, "key_off", "running_warm", 40.0)
    ax = draw_transient(run, circuit)
    legible(ax)
    for gauge in circuit.sheet.gauges:
        assert np.array_equal(named(ax, f"needle-{gauge}").get_ydata(), run.positions[gauge], equal_nan=True)
    if circuit.sheet.regulator:
        assert np.array_equal(named(ax, "regulator").get_ydata(), run.regulator_volts)


def test_an_open_contact_is_hatched(legible: Legible) -> None:
    circuit = find("cluster_bimetal_10v")
    run = transient(
        circuit,
        "key_off",
        "running_warm",
        60.0,
        "fuel_sender_connector=intermittent",
        disturbance=Disturbance(seed=4),
    )
    ax = draw_transient(run, circuit)
    legible(ax)
    assert [band.get_hatch() for band in ax.collections] == ["...."]


def test_axes_are_taken_and_given_back() -> None:
    found, circuit = scale_curves(find("fuel_four_coil")), find("cluster_bimetal_5v")
    run = transient(circuit, "key_off", "running_warm", 5.0)
    for draw in (
        lambda ax: draw_sender_curve(found, ax),
        lambda ax: draw_movement_curve(found, ax),
        lambda ax: draw_transient(run, circuit, ax),
        lambda ax: draw_curves(fault_curves(find("temp_two_coil")), ax=ax),
        lambda ax: draw_dials(dials(scene(circuit)), ax),
        lambda ax: draw_plan(plan_page(TreeNode("look at the fuse", 1.0, 0.0)), ax),
    ):
        ax = Figure(figsize=(10, 7)).add_subplot()
        assert draw(ax) is ax
