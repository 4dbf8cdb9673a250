"""The independent programs themselves: that they answer, and answer as they are known to.

Every other comparison in this folder leans on them, so a changed answer must be seen here first.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from thermistor_utils import SH_converter

# A 14 V chain of foil, coil and ground, with a coil and its sender in parallel: by lcapy and by hand the same
CHAIN = """V1 1 0 {14}
R1 1 2 {1/10}
R2 2 3 {200}
R3 3 4 {100}
R4 4 5 {1/2}
R5 5 0 {1/20}
R6 2 6 {200}
R7 6 5 {90}"""
RESISTORS = [
    (1, 2, 0.1),
    (2, 3, 200.0),
    (3, 4, 100.0),
    (4, 5, 0.5),
    (5, 0, 0.05),
    (2, 6, 200.0),
    (6, 5, 90.0),
]


def by_nodes() -> np.ndarray:
    """Node voltages 2 to 6, node 1 held at 14 V."""
    conductances = np.zeros((7, 7))
    for start, end, ohms in RESISTORS:
        for node, other in ((start, end), (end, start)):
            conductances[node, node] += 1 / ohms
            conductances[node, other] -= 1 / ohms
    return np.linalg.solve(conductances[2:, 2:], -conductances[2:, 1] * 14.0)


def test_exact_circuit(exact_volts) -> None:
    """lcapy: node 3 stands at exactly 16337734/3489343 V; the node voltages by numpy agree."""
    assert exact_volts(CHAIN, 3) == Fraction(16337734, 3489343)
    assert float(exact_volts(CHAIN, 3)) == pytest.approx(4.682180570955621, rel=1e-15)
    assert by_nodes()[1] == pytest.approx(4.682180570955621, rel=1e-12)


def test_thermistor() -> None:
    """thermistor-utils: coefficients of its own README."""
    converter = SH_converter.from_points([(0, 27445), (25, 10000), (50, 4160)])
    assert pytest.approx(8.402250578523375e-4, rel=1e-12) == converter.A
