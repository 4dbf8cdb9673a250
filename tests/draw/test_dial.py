"""The dial: the drawn needle points where the computed one does."""

from collections.abc import Callable

import numpy as np
import pytest
from matplotlib.artist import Artist
from matplotlib.axes import Axes

from gaugesim.circuit import Circuit, find
from gaugesim.draw import dials, draw_dials, scene
from gaugesim.draw.dial import DialView, dial_degrees

Legible = Callable[[Axes], None]
Named = Callable[[Axes, str], Artist]


def drawn_degrees(needle: Artist) -> float:
    (x0, x1), (y0, y1) = needle.get_data()
    return float(np.degrees(np.arctan2(y1 - y0, x1 - x0)))


def test_the_needle_points_where_it_was_computed_to(
    any_circuit: Circuit, named: Named, legible: Legible
) -> None:
    shown = scene(any_circuit, "running_warm")
    ax = draw_dials(dials(shown))
    legible(ax)
    for gauge, needle in shown.seen.needles.items():
        assert drawn_degrees(named(ax, f"needle-{gauge}")) == pytest.approx(135 - 90 * needle.position)


def test_the_band_reaches_from_5_to_95_percent(named: Named) -> None:
    shown = scene(find("temp_opposed_coil"))
    (dial,) = dials(shown)
    ax = draw_dials([dial])
    hub = np.array([1.3, named(ax, "needle-temperature").get_data()[1][0]])
    points = named(ax, "band-temperature").get_xy() - hub
    degrees = np.degrees(np.arctan2(points[:, 1], points[:, 0]))
    assert degrees.max() == pytest.approx(dial_degrees(dial.low))
    assert degrees.min() == pytest.approx(dial_degrees(dial.high))


def test_marks_and_stops_are_those_of_the_sheet(any_circuit: Circuit) -> None:
    ax = draw_dials(dials(scene(any_circuit)))
    written = [text.get_text() for text in ax.texts]
    for gauge in any_circuit.sheet.gauges.values():
        stops = ax.findobj(lambda each, name=f"stop-{gauge.id}": each.get_gid() == name)
        marks = ax.findobj(lambda each, name=f"mark-{gauge.id}": each.get_gid() == name)
        assert [drawn_degrees(peg) for peg in stops] == pytest.approx(
            [135 - 90 * stop for stop in gauge.stops]
        )
        ticks = [135 - 90 * mark.position for mark in gauge.marks]
        assert [drawn_degrees(tick) for tick in marks] == pytest.approx(ticks)
        assert {mark.label for mark in gauge.marks} - {""} <= set(written)


def test_a_needle_that_nothing_drives_is_not_drawn_at_any_place(named: Named) -> None:
    shown = scene(find("cluster_air_core"), "key_off")
    assert all(needle.position is None for needle in shown.seen.needles.values())
    ax = draw_dials(dials(shown))
    assert len(named(ax, "needle-fuel").get_data()[0]) == 0
    assert "not driven" in named(ax, "word-fuel").get_text()


def test_the_truth_is_on_the_scale_where_its_marks_say(named: Named) -> None:
    circuit = find("temp_opposed_coil")
    for mark in circuit.gauge().marks:
        (dial,) = dials(scene(circuit, given={"coolant_celsius": mark.at}))
        assert dial.truth == pytest.approx(mark.position)
    (dial,) = dials(scene(circuit, given={"coolant_celsius": 60}, faults=["process=real_high@30"]))
    assert dial.truth == pytest.approx(0.78)


def test_needles_are_moved_in_place(named: Named) -> None:
    circuit = find("temp_opposed_coil")
    view = DialView(dials(scene(circuit)))
    hot = dials(scene(circuit, given={"coolant_celsius": 120}))
    view.renew(hot)
    assert drawn_degrees(named(view.ax, "needle-temperature")) == pytest.approx(hot[0].degrees)
