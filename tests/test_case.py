"""Case files: a needle that nothing drives may be written in the word that the program prints for it."""

from __future__ import annotations

from typing import Any

import pytest

from gaugesim.case import parse
from gaugesim.diagnosis import diagnose
from gaugesim.errors import CaseError

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
