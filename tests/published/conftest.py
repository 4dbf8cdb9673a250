"""What the comparisons with outside sources share."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest
from lcapy import Circuit


@pytest.fixture(scope="session")
def exact_volts() -> Callable[[str, int], Fraction]:
    """Node voltage of a direct-current netlist as an exact fraction, by lcapy (symbolic circuit analysis)."""

    def solve(netlist: str, node: int) -> Fraction:
        volts = Circuit(netlist)[node].V.dc.expr
        return Fraction(int(volts.p), int(volts.q))

    return solve
