"""The page in a real browser: the same numbers as Python, buttons, keyboard, paper, and hostile text."""

import shutil
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from page_rule import Mended, Number, Tap, standing
from report_cases import random_work
from selenium.webdriver.support.ui import WebDriverWait

from gaugesim import case as cases
from gaugesim.report.tables import PageData

pytestmark = pytest.mark.browser

# a check is chosen from the list and its outcome tapped or typed, as a person does; then the next one
TAP = """
const [taps] = arguments;
const find = (id) => document.getElementById(id);
const choose = (id, value) => {
  find(id).value = String(value);
  find(id).dispatchEvent(new Event("change"));
};
while (!find("undo").disabled) find("undo").click();
const seen = [jobPage.standing()];
for (const [check, outcome, number] of taps) {
  if (check === null) {
    choose("repair", outcome);
    find("not-yet").click();
  } else {
    choose("other", check);
    if (outcome === null) {
      find("figure").value = String(number);
      document.querySelector(".figures button").click();
    } else document.querySelector(`#answers button[data-outcome="${outcome}"]`).click();
  }
  seen.push(jobPage.standing());
}
return seen.map(({ probability, minutes, next, mend }) => ({ probability, minutes, next, mend }));
"""
# the script has run, and what it wrote has been laid out
DRAWN = "return Boolean(window.jobPage && document.getElementById('suspects').innerText)"
NARROW = {"width": 360, "height": 740, "deviceScaleFactor": 1, "mobile": True}
PHONE = NARROW | {"width": 390, "height": 844}
CHOOSE = """
const field = document.getElementById(arguments[0]);
field.value = String(arguments[1]);
field.dispatchEvent(new Event("change"));
"""
# whether all marks of the wiring lie within its frame
IN_SIGHT = """
const frame = document.getElementById("wiring").getBoundingClientRect();
return [...document.querySelectorAll("circle.mark, rect.mark")].map((mark) => {
  const { left, right, top, bottom, width } = mark.getBoundingClientRect();
  const inside = left >= frame.left && right <= frame.right && top >= frame.top && bottom <= frame.bottom;
  return width > 0 && inside;
});
"""


def tapped(data: PageData, work: list[Tap]) -> list[list[float | None]]:
    """Taps as the script above makes them: check, outcome or repair, what is typed."""
    steps: list[list[float | None]] = []
    for tap in work:
        if isinstance(tap, Mended):
            steps.append([None, tap.repair, None])
        elif isinstance(tap, Number):
            told = data.checks[tap.check].number
            percent = told is not None and told.kind == "needle"
            steps.append([tap.check, None, round(100 * tap.value) if percent else tap.value])
        else:
            steps.append([*tap, None])
    return steps


def opened(browser: Any, file: Path) -> Any:
    browser.get("about:blank")  # so that no page of before answers for this one
    browser.get(file.as_uri())
    if browser.execute_script("const kept = localStorage.length; localStorage.clear(); return kept"):
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
def test_fifty_random_sequences_agree_with_python(make, browser: Any, case: str, seed: int) -> None:
    made = make(case)
    opened(browser, made.file)
    random = np.random.default_rng(seed)
    for _ in range(25):
        work = random_work(made.data, random)
        for count, shown in enumerate(browser.execute_script(TAP, tapped(made.data, work))):
            expected = standing(made.data, work[:count])
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
    # by their names, and in full once that line is opened
    for caution in offered.cautions:
        assert made.data.short[caution] in before["next"]
        assert caution not in before["next"]
    browser.execute_script("for (const more of document.querySelectorAll('#next details')) more.open = true")
    for caution in offered.cautions:
        assert caution in text_of(browser, "next")
    browser.execute_script("for (const more of document.querySelectorAll('#next details')) more.open = false")
    assert before["clock"] == "Nothing yet."
    button = browser.find_element("css selector", "#answers button")
    told = offered.outcomes[int(button.get_attribute("data-outcome"))]
    button.click()
    for name, text in before.items():
        assert text_of(browser, name) != text, name
    assert offered.words in text_of(browser, "log")
    assert tomllib.loads(case_text(browser)) != tomllib.loads(made.data.case)
    assert told.entry.strip() in case_text(browser)
    browser.find_element("id", "undo").click()
    assert {name: text_of(browser, name) for name in before} == before
    assert case_text(browser).strip() == made.data.case.strip()


def test_the_page_leads_to_the_end(make, browser: Any, tmp_path: Path) -> None:
    made = make("which_movement")
    opened(browser, made.file)
    taps: list[tuple[int, int]] = []
    while len(taps) < 5 and standing(made.data, taps).next_check >= 0:
        button = browser.find_element("css selector", "#answers button")
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
    browser.execute_script(TAP, [(check, 0, None) for check in range(len(made.data.checks))])
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
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", NARROW)
    try:
        made = make(case)
        opened(browser, made.file)
        wired = next(k for k, one in enumerate(made.data.checks) if one.picture and one.number)
        browser.execute_script(CHOOSE, "other", wired)
        browser.execute_script("for (const more of document.querySelectorAll('details')) more.open = true")
        assert browser.execute_script("return document.documentElement.scrollWidth") == 360
        boxes = browser.execute_script(
            "const all = document.querySelectorAll('button, select, summary, textarea, input');"
            "return [...all].map((element) => {"
            " const box = element.getBoundingClientRect(); return [box.width, box.height]; })"
        )
        assert len(boxes) > 5
        # 44 px by 44 px: Web Content Accessibility Guidelines 2.2, success criterion 2.5.5
        assert min(min(box) for box in boxes) >= 44
        assert browser.execute_script(
            "document.getElementById('where').open = true;"
            "const wide = document.getElementById('wiring'); return wide.scrollWidth > wide.clientWidth"
        )
    finally:
        browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def test_a_day_on_a_phone(make, browser: Any, tmp_path: Path) -> None:
    made = make("all_read_high")
    data = made.data
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", PHONE)
    try:
        opened(browser, made.file)
        order = browser.execute_script(
            "return ['first', 'next', 'answers', 'suspects', 'repair', 'notes'].map("
            "(id) => document.getElementById(id).getBoundingClientRect().top)"
        )
        assert order == sorted(order)
        lead = next(k for k, name in enumerate(data.names) if "sender's lead" in name.words)
        browser.execute_script("document.getElementById('own').open = true")
        browser.find_element("id", f"name-{lead}").send_keys("green/white <b>")
        browser.find_element("id", "notes").send_keys('bolt seized\n"""]] = 1')
        assert "[green/white <b>]" in text_of(browser, "other")
        # a number with a comma, at the point that has a name of its own
        check = next(
            k for k, one in enumerate(data.checks) if one.id.startswith("volts_at:temperature_sender_lead")
        )
        browser.execute_script(CHOOSE, "other", check)
        browser.execute_script("document.getElementById('where').open = true")
        WebDriverWait(browser, 20).until(lambda it: any(it.execute_script(IN_SIGHT)))
        assert "sender's lead [green/white <b>]" in text_of(browser, "next")
        assert "[green/white <b>]" in text_of(browser, "wiring")
        assert "red probe" in text_of(browser, "wiring")
        for wrong in ("twelve", "1,2,3", "99"):
            browser.find_element("id", "figure").clear()
            browser.find_element("id", "figure").send_keys(wrong)
            browser.find_element("css selector", ".figures button").click()
            assert "from -60 to 60" in browser.find_element("css selector", ".wrong").text
        browser.find_element("id", "figure").clear()
        browser.find_element("id", "figure").send_keys("1,85")
        browser.find_element("css selector", ".figures button").click()
        # one repair that was none, then one that was the cure
        for repair, how in ((0, "not-yet"), (1, "cured")):
            browser.execute_script(CHOOSE, "repair", repair)
            assert data.short[data.repairs[repair].cautions[0]] in text_of(browser, "beware")
            browser.find_element("id", how).click()
        assert data.repairs[1].proof[0].needle in text_of(browser, "next")
        browser.find_element("css selector", "#next button").click()
        before = {name: text_of(browser, name) for name in ("next", "log")}, case_text(browser)
        browser.refresh()
        assert ({name: text_of(browser, name) for name in before[0]}, case_text(browser)) == before
        assert browser.find_element("id", "notes").get_property("value") == 'bolt seized\n"""]] = 1'
        work = [Number(check, 1.85), Mended(0, cured=False), Mended(1, cured=True)]
        shown = browser.execute_script("return jobPage.standing()")
        assert shown["probability"] == pytest.approx(standing(data, work).probability, rel=0, abs=1e-9)
        assert shown["minutes"] == pytest.approx(standing(data, work).minutes, abs=1e-9)
        # the program understands it, and so does a page made of it
        file = tmp_path / "copied.toml"
        file.write_text(case_text(browser))
        again = make(file)
        assert again.consultation.cured == data.repairs[1].part
        assert data.repairs[1].proof[0].state not in {need.state for need in again.data.cured.proof}
        opened(browser, again.file)
        assert browser.find_element("id", "notes").get_property("value") == 'bolt seized\n"""]] = 1'
        assert case_text(browser).strip() == file.read_text().strip()
        # a wrong needle after all: it was not the cure
        opened(browser, made.file)
        browser.execute_script(CHOOSE, "repair", 1)
        browser.find_element("id", "cured").click()
        browser.find_elements("css selector", "#next button")[1].click()
        now = standing(data, [Mended(1, cured=False)])
        shown = browser.execute_script("return jobPage.standing()")
        assert (shown["next"], shown["cure"]) == (now.next_check, None)
        assert complaints(browser) == []
    finally:
        browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


HOT = """
gauge = "temperature"
[vehicle]
wiring = "boat"
temperature.ohms = [450, 30]
[[seen]]
state = "running_warm"
gauge = "temperature"
needle = "low"
[[seen]]
engine = "signs_of_heat"
"""


@pytest.mark.parametrize("case", ["stuck_at_half", "all_read_high", "needles_up_before_start", HOT])
def test_the_next_check_is_on_the_first_screen_below_what_cannot_wait(
    make, browser: Any, tmp_path: Path, case: str
) -> None:
    if case == HOT:
        (tmp_path / "hot.toml").write_text(HOT)
    made = make(tmp_path / "hot.toml" if case == HOT else case)
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", PHONE)
    try:
        opened(browser, made.file)
        danger, step, answer = browser.execute_script(
            "return ['#first', '#next .do', '#answers button'].map("
            "(one) => document.querySelector(one).getBoundingClientRect().bottom)"
        )
        assert danger < step < answer < PHONE["height"]
        # what cannot wait stands open, all else opens from its line
        for caution in made.data.cautions[: made.data.first]:
            assert caution in text_of(browser, "first")
        assert (case == HOT) == ("stop the engine" in text_of(browser, "first"))
        assert not browser.execute_script("return document.querySelector('header details').open")
        browser.find_element("css selector", "header summary").click()
        assert all(text in text_of(browser, "cautions") for text in made.data.cautions[made.data.first :])
    finally:
        browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


# how much of what is written at a mark lies on other words: two lines that just touch are no harm
OVER = """
const marks = [...document.querySelectorAll(".picture:not([hidden]) text.mark")];
const box = (one) => one.getBoundingClientRect();
return marks.map((mark) => Math.max(0, ...[...mark.closest("svg").querySelectorAll("text")].map((other) => {
  if (other === mark) return 0;
  const [a, b] = [box(mark), box(other)];
  const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
  const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
  return across > 0 && down > 8 ? across : 0;
})));
"""


def test_what_is_written_at_a_mark_lies_on_no_other_words(make, browser: Any) -> None:
    made = make("stuck_at_half")
    opened(browser, made.file)
    browser.execute_script("document.getElementById('where').open = true")
    over: list[float] = []
    for check, told in enumerate(made.data.checks):
        if told.picture:
            browser.execute_script(CHOOSE, "other", check)
            over += browser.execute_script(OVER)
    assert len(over) > 50
    assert max(over) < 40


def test_an_answer_says_what_it_leads_to_only_where_that_is_news(make, browser: Any) -> None:
    made = make("needles_up_before_start")
    opened(browser, made.file)
    said = text_of(browser, "answers")
    assert "then 69 %: ground pin of the engine harness plug makes no contact" in said.replace("\xa0", " ")
    panel_lamps = next(
        k for k, one in enumerate(made.data.checks) if one.id.startswith("see_consumer:panel_lamps")
    )
    browser.execute_script(CHOOSE, "other", panel_lamps)
    assert "little changes" in text_of(browser, "answers")
    assert "none of these" not in text_of(browser, "answers")


def test_every_mark_is_in_the_wiring(make, browser: Any) -> None:
    """Each check opens the wiring on the branch in question."""
    made = make("which_movement")
    opened(browser, made.file)
    browser.execute_script("document.getElementById('where').open = true")
    for check in range(0, len(made.data.checks), 7):
        if made.data.checks[check].picture:
            browser.execute_script(CHOOSE, "other", check)
            assert any(browser.execute_script(IN_SIGHT)), made.data.checks[check].id


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
    assert {"undo", "other", "repair", "notes", "case", "copy"} <= set(reached)


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
    assert {"Likeliest faults", "Next check", "Done so far", "Mended?"} <= set(roles["region"])
    assert len(roles["columnheader"]) == 6


def test_it_prints_on_a4(make, browser: Any) -> None:
    opened(browser, make("stuck_at_half").file)
    # some check has outcomes so unlikely that they are folded away
    browser.execute_script(
        "const list = document.getElementById('other');"
        "for (const { value } of [...list.options].slice(1)) {"
        "  if (document.querySelector('#answers details')) break;"
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
            "const folded = [...document.querySelectorAll('#answers details button')];"
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
    "A boat's engine space",
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
    browser.find_element("css selector", "#answers button").click()
    with pytest.raises(Exception, match="no such alert"):
        browser.switch_to.alert  # noqa: B018
    assert browser.execute_script("return window.hit === undefined")
    assert browser.execute_script("return document.scripts.length") == 2
    assert browser.execute_script("return document.images.length") == 1
    assert complaints(browser) == []
    named = next(k for k, one in enumerate(made.data.checks) if HOSTILE in one.words)
    browser.execute_script(CHOOSE, "other", named)
    # shown letter for letter
    browser.execute_script("for (const more of document.querySelectorAll('details')) more.open = true")
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
