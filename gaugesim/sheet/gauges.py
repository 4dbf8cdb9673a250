"""What a sheet may call its gauges, and the regulator that feeds them."""

from __future__ import annotations

from dataclasses import dataclass

GAUGES = ("temperature", "fuel", "oil_pressure", "voltmeter", "temperature_second")
# of the pulses of points; an electronic regulator has none
CONVENTIONS = ("rms", "mean", "steady")
# how many coils a movement of each kind has; a sheet may have one of its own as well
COILS = {
    "two-coil": 2,
    "two-coil series": 2,
    "three-coil": 3,
    "four-coil": 4,
    "opposed-coil": 3,
    "bridge": 2,
    "bimetal": 0,
    "moving-coil": 0,
}


@dataclass(frozen=True)
class Regulator:
    """An instrument voltage regulator: points that pulse the supply by their own heater, or a steady one.

    Attributes
    ----------
    contact, heater : str
        Elements in the netlist; of an electronic regulator what passes the current and what it draws itself.
    design_volts : str
        The parameter that holds what its heater keeps [V].
    convention : str
        ``rms`` or ``mean``: which figure of the pulses is held; ``steady`` if it does not pulse.
    dropout_volts : str
        The parameter that holds what a steady one needs above its output [V]; empty for points.
    momentary : tuple of str
        Cautions of what gives a gauge behind it more than the top of its scale.
    """

    contact: str
    heater: str
    design_volts: str
    convention: str
    source: str
    momentary: tuple[str, ...] = ()
    dropout_volts: str = ""

    @property
    def steady(self) -> bool:
        """Whether it does not pulse."""
        return self.convention == "steady"
