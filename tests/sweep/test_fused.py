"""The compiled loops: a needle's direction, and where nothing compiled can be kept."""

from collections.abc import Callable
from typing import Any

import numba
import numpy as np
import pytest

from gaugesim.circuit import find
from gaugesim.reading import situation
from gaugesim.scenario.fault import find_fault
from gaugesim.sweep import fused, pairs


def test_a_needle_points_along_the_field() -> None:
    generator = np.random.default_rng(3)
    along, across = generator.normal(size=(2, 4000)) * 10.0 ** generator.uniform(-1, 6, 4000)
    corners = np.array([[2.0, 0.0], [-2.0, 0.0], [0.0, 2.0], [0.0, -2.0], [0.6, 0.6], [0.0, 0.0]])
    along, across = np.append(along, corners[:, 0]), np.append(across, corners[:, 1])
    stand = np.empty(len(along))
    with np.errstate(invalid="ignore"):
        fused.turned(along, across, 0.7, (-1.5, 1.9), stand)
    angle = np.arctan2(across, along)
    # straight away from the middle is below the low mark
    angle[(across == 0) & (along < 0)] = -np.pi
    wanted = np.where(np.hypot(along, across) >= 1, np.clip(0.5 + 0.7 * angle, -1.5, 1.9), np.nan)
    assert np.isnan(wanted[-2:]).all()
    assert 100 < np.isnan(wanted).sum() < 2000
    assert (wanted == -1.5).any()
    assert (wanted == 1.9).any()
    np.testing.assert_allclose(stand, wanted, rtol=0, atol=2e-15)


def test_where_nothing_can_be_kept_it_is_compiled_again(monkeypatch: pytest.MonkeyPatch) -> None:
    circuit = find("temp_two_coil")
    faults = [find_fault(circuit, name) for name in ("fuse=high", "sender_wire=high", "sender=drift_up")]
    swept = pairs(situation(circuit), faults)
    kept = [rows.response.positions["temperature"] for rows in swept.quick.blocks()]
    compiler, tried = numba.njit, []

    def nowhere(**options: Any) -> Callable[..., Any]:
        tried.append(options.pop("cache", False))
        if tried[-1]:
            raise RuntimeError("cannot cache function: no locator available")
        return compiler(**options)

    monkeypatch.setattr(numba, "njit", nowhere)
    fused.compiled.cache_clear()
    again = [rows.response.positions["temperature"] for rows in swept.quick.blocks()]
    fused.compiled.cache_clear()
    assert tried == [True, False]
    np.testing.assert_array_equal(np.concatenate(again), np.concatenate(kept))
