"""Every kind of movement has all that is asked of one."""

from dataclasses import fields

import pytest

from gaugesim.circuit import available, find
from gaugesim.movement import MOVEMENTS, Gauge


@pytest.mark.parametrize("name", MOVEMENTS)
def test_it_has_its_words_and_its_constants(name: str) -> None:
    kind = MOVEMENTS[name]
    assert set(kind.constants) < {field.name for field in fields(Gauge)}
    assert kind.along_field == (kind.winding == "")


def test_some_circuit_has_it() -> None:
    found = {gauge.movement for name in available() for gauge in find(name).sheet.gauges.values()}
    assert found == set(MOVEMENTS)
