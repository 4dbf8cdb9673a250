"""The page of a bench in a real browser: every needle and meter where ``gaugesim read`` has them."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gaugesim import circuit as circuits
from gaugesim.circuit import Circuit, find
from gaugesim.expression import FUNCTIONS, parse
from gaugesim.front.snapshots import see
from gaugesim.report import bench_page
from gaugesim.report.javascript import Functions, SymbolicValue, script
from gaugesim.scenario.fault import Fault, all_faults, quantiles

pytestmark = pytest.mark.browser

SETTINGS = 12  # of each circuit
PHONE = {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}


# two heaters behind a regulator that does not pulse
STEADY = "steady"


def named(name: str) -> Circuit:
    if name != STEADY:
        return find(name)
    said = {
        "fuel": {"movement": "bimetal"},
        "temperature": {},
        "regulator": 10,
        "regulator_kind": "electronic",
    }
    return circuits.of_words(said)[0]


@pytest.fixture(scope="module")
def page(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Opens the page of a circuit; each is made once."""
    folder = tmp_path_factory.mktemp("bench")

    def opened(name: str) -> Any:
        file = Path(folder / f"{name}.html")
        if not file.exists():
            file.write_text(bench_page(named(name)))
        browser.get("about:blank")
        browser.get(file.as_uri())
        return browser

    return opened


def settings(
    circuit: Circuit, random: np.random.Generator
) -> Iterator[tuple[str, dict[str, float], list[Any]]]:
    """States, process values and faults, one or two of these at once."""
    faults = all_faults(circuit)
    process = [each for each in circuit.sheet.quantities.values() if each.process]
    states = list(circuit.sheet.states)
    for k in range(SETTINGS):
        chosen: list[Fault] = [faults[i] for i in random.choice(len(faults), 1 + k % 2, replace=False)]
        if len({fault.part.id for fault in chosen}) < len(chosen):
            chosen = chosen[:1]
        wrong = []
        for fault in chosen:
            severity = fault.mode.severity
            degrees = bool(severity.quantity) and k % 3
            wrong.append(
                (fault.id, float(quantiles(severity, random.uniform(size=1))[0]) if degrees else None)
            )
        given = {
            each.id: float(random.uniform(each.low, each.high)) for each in process if random.uniform() < 0.3
        }
        yield str(random.choice(states)), given, wrong


def written(wrong: list[Any]) -> list[str]:
    return [fault if severity is None else f"{fault}@{severity!r}" for fault, severity in wrong]


@pytest.mark.parametrize("name", [*circuits.available(), STEADY])
def test_needles_and_probes_are_those_of_read(page: Any, name: str) -> None:
    circuit = named(name)
    browser = page(name)
    random = np.random.default_rng(sum(map(ord, name)))
    points = list(circuit.sheet.points.values())
    slowest = 0.0
    for state, given, wrong in settings(circuit, random):
        red, black = (points[k] for k in random.choice(len(points), 2, replace=False))
        check = f"drop_between:{red.id}:{black.id}"
        if red.node == black.node or "drop_between" not in circuit.sheet.checks:
            check, black = f"volts_at:{red.id}", None
        expected = see(circuit, state, check, written(wrong), given)
        far = "0" if black is None else black.node
        shown = browser.execute_script(
            "return bench.put(...arguments)", state, given, wrong, red.node, None if red.node == far else far
        )
        told = (state, given, wrong, check)
        for gauge, needle in expected.needles.items():
            assert shown["needles"][gauge] == pytest.approx(needle.position, abs=1e-6), (gauge, *told)
        if red.node != far:
            assert shown["reading"]["volts"] == pytest.approx(expected.reading.value, abs=1e-6), told
            assert shown["reading"]["pulses"] == expected.reading.pulses, told
        slowest = max(slowest, shown["milliseconds"])
    print(f"{name}: {slowest:.0f} ms")
    assert [entry["message"] for entry in browser.get_log("browser")] == []


def test_a_touch_a_switch_and_a_slider(page: Any) -> None:
    browser = page("temp_opposed_coil")
    circuit = find("temp_opposed_coil")

    def word() -> str:
        return str(browser.find_element("id", "word-temperature").text)

    def press(how: str, what: str) -> None:
        browser.execute_script("arguments[0].click()", browser.find_element(how, what))

    def shown(**options: Any) -> str:
        return f"{see('temp_opposed_coil', **options).needles['temperature'].position:.2f}"

    assert word().endswith(shown())
    stud = circuit.wiring.branch("rstud_bias")
    browser.execute_script(
        "document.querySelector(`.part[data-branch='${arguments[0]}']`)"
        ".dispatchEvent(new MouseEvent('click', { bubbles: true }))",
        stud,
    )
    press("css selector", "#modes button")
    assert word().endswith(shown(faults="stud_bias=open"))
    press("xpath", "//button[text()='key on, engine not started and cold']")
    assert word().endswith(shown(state="key_on_cold", faults="stud_bias=open"))
    press("css selector", "#faults button")
    assert word().endswith(shown(state="key_on_cold"))
    move = "const one = arguments[0]; one.value = arguments[1]; one.dispatchEvent(new Event('input'))"
    browser.execute_script(move, browser.find_element("id", "set-coolant_celsius"), 90)
    assert word().endswith(shown(state="key_on_cold", given={"coolant_celsius": 90.0}))
    for probe, node in (("red", "sender_lead"), ("black", "engine_block")):
        browser.execute_script(f"document.querySelector('[data-touch={probe}]').click()")
        at = circuit.wiring.node(node)
        browser.execute_script(
            "document.querySelector(`.point[data-node='${arguments[0]}']`)"
            ".dispatchEvent(new MouseEvent('click', { bubbles: true }))",
            at,
        )
    read = see(
        "temp_opposed_coil",
        "key_on_cold",
        "drop_between:sender_lead:engine_block",
        given={"coolant_celsius": 90.0},
    )
    assert browser.find_element("id", "meter").text.startswith(
        f"{read.reading.value:.2f} V, the sender lead against"
    )


def test_a_lost_ground_is_seen_to_go_home_through_the_others(page: Any) -> None:
    browser = page("cluster_air_core")
    browser.execute_script("bench.put('running_warm', {}, [['panel_ground=open', null]])")
    said = browser.find_element("id", "back").text
    assert "high-ohm coil in the fuel gauge" in said
    assert "sender" not in said.removeprefix("Current backwards through ").split(",")[0]
    assert browser.execute_script("return document.querySelectorAll('path.back').length") > 5
    browser.execute_script("bench.put('running_warm', {}, [])")
    assert browser.find_element("id", "back").text == ""


def test_a_fault_says_which_checks_would_burn(page: Any) -> None:
    browser = page("temp_three_coil")
    for fault, burns in (("sender_wire=to_feed", True), ("sender_wire=open", False)):
        browser.execute_script("bench.put('running_warm', {}, [[arguments[0], null]])", fault)
        said = browser.find_element("id", "faults").text
        assert ("may burn: the lead off the temperature sender and held to" in said) == burns


def test_it_fits_a_phone(page: Any) -> None:
    browser = page("boat_panel")
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", PHONE)
    try:
        page("boat_panel")
        browser.execute_script("document.getElementById('part').value = 'stud_x'")
        assert browser.execute_script("return document.documentElement.scrollWidth") == PHONE["width"]
        boxes = browser.execute_script(
            "return [...document.querySelectorAll('button, select, input')].map((one) => {"
            " const box = one.getBoundingClientRect(); return [box.width, box.height]; })"
        )
        # 44 px by 44 px: Web Content Accessibility Guidelines 2.2, success criterion 2.5.5
        assert min(min(box) for box in boxes) >= 44
        letters = browser.execute_script(
            "return document.querySelector('.picture:not([hidden]) text').getBoundingClientRect().height"
        )
        assert letters >= 12
        parts = browser.execute_script(
            "return [...document.querySelectorAll('.picture:not([hidden]) .part rect')].map((one) => {"
            " const box = one.getBoundingClientRect(); return [box.width, box.height]; })"
        )
        assert min(min(box) for box in parts) >= 24  # the same guidelines, criterion 2.5.8
    finally:
        browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_function_of_a_netlist_can_be_written(name: str) -> None:
    arguments = ", ".join(["a", "b"][: FUNCTIONS[name][0]])
    assert "a" in script(parse(f"{name}({arguments})"), SymbolicValue)


@pytest.mark.parametrize(
    "text", ["a < b", "a == b && a", "!a || b", "a > 1 ? b : 2", "a^2", "+a - b", "1/0.5"]
)
def test_every_operator_of_a_netlist_can_be_written(browser: Any, text: str) -> None:
    values = {"a": 1.5, "b": 3.25}
    body = script(parse(text), lambda name: SymbolicValue(f"arguments[0].{name}"))
    assert browser.execute_script(f"return Number({body})", values) == parse(text)(values.__getitem__)


def test_a_strangers_names_are_written_as_texts() -> None:
    lines = list(Functions(find("cluster_bimetal_5v").netlist).lines())
    assert '  "xfuel_sender/level": (v) => v("float_level"),' in lines
