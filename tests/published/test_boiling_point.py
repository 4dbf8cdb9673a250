"""Boiling point of water against the formulation's own values and independent programs."""

from __future__ import annotations

import pytest
from fluids.atmosphere import ATMOSPHERE_1976
from iapws.iapws97 import _PSat_T, _TSat_P

from gaugesim.physics.water import air_pressure, boiling_celsius, saturation_celsius, saturation_pressure

# Altitude m, standard pressure Pa (ambiance and fluids.atmosphere agree), boiling point (IAPWS-95 and IF97)
ALTITUDES = [
    (0.0, 101325.0, 99.9743), (500.0, 95461.3, 98.3126), (1000.0, 89876.3, 96.6493),
    (1500.0, 84559.7, 94.9842), (2000.0, 79501.4, 93.3172), (3000.0, 70121.1, 89.9770),
]  # fmt: skip


@pytest.mark.parametrize(("altitude", "pascals", "celsius"), ALTITUDES)
def test_standard_atmosphere(altitude: float, pascals: float, celsius: float) -> None:
    """ISO 2533:1975 by way of ambiance and fluids.atmosphere, run here."""
    assert air_pressure(altitude) == pytest.approx(pascals, abs=0.05)
    assert air_pressure(altitude) == pytest.approx(ATMOSPHERE_1976(altitude).P, abs=0.1)


@pytest.mark.parametrize(("altitude", "pascals", "celsius"), ALTITUDES)
def test_boiling_point_by_altitude(altitude: float, pascals: float, celsius: float) -> None:
    """iapws (IF97), CoolProp and chemicals (IAPWS-95): they are within 0.0003 K of each other."""
    assert boiling_celsius(altitude) == pytest.approx(celsius, abs=3e-4)


def test_water_does_not_boil_at_one_hundred_degrees() -> None:
    """IAPWS: 99.974 at sea level, not 100."""
    assert boiling_celsius(0.0) == pytest.approx(99.974, abs=5e-4)
    assert boiling_celsius(0.0) != pytest.approx(100.0, abs=0.02)


@pytest.mark.parametrize(
    ("megapascals", "kelvin"), [(0.1, 372.755919), (1.0, 453.035632), (10.0, 584.149488)]
)
def test_verification_values_of_the_saturation_temperature(megapascals: float, kelvin: float) -> None:
    """IAPWS R7-97(2012), Table 36 (from memory), and the iapws package, run here."""
    assert saturation_celsius(megapascals * 1e6) + 273.15 == pytest.approx(kelvin, abs=5e-7)
    assert saturation_celsius(megapascals * 1e6) + 273.15 == pytest.approx(_TSat_P(megapascals), rel=1e-9)


@pytest.mark.parametrize(
    ("kelvin", "megapascals", "digit"),
    [(300.0, 0.00353658941, 1e-11), (500.0, 2.63889776, 1e-8), (600.0, 12.3443146, 1e-7)],
)
def test_verification_values_of_the_saturation_pressure(
    kelvin: float, megapascals: float, digit: float
) -> None:
    """IAPWS R7-97(2012), Table 35 (from memory), and the iapws package, run here."""
    assert saturation_pressure(kelvin - 273.15) / 1e6 == pytest.approx(megapascals, abs=digit / 2)
    assert saturation_pressure(kelvin - 273.15) / 1e6 == pytest.approx(_PSat_T(kelvin), rel=1e-9)


@pytest.mark.parametrize(("cap_bar", "celsius"), [(0.9, 118.82), (1.0, 120.42), (1.1, 121.96)])
def test_capped_system(cap_bar: float, celsius: float) -> None:
    """IAPWS by way of iapws, run here: plain water under a cap's pressure above 101325 Pa."""
    assert boiling_celsius(0.0, cap_bar * 1e5) == pytest.approx(celsius, abs=0.005)
    assert boiling_celsius(0.0, cap_bar * 1e5) + 273.15 == pytest.approx(
        _TSat_P(0.101325 + cap_bar / 10), rel=1e-9
    )
