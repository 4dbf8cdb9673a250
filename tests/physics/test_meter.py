from __future__ import annotations

from gaugesim.physics import meter


def test_the_ohmmeter_knows_its_range() -> None:
    assert meter.is_open([40e6, 1e9, float("inf")]).tolist() == [False, True, True]
