"""What a trouble came after: words beside a complaint that shift shares, by a stated likelihood each."""

from dataclasses import replace

import pytest

from gaugesim import vocabulary
from gaugesim.case import parse
from gaugesim.circuit import available, find
from gaugesim.diagnosis import Diagnosis, diagnose
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.bind import asked
from gaugesim.evidence.cells import Cells
from gaugesim.sheet import AFTER

LOW = {"state": "running_warm", "needle": "low"}


def told(after: str | None, circuit: str = "temp_two_coil") -> Diagnosis:
    seen = [LOW, {"after": after}] if after else [LOW]
    return diagnose(parse({"circuit": circuit, "gauge": "temperature", "seen": seen}))


def share(found: Diagnosis, fault: str) -> float:
    return sum(row.probability for row in found.ranking if row.fault == fault)


def test_every_word_has_its_usual_chance_and_no_other_word_has() -> None:
    assert set(vocabulary.AFTER.classes) == set(AFTER)
    assert set(like.AFTER_BY_MODE) <= set(AFTER)


@pytest.mark.parametrize("word", AFTER)
def test_bayes_by_hand(word: str) -> None:
    """Odds of two faults move by the ratio of the chances that their owner says so."""
    before, after = told(None), told(word)
    cells = after.posteriors[0].cells
    ((observable, _, _),) = asked(after.case.entries[1], cells, "temperature")
    table = {fault.id: observable.slipped[cells.fault == i][0, 0] for i, fault in enumerate(cells.faults)}
    for one, other in (("gauge_leads=crossed", "sender=open"), ("sender_connector=high", "fuse=open")):
        times = share(after, one) / share(after, other) / (share(before, one) / share(before, other))
        assert times == pytest.approx(table[one] / table[other], rel=0.05)


def test_work_brings_on_what_work_does() -> None:
    """Common practice, no source: leads are exchanged by hands, and contacts suffer where hands have been."""
    usual = told(None)
    times = {
        word: share(told(word), "gauge_leads=crossed") / share(usual, "gauge_leads=crossed") for word in AFTER
    }
    assert times["gauge_work"] == max(times.values()) > 2
    assert times["nothing"] == min(times.values()) < 0.5
    at_the_sender = share(told("sender_work"), "sender_ground=open") / share(usual, "sender_ground=open")
    at_the_panel = share(told("gauge_work"), "sender_ground=open") / share(usual, "sender_ground=open")
    assert at_the_sender > 1 > at_the_panel


@pytest.mark.parametrize("name", available())
def test_on_every_circuit(name: str) -> None:
    """A chance for every fault, above nothing and below certainty, and not the same for all after work."""
    circuit = find(name)
    cells = Cells(circuit, slices=1, tolerant=False)
    gauge = next(iter(circuit.sheet.gauges))
    for word in AFTER:
        entry = parse({"circuit": name, "seen": [{"after": word}]}).entries[0]
        ((observable, answer, _),) = asked(entry, cells, gauge)
        assert answer == word == observable.classes[0]
        assert observable.table is not None
        first = observable.table[:, 0]
        assert first.min() > 0
        assert first.max() <= like.MOST_OFTEN_AFTER
        assert first.max() > 1.5 * vocabulary.AFTER[word].row["usual"] or word == "nothing"


def test_however_often_a_sheet_says_so_it_is_not_certain() -> None:
    """A mode of one's own that is a thousand times likelier after rain stays below a stated chance."""
    circuit = find("temp_two_coil")
    part = circuit.sheet.parts["sender_connector"]
    open_pin = replace(part.modes["open"], after={"wet": 1000.0})
    parts = {**circuit.sheet.parts, part.id: replace(part, modes={**part.modes, "open": open_pin})}
    cells = Cells(replace(circuit, sheet=replace(circuit.sheet, parts=parts)), slices=1, tolerant=False)
    case = parse({"circuit": circuit.id, "seen": [{"after": "wet"}]})
    ((observable, _, _),) = asked(case.entries[0], cells, "temperature")
    number = [fault.id for fault in cells.faults].index("sender_connector=open")
    assert observable.table is not None
    assert observable.table[cells.fault == number][0, 0] == like.MOST_OFTEN_AFTER


@pytest.mark.parametrize("name", available())
def test_a_sheet_that_words_a_mode_itself_keeps_what_it_comes_after(name: str) -> None:
    """Whoever has fitted a sender of another range has worked on it, whatever ranges a sheet lists."""
    modes = [
        part.modes["wrong_range"] for part in find(name).sheet.parts.values() if "wrong_range" in part.modes
    ]
    assert all(mode.after["sender_work"] > 1 > mode.after["nothing"] for mode in modes)
    assert modes
