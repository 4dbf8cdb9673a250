from __future__ import annotations

import pytest

from gaugesim.physics import meter


def test_the_ohmmeter_knows_its_range() -> None:
    assert meter.is_open([40e6, 1e9, float("inf")]).tolist() == [False, True, True]


def test_bad_input_is_refused() -> None:
    with pytest.raises(ValueError, match="highest_ohms must be above zero"):
        meter.is_open(1.0, 0.0)
