"""Case files: a needle that nothing drives may be written in the word that the program prints for it."""

from __future__ import annotations

from typing import Any

import pytest

from gaugesim import vocabulary
from gaugesim.case import parse, with_one_more
from gaugesim.diagnosis import diagnose
from gaugesim.errors import CaseError
from gaugesim.vocabulary.topic import Topic

ENTRIES = {"seen": {"state": "key_on_cold"}, "measured": {"check": "unplug_sender"}}


def case(kind: str, **told: Any) -> dict[str, Any]:
    return {"circuit": "fuel_three_coil_240_33", kind: [{**ENTRIES[kind], **told}]}


@pytest.mark.parametrize("kind", ENTRIES)
def test_an_undriven_needle_never_moves(kind: str) -> None:
    undriven = parse(case(kind, needle="undriven"))
    assert undriven.entries[0].needle is None
    assert undriven.entries[0].moves == "never"
    assert undriven.entries == parse(case(kind, moves="never")).entries
    assert undriven.entries == parse(case(kind, needle="undriven", moves="never")).entries


@pytest.mark.parametrize("kind", ENTRIES)
def test_an_undriven_needle_that_moves_is_refused(kind: str) -> None:
    with pytest.raises(CaseError, match="moves: is jumps, of a needle that is undriven"):
        parse(case(kind, needle="undriven", moves="jumps"))


def test_it_speaks_for_what_leaves_the_gauge_without_current() -> None:
    told = diagnose(parse(case("seen", needle="undriven")))
    feed = {"fuse=open", "feed_wire=open", "ignition_switch=open", "panel_connector_feed=open"}
    leading = {entry.fault for entry in told.ranking[:8]}
    assert leading & feed


def test_where_it_was_before_is_that_place_where_it_is_known() -> None:
    """However it is told: in a file, one entry after another, or by the word of the place itself."""
    seen = [{"state": state, "needle": "half"} for state in ("key_on_cold", "running_warm")]
    check = {"check": "unplug_sender", "state": "key_on_cold"}
    data = {"circuit": "temp_opposed_coil", "gauge": "temperature", "seen": seen}
    same = parse({**data, "measured": [{**check, "needle": "undriven"}]})
    said = parse({**data, "measured": [{**check, "needle": "half"}]})
    assert same == said == with_one_more(parse(data), "measured", {**check, "needle": "undriven"})
    elsewhere = [*seen, {"state": "lights_on", "needle": "low"}]
    open_ = parse({**data, "seen": elsewhere, "measured": [{**check, "needle": "undriven"}]})
    assert open_ == parse({**data, "seen": elsewhere, "measured": [{**check, "moves": "never"}]})


IN_A_STATE = {"state": "key_on_cold"}


@pytest.mark.parametrize(
    ("topic", "beside"),
    [
        (vocabulary.NEEDLE, IN_A_STATE),
        (vocabulary.MOVES, IN_A_STATE | {"needle": "low"}),
        (vocabulary.LOOKS, {"consumer": "panel_lamps"}),
        (vocabulary.CHANGE, {"between": ["key_on_cold", "lights_on"]}),
    ],
)
def test_what_people_write_otherwise_is_understood(topic: Topic, beside: dict[str, Any]) -> None:
    """Every synonym of a word means it, in a case file as in the conversation, whatever its case."""
    pairs = [(typed, word.id) for word in topic.words if not word.entry for typed in word.also]
    assert len(pairs) > 3
    for typed, name in pairs:
        [entry] = parse({"circuit": "temp_two_coil", "seen": [{**beside, topic.key: typed.upper()}]}).entries
        assert getattr(entry, topic.key) == name, typed
