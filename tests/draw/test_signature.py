"""The signature map: cells are the signature table's, and what differs stands out without colour."""

from collections.abc import Callable

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from gaugesim.circuit import Circuit, find
from gaugesim.draw import draw_signature_map, signature_map
from gaugesim.scenario.check import find_check
from gaugesim.sweeps import signatures

CHECKS = ("", "unplug_sender", "ground_sender_lead", "sender_lead_volts")


def test_cells_are_those_of_the_signature_table() -> None:
    circuit = find("temp_three_coil")
    found = signature_map(circuit, CHECKS[1:], "key_on_cold")
    expected = signatures(
        circuit, circuit.gauge(), "key_on_cold", [find_check(circuit, name) for name in CHECKS[1:]]
    )
    assert found.rows == expected


def test_groups_and_bits_count_what_a_check_tells_apart() -> None:
    found = signature_map(find("temp_two_coil"), CHECKS)
    for k, (count, bits) in enumerate(zip(found.groups, found.bits, strict=True)):
        assert count == len({row.cells[k] for row in found.rows})
        assert 0 <= bits <= np.log2(count) + 1e-12


def test_a_check_that_shows_the_same_under_all_faults_tells_nothing() -> None:
    # the sender alone on the meter says nothing of the fuse
    found = signature_map(find("temp_two_coil"), ["sender_ohms"])
    ohms = {
        row.cells[0] for row in found.rows if any(f.part.id not in ("sender", "process") for f in row.faults)
    }
    assert ohms == {found.rows[0].cells[0]}


def test_a_cell_stands_out_where_it_differs_from_the_sound_circuit(legible: Callable[[Axes], None]) -> None:
    found = signature_map(find("temp_opposed_coil"), CHECKS)
    ax = draw_signature_map(found)
    legible(ax)
    dark = sum(to_rgb(patch.get_facecolor()) < (0.9, 0.9, 0.9) for patch in ax.patches)
    differing = sum(
        cell != sound
        for row in found.rows
        for cell, sound in zip(row.cells, found.rows[0].cells, strict=True)
    )
    assert dark == differing > 0
    bold = [text for text in ax.texts if text.get_weight() == "bold"]
    assert len(bold) == differing + 2  # and the title, and the word "sound"


def test_every_circuit_is_legible(any_circuit: Circuit, legible: Callable[[Axes], None]) -> None:
    gauge = next(iter(any_circuit.sheet.gauges))
    legible(draw_signature_map(signature_map(any_circuit, ("", "unplug_sender"), gauge=gauge)))


def test_axes_are_taken_and_given_back() -> None:
    ax = Figure().add_subplot()
    assert draw_signature_map(signature_map(find("temp_two_coil"), [""]), ax) is ax


def test_an_unknown_check_is_named() -> None:
    with pytest.raises(LookupError, match="unplug_sender"):
        signature_map(find("temp_two_coil"), ["unplug_sendr"])
