"""The scale of a composed gauge: marks stand where the sound needle stands, because they are put there.

A sender is one resistor of the network, so what a coil carries is known for all its ohms from two solutions,
lead off and lead grounded, and by Thévenin's theorem between them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.compose.circuit_text import design
from gaugesim.compose.layout import Mounted, VehicleLayout
from gaugesim.compose.senders import QUARTERS, Sender, with_ohms
from gaugesim.errors import CaseError
from gaugesim.movement import MOVEMENTS
from gaugesim.netlist import Netlist
from gaugesim.physics import air_core
from gaugesim.solve import nodal
from gaugesim.solve.network import OPEN_OHMS, of_netlist

# a scale shorter than this cannot be read; one longer than half a turn has no unique direction: assumed
LEAST_DEGREES, MOST_DEGREES = 20.0, 170.0
# field of a driven needle [ampere-turns]: several times what its friction takes
LEAST_FIELD = 3.0
FRICTION = 1.0
# how finely the way between two ends is looked at
_STEPS = 201


@dataclass(frozen=True)
class Scale:
    """Where the marks are.

    Attributes
    ----------
    low, top : float
        Direction [degree], heater power [W] or coil current [A] at the two end marks.
    positions : tuple of float
        Of the marks [1].
    """

    low: float
    top: float
    positions: tuple[float, ...]


def scaled(
    layout: VehicleLayout, netlist: Netlist, senders: Mapping[str, Sender]
) -> tuple[dict[str, Sender], dict[str, Scale]]:
    """Choose what is open of the senders, and put the marks where the sound needles are.

    Parameters
    ----------
    netlist : Netlist
        With any ohms between the ends of the senders' tracks.
    senders : mapping
        From quantity to its sender.

    Returns
    -------
    senders : dict
        Nothing left open.
    scales : dict
        From gauge to its scale.

    Raises
    ------
    CaseError
        If a movement does not tell the sender's ends apart.
    """
    made, scales = dict(senders), {}
    for gauge in layout.gauges:
        if gauge.choice.quantity == "voltmeter":
            scales[gauge.id] = _voltmeter(netlist, senders[gauge.id].at)
            continue
        sender = made[gauge.choice.quantity]
        answer = _Answer.of(layout, netlist, gauge, sender)
        if any(np.isnan(sender.ohms)):
            sender = with_ohms(sender, _tapered(answer, layout, gauge, sender))
            made[gauge.choice.quantity] = sender
        scales[gauge.id] = _scale(answer, layout, gauge, sender)
    return made, scales


@dataclass(frozen=True)
class _Answer:
    """How a gauge answers its sender's ohms.

    Every current is ``opened + (grounded - opened) * source / (source + ohms)``.
    """

    opened: Floats
    grounded: Floats
    source: float
    # the regulator's heater likewise, and what it holds
    heater: tuple[float, float] | None
    held: float
    turns: Floats
    degrees: Floats
    winding: float

    @classmethod
    def of(cls, layout: VehicleLayout, netlist: Netlist, gauge: Mounted, sender: Sender) -> _Answer:
        values = netlist.values({})
        network = of_netlist(netlist, values)
        ends = np.repeat(network.ohms[None], 2, axis=0)
        ends[:, network.branch(sender.element)] = np.inf, 0.0
        solution = nodal.solve(network, ends)
        element = netlist.element(sender.element)
        volts = solution.voltage(element.node_a, element.node_b)[0]
        parts = gauge.choice.movement.parts
        made = design(layout, gauge)
        steering = [k for k, part in enumerate(parts) if part.degrees is not None] or [0]
        names = [f"r.x{gauge.id}.r{parts[k].parameter}" for k in steering]
        amperes = np.stack([solution.current(name) for name in names], axis=-1)
        heater = None
        if gauge.choice.regulated:
            winding = netlist.element(f"r.xregulator.r{'draw' if layout.electronic else 'heater'}")
            felt = np.abs(solution.voltage(winding.node_a, winding.node_b))
            heater = (float(felt[0]), float(felt[1]))
        return cls(
            opened=amperes[0],
            grounded=amperes[1],
            source=float(volts / solution.current(sender.element)[1]),
            heater=heater,
            held=layout.whole.regulator,
            turns=np.array([made.turns[k] for k in steering] if made.turns else [1.0]),
            degrees=np.array([parts[k].degrees or 0.0 for k in steering]),
            winding=float(values[names[0]]),
        )

    def amperes(self, ohms: Floats) -> Floats:
        """Currents of the windings, shape (ohms, windings), behind a regulator their effective values.

        Of pulses that is the root of the mean square, of a steady output the current itself.
        """
        share = (self.source / (self.source + ohms))[..., None]
        flows = self.opened + (self.grounded - self.opened) * share
        if self.heater is not None:
            felt = self.heater[0] + (self.heater[1] - self.heater[0]) * share
            flows = flows * np.minimum(self.held / felt, 1.0)
        return np.asarray(flows)

    def amount(self, ohms: Floats, heats: bool) -> Floats:
        """Heater power [W], or the needle's direction [degree], without jumps along the ohms."""
        flows = self.amperes(ohms)
        if heats:
            return np.asarray(flows[..., 0] ** 2 * self.winding)
        x, y = air_core.field(flows, self.turns, self.degrees)
        return np.asarray(np.degrees(np.unwrap(np.arctan2(y, x))))

    def field(self, ohms: Floats) -> Floats:
        """Strength of the field [ampere-turns]."""
        return np.asarray(np.hypot(*air_core.field(self.amperes(ohms), self.turns, self.degrees)))


def _way(sender: Sender) -> Floats:
    """Ohms from the low to the top mark, close together where there are few."""
    first, last = sender.ohms[0], sender.ohms[-1]
    offset = 0.02 * max(first, last)
    return np.asarray(np.geomspace(first + offset, last + offset, _STEPS) - offset)


def _tapered(answer: _Answer, layout: VehicleLayout, gauge: Mounted, sender: Sender) -> tuple[float, ...]:
    """Ohms between the ends of a track so that the dial is even: makers wind it so."""
    ohms = _way(sender)
    positions = _along(answer, layout, gauge, ohms)
    said = [k for k, value in enumerate(sender.ohms) if not np.isnan(value)]
    at = [float(np.interp(sender.ohms[k], *_rising(ohms, positions))) for k in said]
    wanted = np.interp(QUARTERS, [QUARTERS[k] for k in said], at)
    wanted_ohms = np.interp(wanted, positions, ohms)
    return tuple(
        given if not np.isnan(given) else float(f"{value:.3g}")
        for given, value in zip(sender.ohms, wanted_ohms, strict=True)
    )


def _rising(ohms: Floats, positions: Floats) -> tuple[Floats, Floats]:
    return (ohms, positions) if ohms[0] < ohms[-1] else (ohms[::-1], positions[::-1])


def _along(answer: _Answer, layout: VehicleLayout, gauge: Mounted, ohms: Floats) -> Floats:
    """Positions along the way from the low to the top mark, rising."""
    heats = MOVEMENTS[gauge.choice.movement.family].heats
    amount = answer.amount(ohms, heats)
    positions = (amount - amount[0]) / (amount[-1] - amount[0])
    sweep = abs(float(amount[-1] - amount[0]))
    steady = bool(np.all(np.diff(positions) > 0))
    wide = heats or LEAST_DEGREES <= sweep <= MOST_DEGREES
    strong = heats or float(answer.field(ohms).min()) > LEAST_FIELD
    if not (steady and wide and strong):
        text = " to ".join(f"{entry:g}" for entry in (ohms[0], ohms[-1]))
        raise CaseError(
            f"a {gauge.choice.movement.words} movement does not follow a sender of {text} ohm",
            f"{layout.whole.vehicle.where}.{gauge.choice.quantity}",
            "give other ohms, or another movement",
        )
    return np.asarray(positions)


def _scale(answer: _Answer, layout: VehicleLayout, gauge: Mounted, sender: Sender) -> Scale:
    _along(answer, layout, gauge, _way(sender))
    heats = MOVEMENTS[gauge.choice.movement.family].heats
    amount = answer.amount(np.array(sender.ohms), heats)
    if heats:
        low, top = (float(f"{value:.4g}") for value in (amount[0], amount[-1]))
    else:
        turn = 360.0 * np.floor((min(amount[0], amount[-1]) + 180.0) / 360.0)
        amount = amount - turn
        low, top = round(float(amount[0]), 1), round(float(amount[-1]), 1)
    positions = np.clip((amount - low) / (top - low), 0.0, 1.0)
    return Scale(low, top, tuple(round(float(value), 2) for value in positions))


def _voltmeter(netlist: Netlist, at: tuple[float, ...]) -> Scale:
    """A voltmeter's marks: what its coil carries at these volts, engine stopped."""
    amperes = []
    for volts in (at[0], at[-1]):
        network = of_netlist(netlist, netlist.values({"battery_volts": volts, "charging": OPEN_OHMS}))
        amperes.append(float(f"{float(nodal.solve(network).current('r.xvoltmeter.rcoil')):.4g}"))
    steps = [(value - at[0]) / (at[-1] - at[0]) for value in at]
    return Scale(amperes[0], amperes[1], tuple(round(step, 2) for step in steps))
