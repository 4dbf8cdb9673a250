"""Needle against severity: the curves are the engine's, and the symptom picks the right ones."""

from collections.abc import Callable

import numpy as np
import pytest
from matplotlib.axes import Axes

from gaugesim.circuit import Circuit, find
from gaugesim.draw import draw_curves, fault_curves, scene
from gaugesim.draw.labels import apart
from gaugesim.scenario.fault import all_faults

Legible = Callable[[Axes], None]


def test_every_fault_is_on_one_curve(any_circuit: Circuit) -> None:
    found = fault_curves(any_circuit, "running_warm")
    drawn = [fault.id for curve in found.curves for fault in curve.faults]
    assert sorted(drawn) == sorted(fault.id for fault in all_faults(any_circuit))


@pytest.mark.parametrize("name", ["temp_bridge", "cluster_air_core", "cluster_bimetal_5v"])
def test_a_point_of_a_curve_is_what_that_fault_shows(name: str) -> None:
    circuit = find(name)
    found = fault_curves(circuit, "running_warm")
    random = np.random.default_rng(4)
    for curve in random.choice(np.array(found.curves, dtype=object), 8, replace=False):
        fault = curve.faults[0]
        k = int(random.integers(len(curve.severity)))
        severity = f"@{float(curve.severity[k])!r}" if fault.mode.severity.quantity else ""
        position = (
            scene(circuit, "running_warm", faults=[fault.id + severity]).seen.needles[found.gauge].position
        )
        assert position == pytest.approx(curve.positions[k], abs=1e-9, nan_ok=True) or np.isnan(
            curve.positions[k]
        )


def test_curves_run_from_mild_to_severe(any_circuit: Circuit) -> None:
    for curve in fault_curves(any_circuit, "running_warm").curves:
        sound = scene(any_circuit, "running_warm").seen.needles[next(iter(any_circuit.sheet.gauges))].position
        away = np.abs(np.nan_to_num(curve.positions[[0, -1]] - sound, nan=1.0))
        assert away[0] <= away[1] + 1e-9


def test_the_symptom_picks_the_curves_that_pass_through_it(legible: Legible) -> None:
    # key on, cold, at half: of this movement stud B does it exactly
    found = fault_curves(find("temp_opposed_coil"), "key_on_cold")
    ax = draw_curves(found, (0.45, 0.55))
    legible(ax)
    heavy = {line.get_gid() for line in ax.lines if line.get_gid() and line.get_linewidth() > 1.2}
    through = {curve.faults[0].id for curve in found.curves if len(curve.within(0.45, 0.55))}
    assert heavy == through
    assert "stud_bias=open" in heavy
    assert "fuse=open" not in heavy
    labelled = [
        text
        for text in ax.texts
        if "nut on stud B (bias) is loose and makes no" in text.get_text().replace("\n", " ")
    ]
    assert len(labelled) == 1


def test_a_label_says_which_severities_fit() -> None:
    found = fault_curves(find("temp_two_coil"), "lights_off", "ground_sender_lead")
    ax = draw_curves(found, (0.5, 0.9))
    (curve,) = [each for each in found.curves if each.faults[0].id == "panel_connector_sender=high"]
    inside = curve.within(0.5, 0.9)
    (label,) = [text.get_text().replace("\n", " ") for text in ax.texts if "sender pin" in text.get_text()]
    assert f"({inside.min():.3g} Ω to {inside.max():.3g} Ω)" in label


def test_labels_never_cover_each_other(any_circuit: Circuit, legible: Legible) -> None:
    # half of all faults put some needle there
    legible(draw_curves(fault_curves(any_circuit, "running_warm"), (0.3, 0.7)))


def test_labelled_curves_differ_without_colour() -> None:
    ax = draw_curves(fault_curves(find("temp_opposed_coil"), "running_warm"))
    labelled = [line for line in ax.lines if line.get_gid() and line.get_linewidth() > 1.2]
    hollow = {line: line.get_markerfacecolor() == "white" for line in labelled}
    assert len({(line.get_marker(), hollow[line]) for line in labelled}) == len(labelled) > 7
    assert {line.get_color() for line in labelled} == {"black"}


@pytest.mark.parametrize("symptom", [None, (0.9, 1.1)])
def test_nor_do_those_of_other_symptoms(legible: Legible, symptom: tuple[float, float] | None) -> None:
    legible(draw_curves(fault_curves(find("cluster_bimetal_5v"), "running_warm"), symptom))


def test_labels_keep_their_order_and_their_room() -> None:
    random = np.random.default_rng(7)
    for _ in range(50):
        count = int(random.integers(1, 9))
        wanted, heights = random.uniform(-0.2, 1.2, count), random.uniform(0.01, 0.12, count)
        middles = apart(wanted, heights, 0.0, 1.0)
        order = np.argsort(wanted, kind="stable")
        room = (heights[order][1:] + heights[order][:-1]) / 2
        assert np.all(np.diff(middles[order]) >= room - 1e-9)
        assert np.all(middles - heights / 2 >= -1e-9)
        assert np.all(middles + heights / 2 <= 1 + 1e-9)


def test_labels_with_room_stay_where_they_belong() -> None:
    assert apart([0.2, 0.8], [0.1, 0.1], 0.0, 1.0).tolist() == pytest.approx([0.2, 0.8])
