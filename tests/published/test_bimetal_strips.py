"""Heated bimetal strips against published worked examples.

Laws: Timoshenko, J. Opt. Soc. Am. & Rev. Sci. Instrum. 11 (1925) 233–255; Clyne (1996), as taught by
DoITPoMS, University of Cambridge; ASTM B106-08(2013), 3.1.2 (flexivity).
"""

from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics.bimetal_strip import (
    arc_tip_deflection,
    curvature,
    equal_layer_curvature,
    flexivity,
    specific_tip_deflection,
    tip_deflection,
)

# Trade table of thermostatic metals, DIN-style names: specific curvature and specific deflection, 1e-6/K,
# 20 to 130 degrees Celsius, ± 5 % (scribd 95298758)
TRADE_TABLE = {"TB 230/110": (43.0, 23.0), "TB 208/110": (39.0, 20.8), "TB 200/108": (37.5, 20.0),
               "TB 155/78": (28.5, 15.5)}  # fmt: skip


def test_equal_layers_bend_by_one_and_a_half() -> None:
    """Timoshenko (1925), m = n = 1: 1.5 Δα ΔT/h."""
    assert curvature(18e-6, 75.0, 0.8e-3) == pytest.approx(1.5 * 18e-6 * 75.0 / 0.8e-3, rel=1e-12)


def test_half_the_stiffness_bends_three_percent_less() -> None:
    """Timoshenko (1925), n = 1/2: 48/33 (quoted from memory, and recomputed from the law beside n = 1)."""
    half = curvature(18e-6, 75.0, 0.8e-3, 1.0, 0.5) / (18e-6 * 75.0 / 0.8e-3)
    assert half == pytest.approx(48 / 33, rel=1e-12)
    assert 1 - half / 1.5 == pytest.approx(0.03, abs=0.005)


@pytest.mark.parametrize("modulus_ratio", [0.3, 1.0, 12.7])
def test_two_derivations_of_equal_layers_agree(modulus_ratio: float) -> None:
    """Clyne (1996): Δε = κ h (E* + 14 + 1/E*)/12, against Timoshenko (1925)."""
    bent = equal_layer_curvature(1.7e-3, 0.5e-3, modulus_ratio)
    assert bent * 0.5e-3 * (modulus_ratio + 14 + 1 / modulus_ratio) / 12 == pytest.approx(1.7e-3, rel=1e-12)
    assert bent == pytest.approx(float(curvature(1.7e-3, 1.0, 1e-3, 1.0, modulus_ratio)), rel=1e-9)


def test_finite_element_verification_example() -> None:
    """Verification example 0078 (inputs: scribd 682806004); results recomputed from its equation."""
    bent = curvature(20e-6 - 1.2e-6, 100.0, 2e-3, 1.0, 137 / 130)
    assert tip_deflection(bent, 0.1) * 1e3 == pytest.approx(7.0488, abs=5e-5)
    assert arc_tip_deflection(bent, 0.1) * 1e3 == pytest.approx(7.0371, abs=5e-5)


def test_finite_element_example_of_a_long_beam() -> None:
    """Example E.15, jrcho.github.io/Hyfeast: 3L²ΔαΔT/(4h); its elements give 5.6755 mm (printed as m)."""
    found = tip_deflection(curvature(5e-6, 50.0, 0.3), 3.0) * 1e3
    assert found == pytest.approx(5.625, abs=5e-4)
    assert found == pytest.approx(5.6755, rel=0.01)


def test_textbook_example_brass_on_invar() -> None:
    """Experimental Methods for Engineers, example 8.1 (inputs from memory), beside Clyne's law."""
    bent = curvature(18.5e-6, 70.0, 0.6e-3, 1.0, 147 / 96.5)
    assert 1 / bent == pytest.approx(0.3124, abs=5e-5)
    assert tip_deflection(bent, 0.06) * 1e3 == pytest.approx(5.745, abs=0.02)
    assert bent == pytest.approx(float(equal_layer_curvature(18.5e-6 * 70.0, 0.3e-3, 147 / 96.5)), rel=1e-9)


def test_measured_strip_of_the_teaching_package() -> None:
    """DoITPoMS: 40 mm at 189 mm gives 2.1 /m; with 1 mm layers, 70 and 5.5 GPa and -213 K, 4.5e-5 /K.

    That is the softer layer's own expansion; aluminum's 2.3e-5 /K (handbook value, from memory) is in it.
    """
    # The package's construction is the circle through the tip: x² + δ² = 2 δ R.
    bent = 2 * 0.04 / (0.189**2 + 0.04**2)
    assert bent == pytest.approx(2.1, abs=0.05)
    difference = bent / float(equal_layer_curvature(1.0, 1e-3, 70 / 5.5)) / 213
    assert difference + 2.3e-5 == pytest.approx(4.5e-5, abs=0.05e-5)


def test_flexivity_by_its_definition() -> None:
    """ASTM B106-08(2013), 3.1.2: F = (1/R2 − 1/R1)·t/(T2 − T1), for Timoshenko's strip 1.5 Δα."""
    radii = [1 / float(curvature(18e-6, rise, 0.5e-3)) for rise in (10.0, 90.0)]
    by_hand = (1 / radii[1] - 1 / radii[0]) * 0.5e-3 / 80
    assert flexivity(1 / radii[0], 1 / radii[1], 0.5e-3, 30.0, 110.0) == pytest.approx(by_hand, rel=1e-12)
    assert by_hand == pytest.approx(1.5 * 18e-6, rel=1e-9)


@pytest.mark.parametrize("name", TRADE_TABLE)
def test_trade_tables_of_specific_deflection_are_not_pure_geometry(name: str) -> None:
    """Trade table, scribd 95298758 (columns as in DIN 1715): a/k is 0.52 to 0.55, geometry gives 0.50.

    So a strip must be reckoned either by its table or by its geometry, and the two functions differ.
    """
    specific_curvature, specific_deflection = (value * 1e-6 for value in TRADE_TABLE[name])
    by_table = specific_tip_deflection(specific_deflection, 100.0, 0.04, 0.4e-3)
    by_geometry = tip_deflection(specific_curvature * 100.0 / 0.4e-3, 0.04)
    assert 0.524 - 5e-4 <= 0.5 * by_table / by_geometry <= 0.544 + 5e-4
    # the ± 5 % of the table do not bridge it
    assert by_table / by_geometry > 1.04


def test_shape_of_the_arc() -> None:
    """Circular arc: δ = (1 − cos κL)/κ, and κL²/2 for a small angle."""
    length = np.array([0.01, 0.1, 0.5])
    np.testing.assert_allclose(arc_tip_deflection(2.0, length), (1 - np.cos(2.0 * length)) / 2.0, rtol=1e-12)
    assert tip_deflection(2.0, 0.1) == pytest.approx(0.01)
