"""The senders of the shipped circuits against their laws, and against published ranges and tables.

The pages and texts that give the senders' figures name makes: sources withheld, unverifiable.
"""

from __future__ import annotations

import numpy as np
import pytest
from oracles import steinhart_hart_celsius, steinhart_hart_from_points

from gaugesim.circuit import Circuit, available, find
from gaugesim.paths import shipped_netlists
from gaugesim.physics.thermistor import beta_from_points, beta_ohms, steinhart_hart_ohms

# Level senders: empty ohm, full ohm, as makers' and boating pages give them, ± 10 ohm
LEVEL_SENDERS = {
    "240-33": (240.0, 33.0),
    "0-190": (0.0, 190.0),
    "10-180": (10.0, 180.0),
    "0-90": (0.0, 90.0),  # 90 is full
    "73-10": (73.0, 10.0),  # 73 empty, 8 to 12 full: an amateur source
    "110-3": (110.0, 3.0),
    "415-15": (415.0, 15.0),
    "69-3": (69.0, 3.2),
}
LEVEL_TOLERANCE = 10.0
# tracks of circuits whose sheets say that their range is assumed
ASSUMED = {"fuel_two_coil_0_30", "cluster_bimetal_10v"}
# a user's report of a 0-10 bar sender: "not exactly linear"
TEN_BAR_POINTS = ((0.0, 10.0), (5.0, 107.0), (10.0, 184.0))
# gauge temperature sender (source withheld, unverifiable): °F and ohm, printed to 5 ohm
TEMPERATURE_SENDER = {140: 160.0, 150: 135.0, 160: 110.0, 170: 90.0, 180: 75.0, 190: 60.0}

# the laws that the tests below hold the netlists to, by the file of the sender
LAWS = {"ntc": "B-value", "track": "straight between five points", "pressure": "straight between five points"}

CIRCUITS = [find(name) for name in available()]


def sender(circuit: Circuit, ending: str) -> list[str]:
    return [element.name for element in circuit.netlist.elements if element.name.endswith(ending)]


def ohms(circuit: Circuit, element: str, **given: float) -> float:
    """Resistance of an element of a netlist in its default state."""
    parameters = {**circuit.parameters(circuit.sheet.default_state), **given}
    return float(circuit.values(parameters)[element])


def tracks(prefix: str) -> list[tuple[Circuit, str, list[float]]]:
    """Circuits with a sender whose five points begin with a name; its element, and those points."""
    found = []
    for circuit in CIRCUITS:
        values = circuit.parameter_values(circuit.parameters(circuit.sheet.default_state))
        points = [value for name, value in values.items() if name.startswith(prefix + "_")]
        elements = [
            name for name in sender(circuit, ".rtrack") if ("xdiaphragm" in name) == (prefix != "track")
        ]
        if elements:
            names = ("empty", "quarter", "half", "three_quarters", "full")
            names = names if prefix == "track" else ("none", *names[1:])
            assert len(points) >= len(names)
            found.append((circuit, elements[0], [float(values[f"{prefix}_{name}"]) for name in names]))
    return found


def fahrenheit(degrees: float) -> float:
    return (degrees - 32.0) / 1.8


def test_every_sender_of_the_netlists_has_a_law_that_some_circuit_is_held_to() -> None:
    assert {path.stem for path in (shipped_netlists() / "senders").glob("*.cir")} == LAWS.keys()
    assert any(sender(one, ".rthermistor") for one in CIRCUITS)
    assert tracks("track")
    assert tracks("pressure")


@pytest.mark.parametrize(
    "circuit", [one for one in CIRCUITS if sender(one, ".rthermistor")], ids=lambda c: c.id
)
def test_a_thermistor_of_the_netlists_keeps_to_the_law_of_its_beta(circuit: Circuit) -> None:
    """IEC 60539-1, B-value."""
    (element,) = sender(circuit, ".rthermistor")
    values = circuit.parameter_values(circuit.parameters(circuit.sheet.default_state))
    beta, reference = float(values["sender_beta"]), float(values[circuit.part("sender", "temperature").id])
    for celsius in (-40.0, 0.0, 25.0, 100.0, 130.0):
        wanted = float(beta_ohms(celsius, reference, 80.0, beta))
        assert ohms(circuit, element, coolant_celsius=celsius) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("row", tracks("track"), ids=lambda row: row[0].id)
def test_a_float_sender_of_the_netlists_is_straight_between_its_points(
    row: tuple[Circuit, str, list[float]],
) -> None:
    """Linear interpolation; above and below its track the float is at its end."""
    circuit, element, points = row
    for full in (0.0, 0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9, 1.0):
        values = circuit.parameter_values(
            {**circuit.parameters(circuit.sheet.default_state), "fuel_level": full}
        )
        wanted = np.interp(float(values["float_level"]), np.linspace(0, 1, 5), points)
        assert ohms(circuit, element, fuel_level=full) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("row", tracks("pressure"), ids=lambda row: row[0].id)
def test_a_pressure_sender_of_the_netlists_is_straight_between_its_points(
    row: tuple[Circuit, str, list[float]],
) -> None:
    """Linear interpolation up to the pressure at the end of its track."""
    circuit, element, points = row
    end = float(circuit.parameter_values(circuit.parameters(circuit.sheet.default_state))["pressure_bar"])
    for share in (0.0, 0.1, 0.3, 0.5, 0.8, 1.0, 1.2):
        wanted = np.interp(share, np.linspace(0, 1, 5), points)
        assert ohms(circuit, element, sender_bar=share * end) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize(
    "row", [row for row in tracks("track") if row[0].id not in ASSUMED], ids=lambda row: row[0].id
)
def test_the_ends_of_a_track_are_a_range_that_is_sold(row: tuple[Circuit, str, list[float]]) -> None:
    """Makers' and boating pages: nominal ± 10 ohm at either end."""
    circuit, element, _ = row
    ends = [ohms(circuit, element, fuel_level=full) for full in (0.0, 1.0)]
    assert any(np.allclose(ends, pair, rtol=0, atol=LEVEL_TOLERANCE) for pair in LEVEL_SENDERS.values()), ends


def test_the_pressure_sender_is_not_straight() -> None:
    """A user's report of a 0-10 bar sender: 10, 107 and 184 ohm at 0, 5 and 10 bar."""
    (row,) = [row for row in tracks("pressure") if row[0].id == "cluster_air_core"]
    for bar, wanted in TEN_BAR_POINTS:
        assert ohms(row[0], row[1], sender_bar=bar) == pytest.approx(wanted)
    assert ohms(row[0], row[1], sender_bar=5.0) - (10.0 + 184.0) / 2 == pytest.approx(10.0)


def test_a_thermistor_of_the_netlists_can_be_the_gauge_sender_of_the_table() -> None:
    """Source withheld, 140 to 190 °F, printed to 5 ohm: the beta of its ends meets all of it to 4 %."""
    circuit = find("temp_two_coil")
    beta = float(beta_from_points(fahrenheit(140), 160.0, fahrenheit(190), 60.0))
    assert beta == pytest.approx(4246, abs=0.5)
    at_80 = float(beta_ohms(80.0, 160.0, fahrenheit(140), beta))
    for degrees, printed in TEMPERATURE_SENDER.items():
        found = ohms(
            circuit,
            "r.xsender.rthermistor",
            sender=at_80,
            sender_beta=beta,
            coolant_celsius=fahrenheit(degrees),
        )
        assert found == pytest.approx(printed, rel=0.04)


def test_the_shipped_betas_lie_between_those_of_published_senders() -> None:
    """Sources withheld: a coolant table has 3582 K; 49.5 ohm at 260 °F and 1305 at 100 °F are 4576 K."""
    highest = float(beta_from_points(fahrenheit(260), 49.5, fahrenheit(100), 1305.0))
    assert highest == pytest.approx(4576, abs=1.0)
    for circuit in CIRCUITS:
        if sender(circuit, ".rthermistor"):
            values = circuit.parameter_values(circuit.parameters(circuit.sheet.default_state))
            assert 3582 <= float(values["sender_beta"]) <= highest


def test_home_measured_temperature_sender() -> None:
    """An owner's page: five points, and Steinhart and Hart coefficients that miss by up to 3.3 K."""
    celsius = np.array([1.55, 44.7, 59.8, 79.3, 100.0])
    measured = np.array([1922.0, 287.9, 155.2, 95.1, 43.5])
    printed = (1.763e-3, 2.38e-4, 1.83e-7)
    misses = steinhart_hart_celsius(measured, *printed) - celsius
    assert np.abs(misses).max() == pytest.approx(3.3, abs=0.05)
    fitted = steinhart_hart_from_points(celsius, measured)
    assert fitted == pytest.approx(printed, rel=3e-3)
    # noisy data, but still a curve that falls
    assert np.all(np.diff(steinhart_hart_ohms(np.linspace(0, 110, 23), *fitted)) < 0)
