"""A user's own counts of past repairs: what they make of the shares, by hand, and each mistake by its key."""

from pathlib import Path

import pytest

from gaugesim.circuit import Circuit, find
from gaugesim.errors import CaseError
from gaugesim.evidence.history import PastRepair, PastRepairs, effect_on, learn, read
from gaugesim.scenario.fault import all_faults


@pytest.fixture(scope="module")
def circuit() -> Circuit:
    return find("temp_two_coil")


@pytest.fixture(scope="module")
def cluster() -> Circuit:
    return find("cluster_bimetal_5v")


def shares(circuit: Circuit) -> dict[str, float]:
    """Prior share of each fault."""
    weights = {fault.id: fault.weight for fault in all_faults(circuit)}
    total = sum(weights.values())
    return {name: weight / total for name, weight in weights.items()}


def of_parts(circuit: Circuit) -> dict[str, float]:
    result: dict[str, float] = {}
    for name, share in shares(circuit).items():
        part = name.partition("=")[0]
        result[part] = result.get(part, 0.0) + share
    return result


def with_counts(circuit: Circuit, *entries: PastRepair, worth: float = 30.0) -> Circuit:
    (learned,) = learn([circuit], PastRepairs("mine", entries, worth))
    return learned


def test_a_count_of_a_fault_is_the_dirichlet_mean(circuit: Circuit) -> None:
    before = shares(circuit)
    after = shares(with_counts(circuit, PastRepair("sender", "short", 7.0), worth=20.0))
    for fault, share in before.items():
        counted = 7.0 if fault == "sender=short" else 0.0
        assert after[fault] == pytest.approx((20.0 * share + counted) / 27.0, rel=1e-12)


def test_a_count_of_a_part_leaves_its_ways_as_they_were(circuit: Circuit) -> None:
    before, after = shares(circuit), shares(with_counts(circuit, PastRepair("sender", None, 10.0)))
    part = of_parts(circuit)["sender"]
    for fault, share in before.items():
        grown = (30.0 * part + 10.0) / part if fault.startswith("sender=") else 30.0
        assert after[fault] == pytest.approx(grown * share / 40.0, rel=1e-12)


def test_a_count_without_a_gauge_leaves_the_gauges_as_they_were(cluster: Circuit) -> None:
    before, after = of_parts(cluster), of_parts(with_counts(cluster, PastRepair("sender", None, 12.0)))
    senders = ["fuel_sender", "temperature_sender", "oil_pressure_sender"]
    together = sum(before[name] for name in senders)
    assert sum(after[name] for name in senders) == pytest.approx((30.0 * together + 12.0) / 42.0, rel=1e-12)
    for name in senders:
        assert after[name] / before[name] == pytest.approx(after["fuel_sender"] / before["fuel_sender"])
    # and one with a gauge is of that gauge alone
    own = of_parts(with_counts(cluster, PastRepair("fuel_sender", None, 12.0)))
    assert own["fuel_sender"] == pytest.approx((30.0 * before["fuel_sender"] + 12.0) / 42.0, rel=1e-12)
    assert own["oil_pressure_sender"] == pytest.approx(30.0 * before["oil_pressure_sender"] / 42.0, rel=1e-12)


def test_many_counts_are_their_own_shares(circuit: Circuit) -> None:
    many = PastRepair("sender", "open", 6e6), PastRepair("fuse", "open", 4e6)
    after = shares(with_counts(circuit, *many))
    assert after["sender=open"] == pytest.approx(0.6, abs=1e-4)
    assert after["fuse=open"] == pytest.approx(0.4, abs=1e-4)


def test_no_count_changes_nothing(circuit: Circuit) -> None:
    after = shares(with_counts(circuit, PastRepair("sender", "open", 0.0)))
    assert after == pytest.approx(shares(circuit), rel=1e-12)


def test_what_was_counted_elsewhere_is_left_out(circuit: Circuit, cluster: Circuit) -> None:
    entries = (
        PastRepair("sender", None, 3.0),
        PastRepair("regulator", None, 5.0),
        PastRepair("fuse", None, 7.0, ("cluster_*",)),
    )
    past = PastRepairs("mine", entries)
    single, several = learn([circuit, cluster], past)
    effect = effect_on(circuit, single, past)
    assert (effect.counted, effect.elsewhere) == (3.0, 12.0)
    assert shares(single)["fuse=open"] < shares(circuit)["fuse=open"]
    effect = effect_on(cluster, several, past)
    assert (effect.counted, effect.elsewhere) == (15.0, 0.0)


def test_the_largest_change_is_told_first(circuit: Circuit) -> None:
    past = PastRepairs("mine", (PastRepair("fuse", "open", 9.0), PastRepair("sender", "open", 1.0)))
    effect = effect_on(circuit, *learn([circuit], past), past)
    assert effect.shares[0].fault == "fuse=open"
    assert sum(share.before for share in effect.shares) == pytest.approx(1.0)
    assert sum(share.after for share in effect.shares) == pytest.approx(1.0)


def test_a_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "repairs.toml"
    path.write_text(
        'sheet_worth = 12\n[[history]]\npart = "sender"\ncount = 3\n'
        '[[history]]\npart = "fuse"\nmode = "open"\ncount = 2\ncircuit = "temp_*"\n'
    )
    past = read(path)
    assert past.sheet_worth == 12.0
    told = [(entry.part, entry.mode, entry.count, entry.circuits) for entry in past.entries]
    assert told == [("sender", None, 3.0, ()), ("fuse", "open", 2.0, ("temp_*",))]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", r"repairs.toml: has no \[\[history\]\] entry; write"),
        ("[[history]]\ncount = 3", r"history\[1\].part: is missing; give a text"),
        ('[[history]]\npart = "sender"', r"history\[1\].count: is missing; give a number from 0 to"),
        ('[[history]]\npart = "sender"\ncount = -1', r"history\[1\].count: is -1; give a number"),
        ('[[history]]\npart = "sender"\ncount = nan', r"history\[1\].count: is nan; give a number"),
        ('[[history]]\npart = "sendr"\ncount = 1', r"history\[1\].part: .*'sendr'; did you mean sender"),
        (
            '[[history]]\npart = "fuse"\ncount = 1\n[[history]]\npart = "fuse"\nmode = "opn"\ncount = 1',
            r"history\[2\].mode: no choice is called 'opn'; did you mean open",
        ),
        (
            '[[history]]\npart = "fuse"\nmode = "dead_spot"\ncount = 1',
            r"history\[1\].mode: no mode of fuse is called 'dead_spot'; there are",
        ),
        (
            '[[history]]\npart = "fuse"\ncount = 1\ncircuit = "temp_to_coil"',
            r"history\[1\].circuit: no circuit is called 'temp_to_coil'; did you mean temp_two_coil",
        ),
        ('[[history]]\npart = "fuse"\ncount = 1\nway = "open"', r"history\[1\].way: no key here"),
        ('sheet_worth = 0\n[[history]]\npart = "fuse"\ncount = 1', "repairs.toml: sheet_worth: is 0; give"),
    ],
)
def test_a_mistake_is_told_by_its_key(tmp_path: Path, circuit: Circuit, text: str, told: str) -> None:
    path = tmp_path / "repairs.toml"
    path.write_text(text)
    with pytest.raises(CaseError, match=told):
        learn([circuit], read(path))


def test_a_part_of_another_circuit_is_no_mistake(tmp_path: Path, circuit: Circuit) -> None:
    path = tmp_path / "repairs.toml"
    path.write_text('[[history]]\npart = "fuel_sender_wire"\nmode = "to_ground"\ncount = 2\n')
    past = read(path)
    effect = effect_on(circuit, *learn([circuit], past), past)
    assert (effect.counted, effect.elsewhere) == (0.0, 2.0)
