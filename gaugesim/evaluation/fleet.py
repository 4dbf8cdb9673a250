"""Vehicles, each with a fault and tolerances of its own, and what they show: every network solved anew."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from zlib import crc32

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.evaluation.resolve import anew
from gaugesim.evidence import likelihood as like
from gaugesim.evidence import probe_sides
from gaugesim.evidence.handling import sticks
from gaugesim.evidence.prediction import Prediction
from gaugesim.evidence.rows import Rows
from gaugesim.expression import Value
from gaugesim.reading import Response, Situation, respond
from gaugesim.reading.situations import Key
from gaugesim.scenario.changes import Change, merge
from gaugesim.scenario.effect import Make, combine
from gaugesim.scenario.fault import Fault, Pair
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.scenario.tolerance import DEVIATIONS_95, tolerances
from gaugesim.solve.network import Integers


@dataclass(frozen=True)
class Ailment:
    """What ails some vehicles of a fleet.

    Attributes
    ----------
    vehicles : ndarray of int, shape (k,)
        Which.
    entry : Fault, Pair or None
        The fault as the sheet lists it; None if it lists no such thing.
    makes : tuple of callable
        From the parameter values of these vehicles, arrays of shape (k,), to what each fault changes.
    comes_and_goes : bool
        Whether it is there at one time and not at another.
    """

    vehicles: Integers
    entry: Fault | Pair | None
    makes: tuple[Make, ...]
    comes_and_goes: bool = False


class Fleet(Rows):
    """Vehicles as rows that can be asked the same questions as a circuit's cells.

    Row 0 is the sound circuit as its sheet has it, rows 1 to n the vehicles, and the rows after them those
    with an intermittent fault once more, as they are while it rests.

    Parameters
    ----------
    ailments : sequence of Ailment
        Each vehicle in one of them.
    seed : sequence of int
        Of the draws of the tolerances.
    wide : float
        How many times their tolerances as the sheet has them [1].
    bent : float
        Standard deviation of the length of each vehicle's scales, and of where they lie [1].
    restless : bool
        Whether a needle that nothing drives lies elsewhere in every situation.
    """

    def __init__(
        self,
        circuit: Circuit,
        ailments: Sequence[Ailment],
        seed: Sequence[int],
        wide: float = 1.0,
        bent: float = 0.0,
        restless: bool = False,
    ) -> None:
        self.circuit = circuit
        self.ailments = tuple(ailments)
        self.seed, self.wide = tuple(seed), wide
        self.bent, self.restless = bent, restless
        self.size = sum(len(each.vehicles) for each in ailments)
        self.faults: tuple[Fault | Pair, ...] = tuple(
            each.entry for each in ailments if each.entry is not None
        )
        come_and_go = [each.vehicles for each in ailments if each.comes_and_goes]
        self.intermittent: Integers = np.concatenate([np.zeros(0, dtype=np.intp), *come_and_go])
        self._draws: dict[str, Floats] = {}
        self.situations: dict[Key, Situation] = {}
        self._responses: dict[Key, Response] = {}

    @property
    def rows(self) -> int:
        """How many there are."""
        return 1 + self.size + len(self.intermittent)

    @property
    def resting(self) -> Integers:
        """Rows of the vehicles of `intermittent` while their faults rest."""
        return np.arange(1 + self.size, self.rows)

    def of_faults(self, values: Floats, sound: Floats | float) -> Floats:
        """See `Rows.of_faults`; what the sheet does not list answers as the sound circuit does."""
        sound = np.asarray(sound)
        shape = values.shape[1:] if len(values) else sound.shape
        result = np.empty((self.rows, *shape), dtype=values.dtype)
        result[:] = sound
        listed = iter(values)
        for ailment in self.ailments:
            if ailment.entry is not None:
                result[1 + ailment.vehicles] = next(listed)
        return result

    def response(self, situation: Situation) -> Response:
        """What every row shows, each gauge as accurate as it happens to be."""
        if situation.key not in self._responses:
            shown = respond(situation, self.scenarios(situation), anew(situation))
            positions = {
                gauge.id: self._inaccurate(shown.positions[gauge.id], gauge.id) for gauge in situation.gauges
            }
            self._responses[situation.key] = replace(shown, positions=positions)
        return self._responses[situation.key]

    def position(self, situation: Situation, gauge: str) -> Prediction:
        """See `Rows.position`; a vehicle has no tolerances, it is as it is."""
        positions = self.response(situation).positions[gauge]
        bounds = self.circuit.sheet.gauges[gauge].stops
        still = np.zeros(len(positions), dtype=bool)
        if self.bent:
            positions = positions + np.concatenate([[0.0], self._bent(gauge, positions[1:])])
        # a needle that nothing drives lies in one place whatever the state
        rests = np.full(self.rows, bounds[0])
        lies = f"rest@{gauge}" + (f"@{situation.state}/{situation.check.id}" if self.restless else "")
        rests[1 : 1 + self.size] = like.resting(self._shares(lies), bounds)
        rests[self.resting] = rests[1 + self.intermittent]
        shown = np.where(np.isnan(positions), rests, positions)
        for ailment in self.ailments:
            if ailment.entry is not None and any(
                fault.part.gauge in ("", gauge) and fault.damages_winding for fault in ailment.entry.singles
            ):
                spread = like.WOUND_OTHERWISE * min(self.circuit.sheet.make_spread, 1.0)
                shown[1 + ailment.vehicles] += spread * self.draws(f"winding@{gauge}")[ailment.vehicles]
        shown = self._set_free(np.clip(shown, *bounds), situation, gauge)
        return replace(_certain(shown, still), bounds=bounds)

    def reading(self, situation: Situation) -> Prediction:
        """See `Rows.reading`."""
        response = self.response(situation)
        shown, pulses = response.reading, response.pulses
        assert shown is not None
        for part, check in probe_sides.beyond_joints(self.circuit, situation.check):
            there = self.response(self.situation_with(situation.state, check, dict(situation.given)))
            assert there.reading is not None
            beyond = self._some(partial(probe_sides.is_in, part=part), f"probe@{part}", probe_sides.BEYOND)
            shown, pulses = np.where(beyond, there.reading, shown), np.where(beyond, there.pulses, pulses)
        return _certain(self._set_free(shown, situation, ""), pulses)

    def _set_free(self, shown: Floats, situation: Situation, gauge: str) -> Floats:
        """The same where what sticks in a part comes free under the check, as if it were sound."""
        for kind, chance in situation.check.kind.frees.items():
            is_stuck = partial(sticks, kind=kind, gauge=situation.check.gauge)
            free = self._some(is_stuck, f"free@{kind}", chance)
            if free.any():
                shown = np.where(free, self.sound(situation, gauge).mean, shown)
        return shown

    def _some(self, chosen: Callable[[Fault | Pair], bool], name: str, chance: float) -> np.ndarray:
        """Rows of vehicles with a chosen fault, in which something is so that is so with a chance."""
        having = self.of_faults(np.array([chosen(entry) for entry in self.faults], dtype=bool), False)
        so = np.concatenate([[False], self._shares(name) < chance])
        return np.asarray(having & so[self._vehicle_of_row])

    def sound(self, situation: Situation, gauge: str = "") -> Prediction:
        """See `Rows.sound`: the same vehicle without its fault."""
        healthy = self._healthy
        shown = healthy.position(situation, gauge) if gauge else healthy.reading(situation)
        return shown.take(self._vehicle_of_row)

    @cached_property
    def _healthy(self) -> Fleet:
        """The same vehicles without their faults."""
        ailments = [Ailment(np.arange(self.size), None, ())]
        return Fleet(self.circuit, ailments, self.seed, self.wide, self.bent, self.restless)

    @property
    def _vehicle_of_row(self) -> Integers:
        """Row among those of the vehicles that stands for each row."""
        return np.concatenate([np.arange(1 + self.size), 1 + self.intermittent])

    def draws(self, name: str) -> Floats:
        """One tolerance variable of each vehicle, the same whenever it is asked for.

        Parameters
        ----------
        name : str
            As `reading.Spread.names` has it.

        Returns
        -------
        ndarray, shape (size,)
            Standard-normal numbers, times how wide the tolerances are [1].
        """
        if name not in self._draws:
            random = np.random.default_rng([*self.seed, crc32(name.encode())])
            self._draws[name] = self.wide * random.standard_normal(self.size)
        return self._draws[name]

    def _shares(self, name: str) -> Floats:
        """A variable of each vehicle that is uniform from 0 to 1, the same whenever it is asked for."""
        return np.random.default_rng([*self.seed, crc32(name.encode())]).random(self.size)

    def scenarios(self, situation: Situation) -> Scenarios:
        """The whole fleet in a situation: every element as it happens to be, and the faults."""
        drawn = self.parameters(situation)
        values = situation.circuit.values({**situation.parameters, **drawn})
        own_order = np.concatenate([ailment.vehicles for ailment in self.ailments])
        ailing = [
            merge([self._tolerant(drawn, values, ailment.vehicles), self._ail(situation, drawn, ailment)])
            for ailment in self.ailments
        ]
        resting = self._tolerant(drawn, values, self.intermittent)
        stacked = stack([Change(np.zeros(1)), *ailing, resting])
        rows = np.concatenate([[0], 1 + np.argsort(own_order), self.resting])
        return stacked.take(rows)

    def parameters(self, situation: Situation) -> dict[str, Floats]:
        """Parameter values of every vehicle."""
        sheet = self.circuit.sheet
        variables = tolerances(self.circuit, situation.parameters, situation.state, situation.pinned)
        if not variables.names:
            return {}
        processes = {name for name, quantity in sheet.quantities.items() if quantity.process}
        normal = [
            self.draws(f"{name}@{nominal:g}" if name in processes else name)
            for name, nominal in zip(variables.names, variables.nominal, strict=True)
        ]
        values = variables.values(np.stack(normal))
        # no tank holds less than nothing, however wide its tolerance
        return values | {
            name: np.clip(values[name], sheet.quantities[name].low, sheet.quantities[name].high)
            for name in processes & values.keys()
        }

    def _tolerant(self, drawn: Mapping[str, Floats], values: Mapping[str, Value], some: Integers) -> Change:
        """What sets some vehicles apart from the circuit as its sheet has it, their faults aside."""
        branches: dict[str, Floats] = {}
        volts: dict[str, Floats] = {}
        for element in self.circuit.netlist.elements:
            value = values[element.name]
            if np.ndim(value) and element.kind in "rv":
                of = branches if element.kind == "r" else volts
                of[element.name] = np.asarray(value)[some]
        unit = self.circuit.sheet.regulator
        parameters = {}
        if unit and unit.design_volts in drawn:
            parameters[unit.design_volts] = drawn[unit.design_volts][some]
        return Change(np.zeros(len(some)), branches=branches, volts=volts, parameters=parameters)

    def _ail(self, situation: Situation, drawn: Mapping[str, Floats], ailment: Ailment) -> Change:
        """What an ailment changes; nothing where it is a process value that is known."""
        parameters: dict[str, Value] = {**situation.parameters}
        parameters |= {name: values[ailment.vehicles] for name, values in drawn.items()}
        made = combine([_unless_known(make, situation.certain) for make in ailment.makes], parameters)
        return replace(made, severity=np.zeros(len(ailment.vehicles)))

    def _inaccurate(self, stand: Floats, gauge: str) -> Floats:
        """Needle positions with each gauge's own inaccuracy; a needle that sticks or rests has none."""
        sheet = self.circuit.sheet.gauges[gauge]
        off = sheet.accuracy / DEVIATIONS_95 * self.draws(f"accuracy@{gauge}")
        free = np.ones(self.rows, dtype=bool)
        free[: 1 + self.size] = np.concatenate([[False], ~self._held(gauge)])
        free &= (stand > sheet.stops[0]) & (stand < sheet.stops[1])
        moved = np.clip(stand + np.concatenate([[0.0], off, off[self.intermittent]]), *sheet.stops)
        return np.where(free, moved, stand)

    def _bent(self, gauge: str, positions: Floats) -> Floats:
        """How far needles stand from where the sheet's own scale would have them."""
        of = np.concatenate([np.arange(self.size), self.intermittent])
        longer, shifted = (self.draws(f"{name}@{gauge}")[of] for name in ("longer", "shifted"))
        return np.asarray(self.bent * (longer * (positions - 0.5) + shifted))

    def _held(self, gauge: str) -> np.ndarray:
        """Which vehicles' needles are stuck, bool of shape (size,)."""
        held = np.zeros(self.size, dtype=bool)
        for ailment in self.ailments:
            singles = () if ailment.entry is None else ailment.entry.singles
            held[ailment.vehicles] |= any(
                fault.mode.id == "stuck" and not fault.part.element and fault.part.gauge == gauge
                for fault in singles
            )
        return held


def _certain(values: Floats, pulses: np.ndarray) -> Prediction:
    return Prediction(values, (), np.zeros((0, len(values))), pulses)


def _unless_known(make: Make, certain: frozenset[str]) -> Make:
    def made(parameters: Mapping[str, Value]) -> Change:
        change = make(parameters)
        return Change(change.severity) if certain & set(change.parameters) else change

    return made
