"""Physical laws over every shipped circuit x check x fault, states and severities in turn.

Each scenario's whole network is stamped and solved anew (invariants.anew), laws are checked on that
solution, and the package's own answer, a small correction of one solution for each state and check, is
compared with it. (`test_engines` compares it with ngspice's solution in every state.)

Sources: Kirchhoff's laws; Tellegen's theorem (1952) for the power; Woodbury's identity (1950).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

import numpy as np
import pytest
from invariants.everything import SHARE, TURNS, UNDRIVEN, Ledger, Rows, electrical_checks, examine

from gaugesim.circuit import Circuit, available, find
from gaugesim.planning.problem import Booleans
from gaugesim.reading import Situation, respond
from gaugesim.reading.situations import without_process
from gaugesim.scenario.fault import Fault, all_faults

# of a dozen volts, and of positions from 0 to 1
SAME = 1e-9
# a thousandth of the scale counts as moved
NEEDLE = 1e-3


@pytest.fixture(scope="module", params=available())
def ledger(request: pytest.FixtureRequest, spread: Callable[..., Iterable[Ledger]]) -> tuple[str, Ledger]:
    """What was found on one circuit, in all its states."""
    name = request.param
    states = list(find(name).sheet.states)
    whole = Ledger()
    for part in spread(examine, [name] * len(states), states, range(len(states))):
        whole.add(part)
    return name, whole


def worst(ledger: tuple[str, Ledger], kind: str) -> float:
    _, whole = ledger
    assert whole.counts[kind] > 0
    value, where = whole.worst[kind]
    print(f"{kind}: {value:.3g} at {where}")
    return value


def test_every_check_has_its_turn_with_every_fault(ledger: tuple[str, Ledger]) -> None:
    circuit = find(ledger[0])
    states, checks = len(circuit.sheet.states), len(electrical_checks(circuit))
    assert states >= SHARE
    situations = sum((number + turn) % SHARE == 0 for number in range(checks) for turn in range(states))
    assert ledger[1].counts["duty"] == situations * (1 + len(all_faults(circuit)))


def test_currents_balance_at_every_node(ledger: tuple[str, Ledger]) -> None:
    assert worst(ledger, "current into a node") < 1e-10


def test_volts_add_up_over_every_branch(ledger: tuple[str, Ledger]) -> None:
    assert worst(ledger, "volts of a branch") < 1e-12
    assert worst(ledger, "current of an open") < 1e-13


def test_as_much_power_is_given_out_as_taken_up(ledger: tuple[str, Ledger]) -> None:
    assert worst(ledger, "power") < SAME


@pytest.mark.parametrize("kind", ["needle", "duty", "ohms", "lamp"])
def test_a_small_correction_is_the_full_solution(ledger: tuple[str, Ledger], kind: str) -> None:
    assert worst(ledger, kind) < SAME


def test_a_small_correction_is_the_full_solution_for_volts(ledger: tuple[str, Ledger]) -> None:
    # of 10 megohm's current, whose last digit at the tenth of an ampere that flows elsewhere is a nanovolt
    assert worst(ledger, "volts") < 12 * SAME


def test_the_lamp_stands_where_its_filament_has_the_ohms_for_it(ledger: tuple[str, Ledger]) -> None:
    assert worst(ledger, "lamp settles") < SAME


def test_needles_stay_between_their_stops_and_duties_between_none_and_all(
    ledger: tuple[str, Ledger],
) -> None:
    assert worst(ledger, "beyond a stop") == 0
    assert worst(ledger, "duty beyond 0 and 1") == 0


def test_a_dead_circuit_has_no_source_but_the_ohmmeter_and_no_ohms_below_zero(
    ledger: tuple[str, Ledger],
) -> None:
    assert worst(ledger, "sources in a dead circuit") == 0
    assert worst(ledger, "ohms below zero") == 0


def test_what_a_check_has_opened_or_taken_away_hides_its_faults(ledger: tuple[str, Ledger]) -> None:
    assert worst(ledger, "decided by the check") == 0


def is_right(fault: Fault) -> bool:
    """Whether a hypothesis says that nothing is wrong, so that nothing moves."""
    return fault.mode.id == "misjudged"


def test_every_mode_of_every_part_is_seen_somewhere(ledger: tuple[str, Ledger]) -> None:
    name, whole = ledger
    # a hundredth of a volt or of an ohm
    seen = (whole.needle_moved >= NEEDLE) | (whole.reading_moved >= 1e-2)
    assert unmoved(name, ~seen, lambda needle, reading: needle >= NEEDLE or reading >= 1e-2) == []


def test_every_mode_of_every_part_moves_a_needle_somewhere(ledger: tuple[str, Ledger]) -> None:
    name, whole = ledger
    # of a needle whose direction is a ratio of currents the supply cancels; meters see it, as tested above.
    # Where no sender is on the engine, its strap carries what charges the battery and nothing else
    circuit = find(name)
    tanks = all(
        part.place == "tank" for part in circuit.sheet.parts.values() if part.kind.endswith("_sender")
    )
    supply = [False, *(is_supply(fault, tanks) for fault in all_faults(circuit))]
    still = (whole.needle_moved < NEEDLE) & ~np.array(supply)
    assert unmoved(name, still, lambda needle, _: needle >= NEEDLE) == []


def is_supply(fault: Fault, tanks: bool) -> bool:
    return fault.part.kind in ("battery", "charging") or (tanks and fault.part.id == "engine_strap")


def unmoved(name: str, still: Booleans, moves: Callable[[float, float], bool]) -> list[str]:
    """Of the faults that the walk in turns left still those that move nothing, whatever check and state."""
    circuit = find(name)
    return [
        fault.id
        for row, fault in enumerate(all_faults(circuit), start=1)
        if still[row] and not is_right(fault) and not any(moves(*moved) for moved in each_moved(circuit, row))
    ]


def each_moved(circuit: Circuit, row: int) -> Iterator[tuple[float, float]]:
    """How far a fault, at its worst, moves a needle and a reading under each check in each state."""
    rows = Rows(circuit)
    own = [0, *(1 + (row - 1) * TURNS + turn for turn in range(TURNS))]
    for state in circuit.sheet.states:
        for check in electrical_checks(circuit):
            situation = Situation.of(circuit, state, check)
            shown = respond(
                situation, without_process(rows.all(situation.parameters).take(own), situation.fixed)
            )
            needles = [np.nan_to_num(stand, nan=UNDRIVEN) for stand in shown.positions.values()]
            reading = np.zeros(1) if shown.reading is None else shown.reading
            yield (
                max(float(np.abs(stand - stand[0]).max()) for stand in needles),
                float(np.abs(reading - reading[0]).max()),
            )
