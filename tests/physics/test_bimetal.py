from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import bimetal, bimetal_strip

STOPS = (-0.1, 1.1)


def test_equal_layers_agree_with_the_general_law() -> None:
    ratio, rise = np.meshgrid([0.2, 0.7, 1.0, 1.4, 5.0], [-50.0, 1.0, 120.0])
    general = bimetal_strip.curvature(17e-6, rise, 2 * 0.4e-3, 1.0, ratio)
    np.testing.assert_allclose(
        bimetal_strip.equal_layer_curvature(17e-6 * rise, 0.4e-3, ratio), general, rtol=1e-12
    )


def test_swapping_the_layers_bends_the_strip_the_other_way_by_as_much() -> None:
    there = bimetal_strip.curvature(17e-6, 80.0, 1e-3, 0.6, 1.7)
    back = bimetal_strip.curvature(-17e-6, 80.0, 1e-3, 1 / 0.6, 1 / 1.7)
    assert back == pytest.approx(-there)


def test_curvature_is_the_state_of_least_elastic_energy() -> None:
    """Independent of the closed form: minimize the strain energy over mid-plane stretch and curvature."""
    layers, moduli, expansions = (0.4e-3, 0.7e-3), (140e9, 205e9), (1.2e-6, 19e-6)
    rise, bottom = 90.0, 0.0
    matrix, load = np.zeros((2, 2)), np.zeros(2)
    for thickness, modulus, expansion in zip(layers, moduli, expansions, strict=True):
        top = bottom + thickness
        moments = [(top ** (k + 1) - bottom ** (k + 1)) / (k + 1) for k in range(3)]
        matrix += modulus * np.array([[moments[0], moments[1]], [moments[1], moments[2]]])
        load += modulus * expansion * rise * np.array(moments[:2])
        bottom = top
    stretch_and_slope = np.linalg.solve(matrix, load)
    closed = bimetal_strip.curvature(
        expansions[1] - expansions[0], rise, sum(layers), layers[0] / layers[1], moduli[0] / moduli[1]
    )
    assert closed == pytest.approx(stretch_and_slope[1], rel=1e-9)


def test_the_exact_arc_meets_the_small_angle_and_keeps_its_digits() -> None:
    assert bimetal_strip.arc_tip_deflection(1e-9, 0.1) == pytest.approx(5e-12, rel=1e-12)
    assert bimetal_strip.arc_tip_deflection(0.0, 0.1) == 0.0
    curvature, length = np.array([-4.0, 0.5, 8.0]), 0.2
    expected = (1 - np.cos(curvature * length)) / curvature
    np.testing.assert_allclose(bimetal_strip.arc_tip_deflection(curvature, length), expected, rtol=1e-10)
    assert np.all(np.abs(expected) <= np.abs(bimetal_strip.tip_deflection(curvature, length)))


def test_flexivity_of_equal_layers_is_one_and_a_half_expansion_differences() -> None:
    bent = bimetal_strip.curvature(20e-6, 100.0, 0.8e-3)
    assert bimetal_strip.flexivity(0.0, bent, 0.8e-3, 20.0, 120.0) == pytest.approx(1.5 * 20e-6)


def test_a_strip_s_specific_deflection_is_half_its_flexivity_by_geometry() -> None:
    bent = bimetal_strip.curvature(20e-6, 100.0, 0.8e-3)
    flexivity = bimetal_strip.flexivity(0.0, bent, 0.8e-3, 20.0, 120.0)
    by_table = bimetal_strip.specific_tip_deflection(flexivity / 2, 100.0, 0.05, 0.8e-3)
    assert by_table == pytest.approx(bimetal_strip.tip_deflection(bent, 0.05))


def test_the_needle_is_linear_in_power_between_the_stops() -> None:
    watts = np.array([0.0, 0.1, 0.2, 0.3, 0.5, 5.0])
    expected = [-0.1, 0.0, 0.25, 0.5, 1.0, 1.1]
    np.testing.assert_allclose(bimetal.position(watts, 0.1, 0.5, STOPS), expected, atol=1e-15)


def test_the_lag_is_a_step_with_its_time_constant() -> None:
    assert bimetal.first_order(0.2, 0.9, 0.0, 12.0) == 0.2
    assert bimetal.first_order(0.2, 0.9, 1e6, 12.0) == pytest.approx(0.9)
    # waiting twice is waiting the sum
    half_way = bimetal.first_order(0.2, 0.9, 5.0, 12.0)
    assert bimetal.first_order(half_way, 0.9, 8.0, 12.0) == pytest.approx(
        bimetal.first_order(0.2, 0.9, 13.0, 12.0)
    )


@pytest.mark.parametrize(
    ("winding", "strip"), [(4.0, 10.0), (10.0, 4.0), (6.0, 6.0), (1e-6, 10.0), (0.0, 3.0)]
)
def test_winding_and_strip_satisfy_their_heat_balances(winding: float, strip: float) -> None:
    """The same equations stepped by hand in small steps."""
    step, lacks, heated = 2e-4, 0.8, -0.3
    strip_now, winding_now = lacks, heated
    for _ in range(25000):
        kept = np.exp(-step / winding) if winding else 0.0
        before = winding_now
        winding_now *= kept
        strip_now += step * ((before + winding_now) / 2 - strip_now) / strip
    own, through = bimetal.still_missing(5.0, winding, strip)
    assert own * lacks + through * heated == pytest.approx(strip_now, abs=2e-5)
    assert bimetal.still_missing(0.0, winding, strip) == (1.0, 0.0)


def test_the_heated_strip_satisfies_its_heat_balance() -> None:
    volts, ohms, ambient, loss, capacity, seconds = 8.0, 55.0, 23.0, 0.018, 0.25, 9.0
    step = 1e-3

    def at(time: float) -> float:
        return float(bimetal.heated_celsius(volts, ohms, ambient, loss, capacity, time))

    rate = (at(seconds + step) - at(seconds - step)) / (2 * step)
    assert capacity * rate == pytest.approx(volts**2 / ohms - loss * (at(seconds) - ambient), rel=1e-7)
    assert at(0.0) == ambient
    assert at(1e5) - ambient == pytest.approx(bimetal.final_rise(volts, ohms, loss))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: bimetal_strip.curvature(1e-6, 1.0, 0.0), "thickness must be above zero, but 0"),
        (lambda: bimetal_strip.curvature(1e-6, 1.0, 1e-3, -1.0), "thickness_ratio must be above zero"),
        (lambda: bimetal_strip.curvature(1e-6, 1.0, 1e-3, 1.0, 0.0), "modulus_ratio must be above zero"),
        (lambda: bimetal_strip.equal_layer_curvature(1e-3, -1.0), "layer_thickness must be above zero"),
        (lambda: bimetal_strip.tip_deflection(1.0, -0.1), "length must be zero or more"),
        (lambda: bimetal_strip.specific_tip_deflection(1e-5, 1.0, 0.1, 0.0), "thickness must be above zero"),
        (lambda: bimetal_strip.flexivity(0.0, 1.0, 1e-3, 20.0, 20.0), "must differ"),
        (lambda: bimetal.position(-0.1, 0.1, 0.5, STOPS), "watts must be zero or more, but -0.1"),
        (lambda: bimetal.position(0.1, 0.5, 0.5, STOPS), "watts_low and watts_high must differ"),
        (lambda: bimetal.first_order(0.0, 1.0, -1.0, 10.0), "seconds must be zero or more"),
        (lambda: bimetal.first_order(0.0, 1.0, 1.0, 0.0), "lag_seconds must be above zero"),
        (lambda: bimetal.still_missing(1.0, -1.0, 5.0), "winding_seconds must be zero or more"),
        (lambda: bimetal.still_missing(1.0, 1.0, 0.0), "strip_seconds must be above zero"),
        (lambda: bimetal.final_rise(1.0, 0.0, 1.0), "ohms must be above zero"),
        (lambda: bimetal.final_rise(1.0, 1.0, 0.0), "watts_per_kelvin must be above zero"),
        (
            lambda: bimetal.heated_celsius(1.0, 1.0, 20.0, 1.0, 0.0, 1.0),
            "joules_per_kelvin must be above zero",
        ),
    ],
)
def test_bad_input_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
