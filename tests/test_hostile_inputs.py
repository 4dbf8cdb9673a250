"""Some hundreds of spoilt inputs: each ends in an answer or in a complaint of one line."""

from pathlib import Path

import pytest
from hostile_inputs import KINDS, attempt

EACH = 40


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_breaks(kind: str, tmp_path: Path) -> None:
    for seed in range(EACH):
        attempt(kind, seed, tmp_path)
