"""Likelihood tables: on every circuit rows sum to one and none decides alone; words against hand values."""

from statistics import NormalDist
from types import SimpleNamespace

import numpy as np
import pytest
from evidence.entries import every_kind

from gaugesim import vocabulary
from gaugesim.arrays import Floats
from gaugesim.case import parse
from gaugesim.circuit import available, find
from gaugesim.evidence import behaviour
from gaugesim.evidence import likelihood as like
from gaugesim.evidence import observation as obs
from gaugesim.evidence.bind import observations
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.observable import Observation
from gaugesim.evidence.prediction import Prediction
from gaugesim.reading.words import NEEDLE_WORDS
from gaugesim.sheet import FOUND

NORMAL = NormalDist()
# two slices show the same tables as fifteen, sooner
SLICES = 2


@pytest.fixture(scope="module", params=available())
def told(request: pytest.FixtureRequest) -> tuple[Cells, tuple[Observation, ...]]:
    """The cells of a circuit, and one observation of every kind on it."""
    circuit = find(request.param)
    gauge = next(iter(circuit.sheet.gauges))
    cells = Cells(circuit, SLICES)
    case = parse({"circuit": circuit.id, "gauge": gauge, **every_kind(circuit, gauge)})
    return cells, observations(case, cells, gauge)


def test_every_way_of_telling_is_there(told: tuple[Cells, tuple[Observation, ...]]) -> None:
    _, entries = told
    classes = {entry.observable.classes for entry in entries}
    assert {
        NEEDLE_WORDS,
        JUDGED_OR_DEAD,
        vocabulary.CHANGE.classes,
        vocabulary.VOLTS.classes,
        vocabulary.OHMS.classes,
        vocabulary.LAMP.classes,
        vocabulary.LOOKS.classes,
        vocabulary.HEAT.classes,
        behaviour.DEAD,
        vocabulary.MOVES.classes,
        behaviour.FOLLOWS,
        vocabulary.JUMP.classes,
        vocabulary.RESULT.classes,
        FOUND,
    } <= classes
    assert {entry.observable.unit for entry in entries} == {"", "position", "volts", "log ohms"}


def test_rows_of_every_table_sum_to_one(told: tuple[Cells, tuple[Observation, ...]]) -> None:
    cells, entries = told
    acting = np.flatnonzero(cells.intermittent)
    for entry in entries:
        observable = entry.observable
        if observable.table is None:
            continue
        assert observable.table.shape == (len(cells.fault), len(observable.classes))
        assert observable.table.min() >= -1e-12, entry.subject
        np.testing.assert_allclose(observable.table.sum(axis=1), 1.0, atol=1e-12, err_msg=entry.subject)
        np.testing.assert_allclose(observable.slipped.sum(axis=1), 1.0, atol=1e-12, err_msg=entry.subject)
        now_and_then = observable.by_duty(acting, np.zeros_like(acting))
        assert now_and_then.shape == (len(like.DUTIES), len(acting), len(observable.classes))
        np.testing.assert_allclose(now_and_then.sum(axis=2), 1.0, atol=1e-12, err_msg=entry.subject)


def test_no_answer_decides_alone(told: tuple[Cells, tuple[Observation, ...]]) -> None:
    """Contamination: of n words, none says more than (1 - e + e/n)/(e/n) for one fault against another."""
    cells, entries = told
    acting = np.flatnonzero(cells.intermittent)
    for entry in entries:
        observable = entry.observable
        if observable.table is None:
            least = like.SLIP * observable.broad
            far = observable.density(np.array([observable.lowest, observable.lowest + 1 / observable.broad]))
            assert far.min() >= least * (1 - 1e-12), entry.subject
            continue
        n = len(observable.classes)
        slip = observable.statement.slip
        most = (1 - slip + slip / n) / (slip / n)
        chances = np.concatenate([observable.slipped, *observable.by_duty(acting, np.zeros_like(acting))])
        assert chances.min() >= slip / n * (1 - 1e-9), entry.subject
        assert (chances.max(axis=0) / chances.min(axis=0)).max() <= most * (1 + 1e-9), entry.subject


def test_the_constants_are_shares() -> None:
    for shares in (
        *(vocabulary.RESULT.row(of) for of in ("right", "wrong", "disturbed", "overloaded", "half")),
        *(vocabulary.OFTEN.row(of) for of in ("steady", "intermittent")),
        *(vocabulary.MOVES.row(of) for of in ("steady", "steady_heated")),
    ):
        assert sum(shares.values()) == pytest.approx(1.0, abs=1e-12)
    assert sum(like.FOUND_SHARES) < 1.0
    assert like.DUTIES.mean() == pytest.approx(0.2, abs=0.01)  # Beta(1, 4) has the mean 1/5


@pytest.fixture
def _widths(monkeypatch: pytest.MonkeyPatch) -> None:
    """The widths that the values by hand are worked out for, whatever they are tuned to."""
    widths = {
        "NOTICED_LIMIT": 0.15,
        "STILL_LIMIT": 0.10,
        "STILL_SPREAD": 0.05,
        "FOLLOWS_SHARE": 0.6,
        "FOLLOWS_SPREAD": 0.10,
        "REST_LIMIT": 0.06,
        "REST_SPREAD": 0.04,
        "CALLED_DEAD": 0.9,
        "OHM_HIGH_FACTOR": 2.0,
        "METER_SHARE": 0.005,
        "METER_VOLTS": 0.03,
        "METER_OHMS": 0.15,
        "METER_SHARE_OHMS": 0.01,
        "OHMS_FLOOR": 0.3,
        "PULSING_SHARE": 0.15,
        "SPEAKS_OF_ONE": 0.3,
        "CALLED_DEAD_OR_LOW": 0.6,
        "SILENT_ABNORMAL": 0.25,
        "SILENT_NORMAL": 0.97,
    }
    for name, value in widths.items():
        monkeypatch.setattr(like, name, value)
    said = {
        "air_core": {"slowly": 0.08, "at_once": 0.87, "jumps": 0.05},
        "bimetal": {"slowly": 0.87, "at_once": 0.11, "jumps": 0.02},
    }
    monkeypatch.setattr(behaviour, "said_to_move", lambda when, movement: said[movement])
    for module, name, limits, spread in (
        (obs, "NEEDLE", (0.125, 0.375, 0.625, 0.875), 0.08),
        (obs, "JUDGED", (-0.10, 0.10), 0.05),
        (behaviour, "JUDGED", (-0.10, 0.10), 0.05),
        (obs, "CHANGE", (-0.05, 0.05), 0.04),
        (obs, "VOLTS", (0.05, 0.90), 0.03),
        (obs, "OHMS", (0.0, 6.0), 0.15),
        (obs, "LAMP_WORDS", (0.2, 0.7), 0.07),
    ):
        monkeypatch.setattr(module, name, SimpleNamespace(limits=limits, spread=spread))


JUDGED_OR_DEAD = (*vocabulary.JUDGED.classes, "dead")
BY_HAND = pytest.mark.usefixtures("_widths")


def steady(*values: float, deviation: float = 0.0) -> Prediction:
    """A value that does not pulse, with its tolerance."""
    mean = np.array(values)
    return Prediction(mean, ("tolerance",), np.full((1, len(mean)), deviation), np.zeros(len(mean), bool))


def between(value: float, low: float, high: float, wide: float) -> float:
    """Probability that a normal value lies between two limits."""
    return NORMAL.cdf((high - value) / wide) - NORMAL.cdf((low - value) / wide)


def row(table: Floats, words: tuple[str, ...]) -> dict[str, float]:
    return dict(zip(words, table[0].tolist(), strict=True))


@BY_HAND
def test_needle_words_by_hand() -> None:
    """Half reaches from 3/8 to 5/8 of the scale, placed by people to 0.08 of it."""
    gauge = find("temp_opposed_coil").gauge()
    words = row(obs.needle_table(gauge, steady(0.5)), NEEDLE_WORDS)
    # 2 Phi(0.125/0.08) - 1, from a table of the normal distribution: Phi(1.5625) = 0.94093
    assert words["half"] == pytest.approx(0.88186, abs=1e-4)
    assert words["quarter"] == pytest.approx(words["three_quarters"], abs=1e-12)
    # with a tolerance of 0.06 the width is 0.10, by Pythagoras: 2 Phi(1.25) - 1, Phi(1.25) = 0.89435
    words = row(obs.needle_table(gauge, steady(0.5, deviation=0.06)), NEEDLE_WORDS)
    assert words["half"] == pytest.approx(0.78870, abs=1e-4)
    # at the limit between two words they are even
    words = row(obs.needle_table(gauge, steady(0.375)), NEEDLE_WORDS)
    assert words["quarter"] == pytest.approx(words["half"], abs=1e-3)
    # of a needle on its stop some say that it is there, the others that it is at that end; nobody calls it
    # half
    words = row(obs.needle_table(gauge, steady(gauge.stops[1])), NEEDLE_WORDS)
    assert words["pegged_high"] + words["high"] > 0.9
    assert min(words["pegged_high"], words["high"]) > 0.25
    # more of them at the high stop, where no needle rests
    low = row(obs.needle_table(gauge, steady(gauge.stops[0])), NEEDLE_WORDS)
    assert low["pegged_low"] + low["low"] > 0.9
    assert low["pegged_low"] < words["pegged_high"]
    # one that nothing drives lies low mostly, and may be anywhere
    words = row(obs.needle_table(gauge, steady(np.nan)), NEEDLE_WORDS)
    assert words["pegged_low"] + words["low"] == pytest.approx(
        like.RESTS_LOW + 0.125 * (1 - like.RESTS_LOW), abs=0.04
    )
    assert min(words.values()) > 0.0


@BY_HAND
@pytest.mark.parametrize("off", [-0.3, -0.1, 0.0, 0.04, 0.1, 0.25])
def test_judged_words_by_hand(off: float) -> None:
    words = row(obs.judged_table(steady(0.6 + off, deviation=0.03), 0.6, rest=-0.5), JUDGED_OR_DEAD)
    wide = (0.05**2 + 0.03**2) ** 0.5
    assert words["normal"] == pytest.approx(between(off, -0.1, 0.1, wide), abs=1e-12)
    assert words["reads_high"] == pytest.approx(between(off, 0.1, np.inf, wide), abs=1e-12)


@BY_HAND
@pytest.mark.parametrize(("stands", "truth"), [(0.02, 0.6), (np.nan, 0.6), (0.02, 0.05), (0.4, 0.6)])
def test_of_a_needle_that_lies_where_it_always_lies_some_say_that_it_is_dead(
    stands: float, truth: float
) -> None:
    words = row(obs.judged_table(steady(stands), truth, rest=0.0), JUDGED_OR_DEAD)
    lies = 1.0 if np.isnan(stands) else between(stands, -0.06, 0.06, 0.04)
    # unless it belongs there
    assert words["dead"] == pytest.approx(0.6 * lies if truth > 0.06 else 0.0, abs=1e-12)
    assert sum(words.values()) == pytest.approx(1.0)
    low = 1 / 3 if np.isnan(stands) else between(stands - truth, -np.inf, -0.1, 0.05)
    assert words["reads_low"] == pytest.approx(low * (1 - words["dead"]), abs=1e-12)


@BY_HAND
@pytest.mark.parametrize("moved", [-0.2, 0.0, 0.03, 0.05, 0.4])
def test_changes_by_hand(moved: float) -> None:
    words = row(obs.change_table(steady(moved)), vocabulary.CHANGE.classes)
    assert words["rises"] == pytest.approx(between(moved, 0.05, np.inf, 0.04), abs=1e-12)
    assert words["falls"] == pytest.approx(between(moved, -np.inf, -0.05, 0.04), abs=1e-12)


@BY_HAND
def test_words_of_meters_by_hand() -> None:
    words = row(obs.volts_table(steady(6.25), 12.5), vocabulary.VOLTS.classes)
    # half of the battery's voltage is thirteen widths from either limit
    assert words == pytest.approx({"none": 0.0, "low": 0.99, "battery": 0.0, "pulsing": 0.01}, abs=1e-12)
    # at nine tenths of it, "low" and "battery" are even; the sign does not matter
    for volts in (11.25, -11.25):
        words = row(obs.volts_table(steady(volts), 12.5), vocabulary.VOLTS.classes)
        assert words["low"] == pytest.approx(0.495, abs=1e-9)
        assert words["battery"] == pytest.approx(0.495, abs=1e-9)
    # 70 ohm sound: "high" from twice that; 140 ohm is even
    words = row(obs.ohms_table(steady(140.0), 70.0), vocabulary.OHMS.classes)
    assert words["sound"] == pytest.approx(0.5, abs=2e-3)
    assert words["high"] == pytest.approx(0.5, abs=2e-3)
    words = row(obs.ohms_table(steady(1e9), 70.0), vocabulary.OHMS.classes)
    assert words["open"] > 0.999
    words = row(obs.lamp_table(steady(0.0)), vocabulary.LAMP.classes)
    # a dead lamp: 0.2 of its volts is 2.857 widths away, Phi(2.857) = 0.99786, and 0.01 say that it flashes
    assert words["out"] == pytest.approx(0.99 * 0.99786, abs=1e-5)


def test_a_resistance_far_out_in_a_table_is_open() -> None:
    words = row(obs.log_ohms_table(steady(1000.0), 70.0), vocabulary.OHMS.classes)
    assert words["open"] == pytest.approx(1)


@BY_HAND
def test_manners_by_hand() -> None:
    """What a needle is said to do, with no tolerance: "never" is within a tenth, give or take half of it."""
    words = row(behaviour.moves_table(steady(0.1), "air_core"), vocabulary.MOVES.classes)
    # Phi(0) - Phi(-4) = 0.49997
    assert words["never"] == pytest.approx(0.49997, abs=1e-5)
    assert words["at_once"] == pytest.approx(0.50003 * 0.87, abs=1e-5)
    words = row(behaviour.moves_table(steady(0.6), "bimetal"), vocabulary.MOVES.classes)
    assert words["slowly"] == pytest.approx(0.87, abs=1e-6)
    # follows: 0.6 of what it should, give or take a tenth of the scale
    words = row(behaviour.follows_table(steady(0.48), 0.8), behaviour.FOLLOWS)
    assert words["follows"] == pytest.approx(0.5, abs=1e-9)
    words = row(behaviour.follows_table(steady(-0.48), 0.8), behaviour.FOLLOWS)
    assert words["follows"] < 1e-6
    # at rest nine in ten call it dead: 2 Phi(0.06/0.04) - 1 = 0.86639 of those
    words = row(behaviour.dead_table(steady(0.0)), behaviour.DEAD)
    assert words["dead"] == pytest.approx(0.9 * 0.86639, abs=1e-5)
    # three in ten speak of one gauge only; else one at its place goes unmentioned with 0.97, one far off
    # with 0.25
    beside = {0.0: 0.97 * 0.99730 + 0.25 * 0.00270, 0.9: 0.25}
    for off in ([0.0], [0.9], [0.0, 0.9], [0.9, 0.9]):
        right = np.array([behaviour.noticed_table(steady(one))[:, 0] for one in off])
        words = row(behaviour.mentioned_table(right), behaviour.MENTIONED)
        each = np.prod([beside[one] for one in off])
        assert words["not_mentioned"] == pytest.approx(0.3 + 0.7 * each, abs=1e-5)


@BY_HAND
def test_numbers_by_hand() -> None:
    shown, noise = obs.log_ohms(steady(70.0, deviation=7.0))
    assert shown.mean[0] == pytest.approx(np.log(70.3), abs=1e-12)
    assert shown.deviation[0] == pytest.approx(7.0 / 70.3, abs=1e-12)
    assert noise[0] == pytest.approx(0.01 + 0.15 / 70.3, abs=1e-12)
    # anything beyond the meter's range reads the same
    shown, _ = obs.log_ohms(steady(5e7, 1e9, np.inf))
    assert np.ptp(shown.mean) == 0.0
    assert shown.mean[0] == obs.log_of_ohms(float("inf"))
    # half a percent and 0.03 V of 12 V; a pulsing point wanders by 0.15 of what it shows
    assert obs.volts_noise(steady(12.0))[0] == pytest.approx(0.09, abs=1e-12)
    pulsing = Prediction(np.array([5.0]), (), np.zeros((0, 1)), np.array([True]))
    assert obs.volts_noise(pulsing)[0] == pytest.approx(0.055 + 0.75, abs=1e-12)
