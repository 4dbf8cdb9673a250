"""How results show themselves in a notebook."""

from dataclasses import replace
from html.parser import HTMLParser

import pytest

import gaugesim as gs
from gaugesim.advice.check_advice import Advice, Outcome
from gaugesim.notebook import html_table
from gaugesim.paths import shipped_netlists

HOSTILE = "<script>alert('it')</script> & \"more\""


class Rows(HTMLParser):
    """The texts of a table, row by row, and the tags that it is made of."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.rows: list[list[str]] = []
        self.caption = ""
        self.inside = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert attrs == []
        self.tags.add(tag)
        self.inside = tag
        if tag == "tr":
            self.rows.append([])
        elif tag in ("th", "td"):
            self.rows[-1].append("")

    def handle_data(self, data: str) -> None:
        if self.inside == "caption":
            self.caption += data
        else:
            self.rows[-1][-1] += data


def test_words_of_a_sheet_stay_words() -> None:
    table = Rows(html_table(HOSTILE, [HOSTILE], [[HOSTILE]]))
    assert table.tags == {"table", "caption", "tr", "th", "td"}
    assert (table.caption, table.rows) == (HOSTILE, [[HOSTILE], [HOSTILE]])


def test_nothing_is_a_dash_and_zero_has_no_sign() -> None:
    assert Rows(html_table("", [], [[None, float("nan"), -1e-9]])).rows == [[], ["–", "–", "0.00"]]


def test_needles_and_the_reading() -> None:
    seen = gs.see("temp_opposed_coil", "key_on_cold", "sender_lead_volts")
    _, needle, volts = Rows(seen._repr_html_().partition("<p>")[0]).rows
    shown = seen.needles["temperature"]
    figures = [f"{value:.2f}" for value in (shown.position, shown.low, shown.high)]
    assert needle == ["temperature", *figures, "on the low stop"]
    assert seen.reading is not None
    assert volts[:2] == ["volts", f"{seen.reading.value:.2f}"]
    assert volts[-1] == "V"


def test_a_needle_that_nothing_drives_has_no_number() -> None:
    _, needle = Rows(gs.see("temp_opposed_coil", "key_off")._repr_html_().partition("<p>")[0]).rows
    assert needle[:4] == ["temperature", "–", "–", "–"]


def test_every_resistance_of_a_circuit() -> None:
    circuit = gs.find_circuit("temp_opposed_coil")
    sound = dict(zip(circuit["part"], circuit["ohms"], strict=True))
    # copper 5 K warmer than at its nominal 20 degC, IEC 60028
    assert sound["coil_reference"] == pytest.approx(180 * (1 + 5 * 0.00393))
    assert set(sound) == {part.id for part in circuit.sheet.parts.values() if part.unit == "ohm"}


def test_the_ranking_adds_up_to_one() -> None:
    found = gs.diagnose(shipped_netlists() / "cases" / "stuck_at_half.toml")
    assert sum(found["probability"]) == pytest.approx(1)
    assert Rows(found._repr_html_().partition("<p>")[0]).rows[1][2] == found.ranking[0].words


def test_advice_never_goes_without_its_caution() -> None:
    outcome = Outcome(
        "half", "needle at half", "the needle is at half", 0.75, (("stud_bias=open", HOSTILE, 0.9),)
    )
    shown = Advice(
        *("unplug_sender", "key_on_cold", "Pull it", "key on", 4.0, (), 0.5, ("Mind the fan.",), (outcome,)),
        *((), ""),
    )
    table = Rows(shown._repr_html_())
    assert table.caption == "Pull it (key on), 4 minutes"
    assert table.rows[1:] == [["0.75", "needle at half", HOSTILE], ["caution", "Mind the fan.", ""]]
    bare = Rows(replace(shown, outcomes=(replace(outcome, leads_to=()),))._repr_html_())
    assert bare.rows[1] == ["0.75", "needle at half", "–"]
