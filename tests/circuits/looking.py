"""A circuit solved with parts opened, joined or of other ohms; its needles stand where no stop holds them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.physics import air_core, bimetal, regulator
from gaugesim.solve import nodal
from gaugesim.solve.network import Path

FREE = (-np.inf, np.inf)
# how far a needle may stand from a mark of its scale
SCALE_ERROR = 0.02
# how far a needle moves by what does not concern it
UNTOUCHED = 0.01


@dataclass(frozen=True)
class Snapshot:
    """What the gauges show, free of their stops, and what stands on the wires while a regulator is closed."""

    solution: nodal.Solution
    duty: float
    positions: Mapping[str, float]
    degrees: Mapping[str, float]

    def volts(self, node: str) -> float:
        return float(self.solution.voltage(node))

    @property
    def position(self) -> float:
        """Of the only gauge."""
        return next(iter(self.positions.values()))

    @property
    def direction(self) -> float:
        """Of the only gauge's needle; none where nothing drives it [degrees]."""
        return next(iter(self.degrees.values()))


def watts(solution: nodal.Solution, element: str) -> float:
    ohms = float(solution.network.ohms[solution.network.branch(element)])
    return float(solution.current(element)) ** 2 * ohms if np.isfinite(ohms) else 0.0


def see(
    circuit: Circuit,
    state: str | None = None,
    given: Mapping[str, float] | None = None,
    opened: tuple[str, ...] = (),
    joined: tuple[tuple[str, str], ...] = (),
    ohms: Mapping[str, float] | None = None,
) -> Snapshot:
    """Solve a circuit with parts opened, nodes joined by dead shorts and parts of other resistance."""
    parameters = circuit.parameters(state, given)
    network = circuit.network(circuit.values(parameters))
    network = network.with_ohms({circuit.part(name).element: np.inf for name in opened})
    network = network.with_ohms({circuit.part(name).element: value for name, value in (ohms or {}).items()})
    network = network.with_paths(Path(f"wire_{a}_{b}", a, b, 0.0) for a, b in joined)
    closed = nodal.solve(network)
    duty, off = 1.0, closed
    if (rule := circuit.sheet.regulator) is not None:
        off = nodal.solve(network.with_ohms({rule.contact: np.inf}))
        heater = float(network.ohms[network.branch(rule.heater)])
        design = float(circuit.netlist.parameter_values(parameters)[rule.design_volts])
        volts = [float(np.sqrt(watts(one, rule.heater) * heater)) for one in (closed, off)]
        duty = float(regulator.duty(*volts, design, rule.convention))
    positions, degrees = {}, {}
    for gauge in circuit.sheet.gauges.values():
        if gauge.movement == "bimetal":
            power = duty * watts(closed, gauge.element) + (1 - duty) * watts(off, gauge.element)
            positions[gauge.id] = float(bimetal.position(power, gauge.low, gauge.high, FREE))
        elif gauge.movement == "moving_coil":
            amperes = float(closed.current(gauge.element))
            positions[gauge.id] = (amperes - gauge.low) / (gauge.high - gauge.low)
        else:
            x, y = air_core.field(
                [float(closed.current(coil.element)) for coil in gauge.coils],
                [coil.turns for coil in gauge.coils],
                [coil.degrees for coil in gauge.coils],
                gauge.rest,
            )
            driven = bool(air_core.is_driven(x, y, gauge.friction))
            degrees[gauge.id] = float(air_core.needle_degrees(x, y)) if driven else np.nan
            positions[gauge.id] = float(
                air_core.position(degrees[gauge.id], gauge.degrees_low, gauge.degrees_high, FREE)
            )
    return Snapshot(closed, duty, positions, degrees)
