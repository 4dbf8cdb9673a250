"""The schematic: what the solution says stands there, legibly, for every circuit."""

from collections.abc import Callable

import numpy as np
import pytest
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from gaugesim.circuit import Circuit, available, find
from gaugesim.draw import Scene, draw_schematic, scene, schematic
from gaugesim.draw.schematics import ADDED, DEAD, IDLE, LIVE, Schematic
from gaugesim.draw.style import amperes_text, volts_text
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import all_faults

Legible = Callable[[Axes], None]
Named = Callable[[Axes, str], Artist]


def any_scene(circuit: Circuit, seed: int) -> tuple[Scene, str | None]:
    random = np.random.default_rng(seed)
    faults = [str(random.choice([fault.id for fault in all_faults(circuit)])) for _ in range(seed % 3)]
    check = str(random.choice(["", *check_ids(circuit)]))
    state = str(random.choice(list(circuit.sheet.states)))
    gauge = [None, *circuit.sheet.gauges][int(random.integers(len(circuit.sheet.gauges) + 1))]
    return scene(circuit, state, check, faults), gauge


def test_nothing_covers_anything(any_circuit: Circuit, legible: Legible) -> None:
    legible(draw_schematic(schematic(scene(any_circuit))))


def test_nothing_covers_anything_whatever_is_done(any_circuit: Circuit, legible: Legible) -> None:
    # with no, one or two faults, each in several circuits
    legible(draw_schematic(schematic(*any_scene(any_circuit, available().index(any_circuit.id)))))


@pytest.mark.parametrize("size", [(4.0, 5.0), (16.0, 9.0), (8.27, 11.69)])
def test_letters_shrink_with_the_axes(legible: Legible, size: tuple[float, float]) -> None:
    ax = Figure(figsize=size).add_axes((0.1, 0.1, 0.8, 0.8))
    assert draw_schematic(schematic(scene(find("temp_opposed_coil"))), ax) is ax
    legible(ax)


def test_voltages_and_currents_are_those_of_the_solution(any_circuit: Circuit, named: Named) -> None:
    shown = scene(any_circuit, "key_on_cold")
    picture = schematic(shown)
    ax = draw_schematic(picture)
    for node, volts in shown.point.voltages.items():
        assert named(ax, f"volts-{node}").get_text() == volts_text(volts)
    for chain in picture.layout.chains:
        names = [picture.branches[k].name for k in chain.branches]
        signs = np.where(chain.downward, 1.0, -1.0)
        amperes = signs * [shown.point.currents[name] for name in names]
        assert np.ptp(amperes) < 1e-9  # what is written once holds for the whole chain
        assert named(ax, f"amperes-{names[0]}").get_text() == amperes_text(amperes[0])


def test_a_chain_has_one_current_even_with_other_gauges_left_out() -> None:
    circuit = find("cluster_air_core")
    for gauge in circuit.sheet.gauges:
        picture = schematic(scene(circuit, faults=["panel_ground=open"]), gauge)
        for chain in picture.layout.chains:
            signed = np.where(chain.downward, 1.0, -1.0) * picture.amperes[list(chain.branches)]
            assert np.ptp(signed) < 1e-9
        names = {branch.name for branch in picture.branches}
        assert {f"r{gauge}_stud_feed", "rfuse", "rpanel_lamps"} <= names
        assert not any(f"r{other}_stud_feed" in names for other in circuit.sheet.gauges if other != gauge)


def test_every_part_is_named(any_circuit: Circuit) -> None:
    picture = schematic(scene(any_circuit))
    ax = draw_schematic(picture)
    written = " ".join(text.get_text() for text in ax.texts).replace(",", "")
    for branch in picture.branches:
        assert branch.words
        assert all(word in written for word in branch.words.replace(",", "").split()), branch.words


def test_the_faulty_part_is_marked_without_colour() -> None:
    ax = draw_schematic(schematic(scene(find("temp_two_coil"), faults=["sender_connector=high@47"])))
    flags = [text for text in ax.texts if text.get_text().startswith("FAULT")]
    boxes = [patch for patch in ax.patches if isinstance(patch, Rectangle) and patch.get_linewidth() > 1.5]
    assert [flag.get_text() for flag in flags] == ["FAULT: 47 Ω"]
    assert len(boxes) == 1
    assert not [
        t for t in draw_schematic(schematic(scene(find("temp_two_coil")))).texts if "FAULT" in t.get_text()
    ]


def looks(shown: Scene) -> dict[str, str]:
    picture = schematic(shown)
    return {branch.name: picture.look(k) for k, branch in enumerate(picture.branches)}


def test_what_is_dead_is_shown_as_dead() -> None:
    off = looks(scene(find("temp_opposed_coil"), "key_off"))
    assert off["rfuse"] == off["rbattery"] == IDLE
    assert off["rfeed_wire"] == off["r.xtemperature.rbias"] == off["r.xsender.rthermistor"] == DEAD
    unplugged = looks(scene(find("temp_two_coil"), "key_on_cold", faults=["sender_connector=open"]))
    assert unplugged["r.xtemperature.rfixed"] == LIVE
    assert unplugged["rsender_wire"] == IDLE
    assert unplugged["rsender_ground"] == DEAD


def test_a_node_cut_off_from_everything_has_no_voltage(named: Named) -> None:
    picture = schematic(scene(find("temp_two_coil"), faults=["stud_sender=open", "sender_connector=open"]))
    ax = draw_schematic(picture)
    assert named(ax, "volts-sender_lead").get_text() == "no voltage"
    assert named(ax, "volts-sender_terminal").get_text() == named(ax, "volts-engine_block").get_text()


def test_what_a_check_adds_is_there_and_says_what_it_reads() -> None:
    shown = scene(find("temp_two_coil"), "key_on_cold", "sender_lead_volts")
    picture = schematic(shown)
    (meter,) = [k for k, branch in enumerate(picture.branches) if branch.added]
    assert picture.look(meter) == ADDED
    assert picture.branches[meter].words == "voltmeter"
    assert float(picture.branches[meter].value.removesuffix(" V")) == pytest.approx(
        shown.seen.reading.value, abs=0.05
    )


def test_the_gauge_alone_on_a_bench_is_drawn_alone() -> None:
    picture = schematic(scene(find("temp_bridge"), check="bench_gauge:68"))
    assert {branch.gauge for branch in picture.branches if not branch.added} == {"temperature"}


def test_a_bare_circuit_gives_nothing_away() -> None:
    ax = draw_schematic(schematic(scene(find("temp_two_coil"), faults=["fuse=open"])), values=False)
    shown = [text.get_text() for text in ax.texts if text.get_visible()]
    assert not [
        text for text in shown if text.startswith("FAULT") or text.endswith((" V", "A", "Ω", "voltage"))
    ]


@pytest.mark.parametrize(
    "check", ["", "lamp_on_sender_lead", "sender_lead_volts", "substitute:33", "ground_at:stud_sender"]
)
@pytest.mark.parametrize("fault", ["sender_connector=high", "sender_wire=to_ground"])
def test_no_current_vanishes_from_the_picture(check: str, fault: str) -> None:
    picture = schematic(scene(find("temp_opposed_coil"), check=check, faults=[fault]), fixed=True)
    left = np.zeros(len(picture.nodes))
    for (a, b), amperes in zip(picture.ends, picture.amperes, strict=True):
        left[a], left[b] = left[a] - amperes, left[b] + amperes
    for hung in picture.hung:
        left[hung.ends[0]] -= hung.amperes
        left[hung.ends[1]] += hung.amperes
    assert np.abs(left).max() < 1e-9
    assert len(picture.hung) == bool(check) + (fault == "sender_wire=to_ground")


def test_what_a_check_has_parted_is_no_fault() -> None:
    shown = scene(find("temp_opposed_coil"), check="lamp_on_sender_lead", faults=["sender_connector=high"])
    for picture in (schematic(shown), schematic(shown, fixed=True)):
        (parted,) = [branch for branch in picture.branches if branch.name == "rsender_connector"]
        assert (parted.fault, parted.value, parted.broken) == ("", "parted for this", True)
    texts = [text.get_text() for text in draw_schematic(schematic(shown)).texts]
    assert "FAULT: open" not in texts
    assert "connector on the sender is corroded" in " ".join(texts)


def test_a_check_or_a_fault_mirrors_nothing(any_circuit: Circuit) -> None:
    random = np.random.default_rng(len(any_circuit.id))
    usual = columns(schematic(scene(any_circuit)))
    checks = [name for name in check_ids(any_circuit) if find_check(any_circuit, name).setup.paths]
    faults = [
        fault.id for fault in all_faults(any_circuit) if fault.mode.id in ("to_ground", "leak", "to_feed")
    ]
    for check in ["", *random.choice(checks, 4)]:
        fault = [str(random.choice(faults))] if faults else []
        now = columns(schematic(scene(any_circuit, check=str(check), faults=fault)))
        both = [name for name in usual if name in now]
        for one in both:
            for other in both:
                assert usual[one] >= usual[other] or now[one] <= now[other], (check, fault, one, other)


def columns(picture: Schematic) -> dict[str, int]:
    layout = picture.layout
    chains = zip(layout.chains, layout.columns, strict=True)
    return {picture.branches[k].name: column for chain, column in chains for k in chain.branches}
