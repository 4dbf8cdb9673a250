"""Bimetal strip: how far a heated strip of two metals bends.

Deflections are pure geometry: a strip's tip moves by half its curvature times its length squared. Trade
tables of thermostatic metal give a specific deflection of about 0.53 of the specific curvature instead of
0.50; `specific_tip_deflection` is for those.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, not_negative, numbers, positive, result


def curvature(
    expansion_difference: ArrayLike,
    temperature_rise: ArrayLike,
    thickness: ArrayLike,
    thickness_ratio: ArrayLike = 1.0,
    modulus_ratio: ArrayLike = 1.0,
) -> FloatArray:
    """Curvature of a heated strip of two bonded metals.

    1/ρ = 6 Δα ΔT (1+m)² / (h [3 (1+m)² + (1+mn)(m² + 1/(mn))]).

    Parameters
    ----------
    expansion_difference : array_like
        Expansion of layer 2 less that of layer 1, Δα [1/K].
    temperature_rise : array_like
        Rise ΔT above the temperature at which the strip is straight [K].
    thickness : array_like
        Thickness h of both layers together [m].
    thickness_ratio : array_like
        Thickness of layer 1 over that of layer 2, m [1].
    modulus_ratio : array_like
        Young's modulus of layer 1 over that of layer 2, n [1].

    Returns
    -------
    float or array
        Curvature, positive when the strip bends towards layer 1 [1/m].

    Raises
    ------
    ValueError
        If the thickness or a ratio is not above zero.

    Source
    ------
    Timoshenko, J. Opt. Soc. Am. & Rev. Sci. Instrum. 11 (1925) 233–255.

    Examples
    --------
    Equal layers of equal stiffness bend by 1.5 Δα ΔT/h.

    >>> round(float(curvature(20e-6, 100.0, 1e-3)), 9)
    3.0
    """
    h = positive("thickness", thickness)
    m = positive("thickness_ratio", thickness_ratio)
    n = positive("modulus_ratio", modulus_ratio)
    strain = numbers("expansion_difference", expansion_difference) * numbers(
        "temperature_rise", temperature_rise
    )
    stiffness = 3 * (1 + m) ** 2 + (1 + m * n) * (m**2 + 1 / (m * n))
    return result(6 * strain * (1 + m) ** 2 / (h * stiffness))


def equal_layer_curvature(
    mismatch_strain: ArrayLike, layer_thickness: ArrayLike, modulus_ratio: ArrayLike = 1.0
) -> FloatArray:
    """Curvature of a strip of two layers of equal thickness.

    κ = 12 Δε / (h (E* + 14 + 1/E*)).

    Parameters
    ----------
    mismatch_strain : array_like
        Free expansion of one layer less that of the other, Δε = Δα ΔT [1].
    layer_thickness : array_like
        Thickness h of each layer [m].
    modulus_ratio : array_like
        Young's modulus of one layer over that of the other, E*; either way round [1].

    Returns
    -------
    float or array
        Curvature κ [1/m].

    Raises
    ------
    ValueError
        If the thickness or the ratio is not above zero.

    Source
    ------
    Clyne (1996), as taught by DoITPoMS, University of Cambridge, thermal expansion and the bi-material strip.

    Examples
    --------
    >>> round(float(equal_layer_curvature(0.002, 0.5e-3)), 9)
    3.0
    """
    ratio = positive("modulus_ratio", modulus_ratio)
    layer = positive("layer_thickness", layer_thickness)
    return result(12 * numbers("mismatch_strain", mismatch_strain) / (layer * (ratio + 14 + 1 / ratio)))


def tip_deflection(curvature: ArrayLike, length: ArrayLike) -> FloatArray:
    """Movement of the free tip of a clamped strip, for small angles.

    Parameters
    ----------
    curvature : array_like
        Curvature κ [1/m].
    length : array_like
        Free length L [m].

    Returns
    -------
    float or array
        κ L²/2 [m].

    Raises
    ------
    ValueError
        If the length is negative.

    Source
    ------
    Geometry of a circular arc, first term.

    Examples
    --------
    >>> round(float(tip_deflection(3.0, 0.1)), 6)
    0.015
    """
    return result(numbers("curvature", curvature) * not_negative("length", length) ** 2 / 2)


def arc_tip_deflection(curvature: ArrayLike, length: ArrayLike) -> FloatArray:
    """Movement of the free tip of a clamped strip across its first direction, for any angle.

    Parameters
    ----------
    curvature : array_like
        Curvature κ [1/m].
    length : array_like
        Length L along the strip [m].

    Returns
    -------
    float or array
        (1 − cos κL)/κ [m].

    Raises
    ------
    ValueError
        If the length is negative.

    Source
    ------
    Geometry of a circular arc.

    Examples
    --------
    >>> round(float(arc_tip_deflection(3.0, 0.1)), 6)
    0.014888
    """
    bend, along = numbers("curvature", curvature), not_negative("length", length)
    # (1 − cos a)/κ = κL²/2 · (sin(a/2)/(a/2))² keeps its digits for a nearly straight strip
    return result(tip_deflection(bend, along) * np.sinc(bend * along / (2 * np.pi)) ** 2)


def specific_tip_deflection(
    specific_deflection: ArrayLike, temperature_rise: ArrayLike, length: ArrayLike, thickness: ArrayLike
) -> FloatArray:
    """Movement of the free tip from a trade table's specific deflection.

    Parameters
    ----------
    specific_deflection : array_like
        Specific deflection a of the thermostatic metal [1/K].
    temperature_rise : array_like
        Temperature rise ΔT [K].
    length : array_like
        Free length L [m].
    thickness : array_like
        Thickness s of the strip [m].

    Returns
    -------
    float or array
        a ΔT L²/s [m].

    Raises
    ------
    ValueError
        If the length is negative or the thickness not above zero.

    Source
    ------
    DIN 1715 (formula from memory, verified against trade tables only by the ratio of their columns).

    Examples
    --------
    >>> round(float(specific_tip_deflection(20.8e-6, 100.0, 0.05, 0.5e-3)), 6)
    0.0104
    """
    heated = numbers("specific_deflection", specific_deflection) * numbers(
        "temperature_rise", temperature_rise
    )
    return result(heated * not_negative("length", length) ** 2 / positive("thickness", thickness))


def flexivity(
    curvature_start: ArrayLike,
    curvature_end: ArrayLike,
    thickness: ArrayLike,
    celsius_start: ArrayLike,
    celsius_end: ArrayLike,
) -> FloatArray:
    """Flexivity: change of curvature for each kelvin and unit of thickness.

    F = (1/R₂ − 1/R₁)·t/(T₂ − T₁).

    Parameters
    ----------
    curvature_start, curvature_end : array_like
        Curvature before and after [1/m].
    thickness : array_like
        Thickness of the strip [m].
    celsius_start, celsius_end : array_like
        Temperature before and after [celsius].

    Returns
    -------
    float or array
        Flexivity [1/K].

    Raises
    ------
    ValueError
        If the thickness is not above zero or the two temperatures are equal.

    Source
    ------
    ASTM B106-08(2013), 3.1.2.

    Examples
    --------
    >>> round(float(flexivity(0.0, 3.0, 1e-3, 20.0, 120.0)), 9)
    3e-05
    """
    start, end = numbers("celsius_start", celsius_start), numbers("celsius_end", celsius_end)
    if np.any(start == end):
        raise ValueError("celsius_start and celsius_end must differ, or there is no change to measure by")
    change = numbers("curvature_end", curvature_end) - numbers("curvature_start", curvature_start)
    return result(change * positive("thickness", thickness) / (end - start))
