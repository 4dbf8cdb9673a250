"""How the other gauges are: right, some or all wrong, by Bayes' rule over each of them."""

import numpy as np
import pytest

from gaugesim import case as cases
from gaugesim.consultation import Consultation, consult

DEAD = {"state": "running_warm", "needle": "dead"}


def told(**others: str) -> Consultation:
    seen = [DEAD, *([others] if others else [])]
    return consult(cases.parse({"circuit": "cluster_bimetal_10v", "gauge": "fuel", "seen": seen}))


def chance(job: Consultation, fault: str) -> float:
    return sum(one.probability for one in job.diagnosis.ranking if one.fault == fault)


def test_all_wrong_names_what_they_share() -> None:
    silent, right, every = told(), told(others="right"), told(others="all_wrong")
    for shared in ("fuse=open", "regulator=stuck_open"):
        assert chance(right, shared) < chance(silent, shared) < chance(every, shared)
    assert chance(right, "sender=open") > chance(every, "sender=open")


def test_with_one_other_it_is_as_its_own_needle() -> None:
    """Of one other gauge there are two answers, and a slip; both rows are chances."""
    job = told(others="all_wrong")
    [posterior] = job.diagnosis.posteriors
    [observable] = [one.observable for one in posterior.observations if "rest of the panel" in one.subject]
    # nothing is left for silence to say of the other gauge
    assert not any(one.implied and "temperature" in one.subject for one in posterior.observations)
    assert observable.classes == ("right", "some_wrong", "all_wrong")
    assert observable.table is not None
    assert observable.table.sum(axis=1) == pytest.approx(1.0)
    assert np.allclose(observable.table[:, 1], 0.0)
    names = [None if i < 0 else posterior.cells.faults[i].id for i in posterior.cells.fault]
    assert observable.table[names.index("fuse=open"), 2] > 0.9
    assert observable.table[names.index("fuel_sender=open"), 0] > 0.9


def test_it_is_nothing_to_a_gauge_by_itself() -> None:
    seen = [{"state": "running_warm", "needle": "dead"}]
    alone = {"circuit": "fuel_four_coil", "seen": seen}
    with_it = {"circuit": "fuel_four_coil", "seen": [*seen, {"others": "right"}]}
    first, second = (consult(cases.parse(one)).diagnosis.ranking[:5] for one in (alone, with_it))
    assert [(one.fault, one.probability) for one in first] == [(one.fault, one.probability) for one in second]
