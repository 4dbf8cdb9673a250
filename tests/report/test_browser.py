"""The page in a real browser: the same numbers as Python, buttons, keyboard, paper, and hostile text."""

import shutil
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from report_cases import random_taps
from selenium.webdriver.support.ui import WebDriverWait

from gaugesim import case as cases
from gaugesim.report.rule import standing

pytestmark = pytest.mark.browser

# a check is chosen from the list and its outcome tapped, as a person does; then the next one
TAP = """
const [taps] = arguments;
while (!document.getElementById("undo").disabled) document.getElementById("undo").click();
const seen = [jobPage.standing()];
for (const [check, outcome] of taps) {
  const other = document.getElementById("other");
  other.value = String(check);
  other.dispatchEvent(new Event("change"));
  document.querySelector(`#next button[data-outcome="${outcome}"]`).click();
  seen.push(jobPage.standing());
}
return seen.map(({ probability, minutes, next, mend }) => ({ probability, minutes, next, mend }));
"""
# the script has run, and what it wrote has been laid out
DRAWN = "return Boolean(window.jobPage && document.getElementById('suspects').innerText)"
PHONE = {"width": 360, "height": 740, "deviceScaleFactor": 1, "mobile": True}


def opened(browser: Any, file: Path) -> Any:
    browser.get("about:blank")  # so that no page of before answers for this one
    browser.get(file.as_uri())
    WebDriverWait(browser, 60).until(lambda it: it.execute_script(DRAWN))
    return browser


def text_of(browser: Any, identifier: str) -> str:
    return str(browser.execute_script("return document.getElementById(arguments[0]).innerText", identifier))


def case_text(browser: Any) -> str:
    return str(browser.execute_script("return document.getElementById('case').value"))


def complaints(browser: Any) -> list[str]:
    """What the browser itself complained of: errors, and what the content policy stopped."""
    return [entry["message"] for entry in browser.get_log("browser")]


@pytest.mark.parametrize(("case", "seed"), [("stuck_at_half", 30), ("which_movement", 31)])
def test_a_hundred_random_sequences_agree_with_python(make, browser: Any, case: str, seed: int) -> None:
    made = make(case)
    opened(browser, made.file)
    random = np.random.default_rng(seed)
    for _ in range(50):
        taps = random_taps(made.data, random)
        for count, shown in enumerate(browser.execute_script(TAP, taps)):
            expected = standing(made.data, taps[:count])
            assert shown["probability"] == pytest.approx(expected.probability, rel=0, abs=1e-9)
            assert shown["minutes"] == pytest.approx(expected.minutes, abs=1e-9)
            assert (shown["next"], shown["mend"]) == (expected.next_check, expected.mend)
    assert complaints(browser) == []


def test_a_tap_moves_the_ranking_the_log_and_the_case(make, browser: Any) -> None:
    made = make("stuck_at_half")
    opened(browser, made.file)
    start = standing(made.data)
    offered = made.data.checks[start.next_check]
    before = {name: text_of(browser, name) for name in ("suspects", "next", "status", "clock")}
    assert offered.words in before["next"]
    for caution in offered.cautions:
        assert caution in before["next"]
    assert before["clock"] == "Nothing yet."
    browser.find_element("css selector", "#next button").click()
    for name, text in before.items():
        assert text_of(browser, name) != text, name
    assert offered.name in text_of(browser, "log")
    assert tomllib.loads(case_text(browser))["measured"][0]["check"] == offered.check
    browser.find_element("id", "undo").click()
    assert {name: text_of(browser, name) for name in before} == before
    assert case_text(browser).strip() == made.data.case.strip()


def test_the_page_leads_to_the_end(make, browser: Any, tmp_path: Path) -> None:
    made = make("which_movement")
    opened(browser, made.file)
    taps: list[tuple[int, int]] = []
    while len(taps) < 5 and standing(made.data, taps).next_check >= 0:
        button = browser.find_element("css selector", "#next button")
        taps.append((standing(made.data, taps).next_check, int(button.get_attribute("data-outcome"))))
        button.click()
    shown = browser.execute_script("return jobPage.standing()")
    assert shown["probability"] == pytest.approx(standing(made.data, taps).probability, rel=0, abs=1e-9)
    file = tmp_path / "copied.toml"
    file.write_text(case_text(browser))
    entries = cases.read(file).entries
    assert len(entries) == len(tomllib.loads(made.data.case).get("seen", [])) + 2 + len(taps)


def test_no_check_left_says_so(make, browser: Any) -> None:
    made = make("stuck_at_half")
    opened(browser, made.file)
    browser.execute_script(TAP, [(check, 0) for check in range(len(made.data.checks))])
    assert "No check tells more" in text_of(browser, "next")


def test_faults_that_circuits_share_are_one_line(make, browser: Any) -> None:
    made = make("which_movement")
    opened(browser, made.file)
    lines = browser.execute_script(
        "const words = document.querySelectorAll('#suspects li > span:nth-child(2)');"
        "return [...words].map((line) => line.innerText)"
    )
    assert len(lines) == len(set(lines)) == 7
    assert lines[-2:] == ["all others together", "a rarer fault, or none of these"]
    shares = browser.execute_script(
        "return [...document.querySelectorAll('#suspects meter')].map((bar) => bar.value)"
    )
    assert sum(shares) == pytest.approx(1, abs=1e-9)
    assert "three-coil" in text_of(browser, "movements")


def test_the_case_is_copied(make, browser: Any) -> None:
    opened(browser, make("stuck_at_half").file)
    browser.find_element("id", "copy").click()
    marked = browser.execute_script(
        "const area = document.getElementById('case'); return [area.selectionStart, area.selectionEnd]"
    )
    assert marked == [0, len(case_text(browser))]
    assert text_of(browser, "copied") in ("Copied.", "Marked: copy it now.")


@pytest.mark.parametrize("case", ["stuck_at_half", "all_read_high"])
def test_fat_fingers_on_a_narrow_screen(make, browser: Any, case: str) -> None:
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", PHONE)
    try:
        opened(browser, make(case).file)
        browser.execute_script("for (const more of document.querySelectorAll('details')) more.open = true")
        assert browser.execute_script("return document.documentElement.scrollWidth") == 360
        boxes = browser.execute_script(
            "return [...document.querySelectorAll('button, select, summary, textarea')].map((element) => {"
            " const box = element.getBoundingClientRect(); return [box.width, box.height]; })"
        )
        assert len(boxes) > 5
        # 44 px by 44 px: Web Content Accessibility Guidelines 2.2, success criterion 2.5.5
        assert min(min(box) for box in boxes) >= 44
        assert browser.execute_script(
            "const wide = document.getElementById('circuit'); return wide.scrollWidth > wide.clientWidth"
        )
    finally:
        browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def test_the_keyboard_does_everything(make, browser: Any) -> None:
    from selenium.webdriver.common.keys import Keys

    made = make("stuck_at_half")
    opened(browser, made.file)
    for _ in range(3):
        browser.switch_to.active_element.send_keys(Keys.TAB)
        focused = browser.switch_to.active_element
        if focused.get_attribute("data-outcome"):
            break
    focused.send_keys(Keys.ENTER)
    assert len(browser.execute_script("return jobPage.standing().done")) == 1
    # the button is gone; the place where the next one is read goes on
    assert browser.switch_to.active_element.get_attribute("id") == "next-title"
    reached = []
    for _ in range(40):
        browser.switch_to.active_element.send_keys(Keys.TAB)
        reached.append(browser.switch_to.active_element.get_attribute("id"))
    assert {"undo", "other", "circuit", "case", "copy"} <= set(reached)


def test_a_screen_reader_finds_its_way(make, browser: Any) -> None:
    opened(browser, make("stuck_at_half").file)
    nodes = browser.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
    roles: dict[str, list[str]] = {}
    for node in nodes:
        if not node.get("ignored"):
            name = node.get("name", {}).get("value", "")
            roles.setdefault(node["role"]["value"], []).append(name)
    assert {"banner", "main", "status"} <= set(roles)
    for role in ("button", "combobox", "textbox", "image", "region", "heading"):
        assert roles[role], role
        assert all(roles[role]), role
    assert {"Likeliest faults", "Next check", "Done so far"} <= set(roles["region"])
    assert len(roles["columnheader"]) == 6


def test_it_prints_on_a4(make, browser: Any) -> None:
    opened(browser, make("stuck_at_half").file)
    # some check has outcomes so unlikely that they are folded away
    browser.execute_script(
        "const list = document.getElementById('other');"
        "for (const { value } of [...list.options].slice(1)) {"
        "  if (document.querySelector('#next details')) break;"
        "  list.value = value; list.dispatchEvent(new Event('change'));"
        "}"
    )
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        hidden = (
            "return ['undo', 'other', 'case', 'copy'].map((id) => document.getElementById(id).offsetHeight)"
        )
        assert browser.execute_script(hidden) == [0, 0, 0, 0]
        assert text_of(browser, "case-print").strip() == case_text(browser).strip()
        assert browser.execute_script(
            "const folded = [...document.querySelectorAll('#next details button')];"
            "return folded.length > 0 && folded.every((one) => one.offsetHeight > 0)"
        )
        assert browser.execute_script("return document.documentElement.scrollWidth <= innerWidth")
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


HOSTILE = (
    "</script><script>window.hit = 1; alert(1)</script><img src=x onerror='window.hit = 1; alert(2)'>"
    "<svg onload=alert(3)> & ]]> <!-- ${alert(4)} $title {{7*7}}"
)


# of a part, two cautions, a place, a gauge and a state
WORDS = (
    "nut on stud B (bias)",
    "Ventilate a boat's engine space",
    "While it is tested",
    "behind the panel",
    "coolant temperature gauge",
    "engine running and warm",
)


def test_hostile_text_does_nothing(make, browser: Any, repository: Path, tmp_path: Path) -> None:
    netlists = Path(shutil.copytree(repository / "netlists", tmp_path / "netlists"))
    for sheet in netlists.rglob("*.toml"):
        text = sheet.read_text()
        for words in WORDS:
            text = text.replace(f'"{words}', f'"{HOSTILE} {words}')
        sheet.write_text(text)
    file = tmp_path / "hostile.toml"
    case = (repository / "netlists" / "cases" / "stuck_at_half.toml").read_text()
    file.write_text(f"# {HOSTILE}\n{case}# {HOSTILE}\n")
    made = make(file, netlists)
    opened(browser, made.file)
    browser.find_element("css selector", "#next button").click()
    with pytest.raises(Exception, match="no such alert"):
        browser.switch_to.alert  # noqa: B018
    assert browser.execute_script("return window.hit === undefined")
    assert browser.execute_script("return document.scripts.length") == 2
    assert browser.execute_script("return document.images.length") == 2
    assert complaints(browser) == []
    # shown letter for letter
    for name in ("complaint", "cautions", "suspects", "next", "sound", "readings"):
        assert HOSTILE in text_of(browser, name), name
    assert HOSTILE.lower() in browser.title.lower()
    assert HOSTILE.lower() in browser.find_element("tag name", "h1").text.lower()
    assert HOSTILE in case_text(browser)
    assert any(HOSTILE in suspect.words for suspect in made.data.suspects)


def test_the_policy_stops_what_is_not_the_pages_own(make, browser: Any, tmp_path: Path) -> None:
    """What would happen if a text ever got out of its place."""
    broken = tmp_path / "broken.html"
    slipped = "<script>window.hit = 1</script><img src=x onerror='window.hit = 1'><h1>"
    broken.write_text(make("stuck_at_half").html.replace("<h1>", slipped, 1))
    opened(browser, broken)
    assert browser.execute_script("return document.scripts.length") == 3
    assert browser.execute_script("return window.hit === undefined")
    assert any("Content Security Policy" in message for message in complaints(browser))
