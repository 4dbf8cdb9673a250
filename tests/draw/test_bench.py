"""The bench: what is set is what is shown, at once, and what is hidden stays hidden until it is revealed."""

from collections import Counter
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.backend_bases import KeyEvent, MouseEvent
from matplotlib.figure import Figure
from matplotlib.image import imread
from matplotlib.text import Text

from gaugesim.circuit import find
from gaugesim.draw import Bench, draw_schematic, on_paper, open_bench, scene, schematic
from gaugesim.draw.bench_settings import (
    BenchOptions,
    fault_text,
    hidden_fault,
    on_sliders,
    severity_at,
    share_of,
)
from gaugesim.draw.lettering import Lettering
from gaugesim.draw.live import LiveSchematic
from gaugesim.draw.style import amperes_text, new_page, text_width, volts_text
from gaugesim.errors import GaugesimError
from gaugesim.scenario.caution import check_cautions
from gaugesim.scenario.fault import all_faults


def pixels(bench: Bench) -> np.ndarray:
    bench.figure.canvas.draw()
    return np.array(bench.figure.canvas.buffer_rgba()).astype(float)


def slider(bench: Bench, name: str) -> SimpleNamespace:
    """The slider of a name, as a person has it in hand."""
    (which,) = [i for i, control in enumerate(bench._panel.controls) if control.name.strip() == name]
    return bench._panel._sliders[which]


def needle_degrees(bench: Bench, gauge: str) -> float:
    (line,) = bench.figure.findobj(lambda each: each.get_gid() == f"needle-{gauge}")
    (x0, x1), (y0, y1) = line.get_data()
    return float(np.degrees(np.arctan2(y1 - y0, x1 - x0)))


def test_a_slider_moves_needle_voltages_and_meter_together() -> None:
    circuit = find("temp_two_coil")
    bench = Bench(circuit, "key_on_cold", "volts_at:stud_sender")
    slider(bench, "coolant").set_val(90.0)
    expected = scene(circuit, "key_on_cold", "volts_at:stud_sender", given={"coolant_celsius": 90.0})
    needle = expected.seen.needles["temperature"]
    assert bench.scene.seen.needles["temperature"] == needle
    assert needle_degrees(bench, "temperature") == pytest.approx(135 - 90 * needle.position)
    texts = bench._circuit.texts()
    assert texts["volts-stud_sender"] == volts_text(expected.point.voltages["stud_sender"])
    assert f"Voltmeter: {volts_text(expected.seen.reading.value)}" in bench._panel.texts()


def test_faults_and_their_severity_are_set_by_sliders() -> None:
    circuit = find("temp_two_coil")
    bench = Bench(circuit)
    fault = slider(bench, "fault")
    fault.set_val(bench.choices.faults.index("sender_connector=high"))
    severity = next(each for each in bench._panel._sliders if each is not fault and each.valmax == 1.0)
    for share in (0.2, 0.8):
        severity.set_val(share)
        expected = scene(circuit, faults=[fault_text(circuit, "sender_connector=high", share)])
        assert bench.scene.seen.needles == expected.seen.needles
    assert bench.setting.faults[0] == ("sender_connector=high", 0.8)
    (box,) = bench.figure.findobj(lambda each: each.get_gid() == "faults")
    assert len(box.get_path().vertices) == 5


def test_a_state_brings_its_own_values() -> None:
    bench = Bench(find("temp_two_coil"))
    slider(bench, "coolant").set_val(60.0)
    slider(bench, "state").set_val(bench.choices.states.index("key_on_cold"))
    assert bench.setting.values == {}
    assert slider(bench, "coolant").val == pytest.approx(20.0)
    assert slider(bench, "battery").val == pytest.approx(12.5)


def test_two_faults_stand_on_the_sliders_and_more_beside_them() -> None:
    given = ["sender_connector=high@20", "fuse=high", "sender=120", "stud_ground=open"]
    bench = Bench(find("temp_two_coil"), faults=given)
    assert [fault for fault, _ in bench.setting.faults] == ["sender_connector=high", "fuse=high"]
    assert bench.setting.others == ("sender=120", "stud_ground=open")
    expected = scene(find("temp_two_coil"), faults=given).seen.needles["temperature"].position
    assert bench.scene.seen.needles["temperature"].position == pytest.approx(expected)
    assert any("sender is 120 ohm" in text for text in bench._panel.texts())


def test_a_program_sets_what_a_person_does() -> None:
    bench = Bench(find("cluster_bimetal_5v"), gauge="temperature")
    bench.choose(
        "key_on_cold", "sender_lead_volts", {"coolant_celsius": 50.0}, ["temperature_stud_sender=open"]
    )
    assert bench.setting.check == "sender_lead_volts:temperature"
    assert slider(bench, "check").val == bench.choices.checks.index("sender_lead_volts:temperature")
    assert slider(bench, "coolant").val == 50.0
    assert slider(bench, "fault").val == bench.choices.faults.index("temperature_stud_sender=open")
    with pytest.raises(GaugesimError, match="no state is called 'asleep'"):
        bench.choose("asleep")
    assert bench.setting.state == "key_on_cold"


def test_arrow_keys_step_the_slider_last_moved() -> None:
    bench = Bench(find("temp_two_coil"))
    slider(bench, "check").set_val(3)
    for key, expected in (("right", 4), ("left", 3), ("left", 2), ("x", 2)):
        bench.figure.canvas.callbacks.process(
            "key_press_event", KeyEvent("key_press_event", bench.figure.canvas, key)
        )
        assert slider(bench, "check").val == expected


@pytest.mark.parametrize(("name", "hide"), [("cluster_bimetal_5v", None), ("temp_opposed_coil", 1)])
def test_every_caution_is_shown_in_full_with_its_check(name: str, hide: int | None) -> None:
    circuit = find(name)
    bench = Bench(circuit, "loads_on", hide=hide)
    kinds = {check.partition(":")[0]: check for check in bench.choices.checks}
    for check in kinds.values():
        bench.choose(check=check)
        said = " ".join(bench._panel.texts())
        state = circuit.sheet.states["loads_on"]
        for caution in check_cautions(circuit, bench.scene.situation.check, state.id):
            assert f"! {caution.words}" in said
        message = [entry for entry in bench._panel._message if entry.text]
        assert min(entry.baseline for entry in message) > bench._panel._foot


@pytest.fixture(scope="module")
def sound() -> Bench:
    return Bench(find("temp_opposed_coil"))


@pytest.mark.parametrize("seed", range(3))
def test_a_hidden_fault_shows_in_the_needle_alone(sound: Bench, seed: int) -> None:
    circuit = sound.circuit
    bench = Bench(circuit, hide=seed)
    needles = [each.scene.seen.needles["temperature"].position for each in (sound, bench)]
    assert None in needles or abs(needles[0] - needles[1]) > 0.05
    assert not bench.revealed
    assert set(bench._circuit.texts().values()) <= {""}
    part = bench.hidden.partition("=")[0]
    assert circuit.sheet.parts[part].words not in " ".join(bench._panel.texts())
    assert all(dial.truth is None for dial in bench._shown_dials())
    assert not [control.name for control in bench._panel.controls if "fault" in control.name]
    assert [branch.symbol for branch in bench._picture().branches] == [
        b.symbol for b in sound._picture().branches
    ]


def test_a_meter_tells_of_a_hidden_fault() -> None:
    circuit = find("temp_opposed_coil")
    bench = Bench(circuit, "key_on_cold", "sender_lead_volts", hide=3)
    expected = scene(circuit, "key_on_cold", "sender_lead_volts", [bench.hidden]).seen.reading
    assert bench.scene.seen.reading == expected


def test_lamp_and_leads_are_drawn_with_their_current() -> None:
    bench = Bench(find("temp_opposed_coil"))
    assert bench._circuit.hung_texts() == []
    bench.choose(check="lamp_on_sender_lead")
    amperes = bench.scene.point.currents["test_lamp"]
    assert bench._circuit.hung_texts() == ["test lamp", "out", amperes_text(amperes)]
    bench.choose(check="", faults=["sender_wire=to_ground"])
    assert any("touching" in text for text in bench._circuit.hung_texts())
    hidden = Bench(find("temp_opposed_coil"), check="sender_lead_volts", hide=3)
    assert hidden._circuit.hung_texts()[0] == "voltmeter"
    assert not [text for text in hidden._circuit.hung_texts() if "mA" in text]


def test_a_hidden_fault_is_revealed_with_all_that_it_does() -> None:
    circuit = find("temp_opposed_coil")
    bench = Bench(circuit, hide=2)
    (button,) = bench._panel._buttons
    needles = bench.scene.seen.needles
    button._observers.process("clicked", None)
    assert bench.revealed
    assert bench.setting.faults[0][0] == bench.hidden.partition("@")[0]
    assert bench.scene.seen.needles["temperature"].position == pytest.approx(needles["temperature"].position)
    assert bench._circuit.texts()["volts-battery_positive"].endswith(" V")
    assert bench._panel._buttons == []


def test_hidden_faults_come_as_often_as_they_happen() -> None:
    circuit = find("temp_two_coil")
    drawn = [hidden_fault(circuit, "temperature", seed) for seed in range(300)]
    assert drawn[:20] == [hidden_fault(circuit, "temperature", seed) for seed in range(20)]
    count = Counter(text.partition("@")[0] for text in drawn)
    always = [fault for fault in all_faults(circuit) if not fault.mode.severity.quantity and count[fault.id]]
    assert np.corrcoef([fault.weight for fault in always], [count[fault.id] for fault in always])[0, 1] > 0.6
    assert count["lamp_ground=open"] == 0  # it moves no needle


@pytest.mark.parametrize("gauge", ["fuel", "voltmeter"])
def test_every_offered_check_and_fault_can_be_set(gauge: str) -> None:
    circuit = find("boat_panel")
    bench = Bench(circuit, gauge=gauge)
    random = np.random.default_rng(1)
    for check in random.choice(bench.choices.checks, 8, replace=False):
        fault = str(random.choice(bench.choices.faults[1:]))
        bench.choose(check=str(check), faults=[fault])
        assert bench.scene.situation.check.id == str(check)


def test_severities_go_there_and_back() -> None:
    for fault in all_faults(find("cluster_bimetal_5v")):
        severity = fault.mode.severity
        if severity.quantity:
            for share in (0.0, 0.3, 1.0):
                assert share_of(severity, severity_at(severity, share)) == pytest.approx(share, abs=1e-9)


def test_only_what_the_gauge_needs_is_offered() -> None:
    choices = BenchOptions(find("cluster_air_core"), "fuel")
    assert not [name for name in choices.faults if name.startswith(("temperature_", "oil_pressure_"))]
    assert "foil_feed=open" in choices.faults
    assert choices.quantities[0].id == "fuel_level"
    assert on_sliders(find("cluster_air_core"), ["temperature_sender=open"], "fuel")[1] == (
        "temperature_sender=open",
    )


def test_a_frame_is_what_a_full_drawing_is() -> None:
    bench = Bench(find("temp_opposed_coil"), faults=["sender_connector=high"])
    slider(bench, "coolant").set_val(50.0)
    frame = pixels(bench)
    with bench._still.awake():
        full = pixels(bench)
    assert frame.shape == full.shape
    # lines that cross may lie over one another the other way round, letters may be smoothed otherwise
    assert np.mean(np.abs(frame - full).max(axis=2) > 40) < 1e-3
    slider(bench, "coolant").set_val(120.0)
    assert np.mean(np.abs(frame - pixels(bench)).max(axis=2) > 40) > 1e-3


def test_a_still_is_drawn_beside_the_bench_which_goes_on(tmp_path: Path) -> None:
    bench = Bench(find("temp_two_coil"))
    before = pixels(bench)
    bench.save(tmp_path / "bench.png", dpi=100)
    assert np.array_equal(pixels(bench), before)
    assert imread(tmp_path / "bench.png").shape[:2] == (1170, 1650)
    assert bench._repr_png_().startswith(b"\x89PNG")


@pytest.mark.parametrize("name", ["boat_panel", "temp_bridge"])
def test_a_still_has_no_sliders_and_letters_for_paper(
    name: str, monkeypatch, legible, tmp_path: Path
) -> None:
    figures = []
    still = on_paper.draw_on_paper

    def kept(*arguments: object) -> Figure:
        figures.append(still(*arguments))
        return figures[-1]

    monkeypatch.setattr("gaugesim.draw.bench.draw_on_paper", kept)
    given = {"battery_volts": 11.5}
    bench = Bench(find(name), faults=["panel_ground=open"], given=given, check="volts_at:panel_ground")
    bench.save(tmp_path / "still.svg")
    [figure] = figures
    legible(figure.axes[0])
    said = "\n".join(text.get_text() for text in figure.texts).replace("\n", " ")
    assert "11.5 V" in said
    assert bench.scene.fault_words in said
    assert all(line in said for line in bench._message())
    letters = [text.get_fontsize() for text in figure.findobj(Text) if text.get_text().strip()]
    # the smallest that print is set in: common practice, no source
    assert min(letters) > 5


def test_it_is_drawn_no_more_than_once_when_it_is_made(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = []
    monkeypatch.setattr(Figure, "draw", lambda *_: drawn.append(1))
    bench = Bench(find("temp_two_coil"))
    assert len(bench._panel._sliders) > 5
    assert len(drawn) <= 1


def test_another_size_is_drawn_anew() -> None:
    bench = Bench(find("temp_two_coil"))
    scale = bench._circuit.scale
    bench.figure.set_size_inches(11.0, 7.0)
    bench.figure.canvas.callbacks.process("resize_event", None)
    assert bench._circuit.scale < scale
    assert pixels(bench).shape[:2] == (700, 1100)


def test_after_it_was_drawn_anew_a_press_moves_one_slider() -> None:
    bench = Bench(find("temp_two_coil"))
    old = slider(bench, "coolant")  # held, so that it cannot just be collected
    bench.figure.set_size_inches(14.9, 8.94)  # so little smaller that the new one lies upon it
    bench.figure.canvas.callbacks.process("resize_event", None)
    canvas, new = bench.figure.canvas, slider(bench, "coolant")
    held = old.val
    x, y = new.ax.transAxes.transform((0.9, 0.5))
    for name in ("button_press_event", "button_release_event"):
        canvas.callbacks.process(name, MouseEvent(name, canvas, x, y, 1))
    assert new.val == pytest.approx(new.valmin + 0.9 * (new.valmax - new.valmin), rel=0.02)
    assert bench.setting.values["coolant_celsius"] == new.val
    assert old.val == held


def test_it_stands_in_a_window_of_pyplot() -> None:
    from matplotlib import pyplot

    bench = open_bench(find("temp_two_coil"))
    try:
        assert bench.figure.number in pyplot.get_fignums()
        bench.choose(values={"coolant_celsius": 50.0})
        bench.figure.canvas.draw()
    finally:
        pyplot.close(bench.figure)


# the schematics of all circuits are looked at in test_schematic; here the widest ones, and those with most
# parts in a gauge, beside the sliders, in a window as it opens and in a small one
@pytest.mark.parametrize(
    ("name", "gauge", "size"),
    [
        ("boat_panel", None, (12.0, 7.5)),
        ("temp_bridge", None, (12.0, 7.5)),
        ("boat_panel", "voltmeter", (15.0, 9.0)),
        ("cluster_air_core", "oil_pressure", (15.0, 9.0)),
        ("cluster_bimetal_5v", "fuel", (15.0, 9.0)),
        ("fuel_four_coil", None, (15.0, 9.0)),
    ],
)
def test_nothing_covers_anything(
    name: str, gauge: str | None, size: tuple[float, float], legible: Callable[[Axes], None]
) -> None:
    bench = Bench(find(name), gauge=gauge, figure=Figure(figsize=size))
    with bench._still.awake():
        legible(bench.figure.axes[0])
    edge = bench._panel._width
    for entry in bench._panel._lettering.entries:
        assert entry.x + text_width(entry.text, entry.size) <= edge


def test_live_numbers_are_those_of_the_plain_schematic() -> None:
    circuit = find("temp_bridge")
    shown = scene(circuit, "key_on_cold", "sender_lead_volts", ["stud_tap=high@30"])
    live = LiveSchematic(schematic(scene(circuit), "temperature", fixed=True), new_page(9.0, 9.0))
    live.renew(schematic(shown, "temperature", fixed=True))
    plain = {
        text.get_gid(): text.get_text() for text in draw_schematic(schematic(shown)).texts if text.get_gid()
    }
    texts = live.texts()
    same = [name for name in plain if name in texts]
    assert len(same) > 30
    assert {name: texts[name] for name in same} == {name: plain[name] for name in same}


def test_letters_drawn_as_outlines_stand_where_texts_do() -> None:
    ax = new_page(4.0, 1.0)
    ax.set(xlim=(0, 288), ylim=(0, 72))
    lettering = Lettering(ax)
    entry = lettering.add(20.0, 30.0, 10.0)
    entry.set_text("13.55 V, no µA")
    lettering.refresh()
    text = ax.text(20.0, 30.0, "13.55 V, no µA", fontsize=10, va="baseline")
    box, drawn = text.get_window_extent(), lettering.shapes[0].get_window_extent()
    assert drawn.width == pytest.approx(box.width, rel=0.06)
    assert drawn.x0 == pytest.approx(box.x0, abs=2.0)


def press(bench: Bench, key: str) -> None:
    bench.figure.canvas.callbacks.process(
        "key_press_event", KeyEvent("key_press_event", bench.figure.canvas, key)
    )


def test_a_fault_and_a_check_are_found_by_a_few_letters() -> None:
    bench = Bench(find("temp_opposed_coil"))
    for letter in "b nut":
        press(bench, letter)
    assert bench.setting.faults[0][0] == "stud_bias=open"
    assert "Typed for the fault: b nut" in bench._panel.texts()
    press(bench, "tab")
    for letter in "sender lead volts":
        press(bench, letter)
    assert bench.setting.check == "sender_lead_volts"
    assert slider(bench, "check").val == bench.choices.checks.index(bench.setting.check)
    press(bench, "backspace")
    assert "Typed for the check: sender lead volt" in bench._panel.texts()
    press(bench, "escape")
    assert not [text for text in bench._panel.texts() if text.startswith("Typed")]


def test_a_part_that_is_clicked_fails_in_each_of_its_ways() -> None:
    bench = Bench(find("temp_opposed_coil"))
    view, canvas = bench._circuit, bench.figure.canvas
    (k,) = [k for k, branch in enumerate(view.shown.branches) if branch.name == "rstud_bias"]
    chain, column, top = next(each for each in view._chains(view.shown) if k in each[0].branches)
    upper, lower = view.cells.row(top + chain.branches.index(k))
    x, y = view.ax.transData.transform((view.cells.x(column) + 20.0, (upper + lower) / 2))
    seen = []
    for _ in range(len(bench.choices.faults_of("rstud_bias")) + 1):
        canvas.callbacks.process("button_press_event", MouseEvent("button_press_event", canvas, x, y, 1))
        seen.append(bench.setting.faults[0][0])
    assert seen == [*bench.choices.faults_of("rstud_bias"), ""]


def test_the_whole_cluster_is_drawn_unless_one_gauge_is_named() -> None:
    circuit = find("cluster_air_core")
    whole, branch = Bench(circuit, faults=["panel_ground=open"]), Bench(circuit, gauge="fuel")
    names = [{each.name for each in bench._circuit.shown.branches} for bench in (whole, branch)]
    assert names[0] == set(circuit.wiring.names)
    assert names[1] < names[0]
    assert whole._circuit.scale < branch._circuit.scale
    said = " ".join(whole._panel.texts())
    for gauge in ("fuel", "oil pressure"):
        assert f"nut on the {gauge} gauge's stud G" in said
    shown = whole._circuit.shown
    for k in shown.back:
        name = shown.branches[k].name
        assert whole.scene.point.currents[name] * whole.scene.usual.currents[name] < 0
    lines = whole._circuit._lines["back"].get_segments()
    assert len(lines) >= 3 * len(shown.back) > 0
    assert not branch._circuit._lines["back"].get_segments()
