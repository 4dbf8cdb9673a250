"""What a repair is: which parts are new after it, what it takes, and which places it opens."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError
from gaugesim.evidence import handling
from gaugesim.planning.problem import NO_PLACE
from gaugesim.scenario.caution import mending_cautions
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import looks
from gaugesim.scenario.fault import Fault, Pair
from gaugesim.sheet import GAUGE_KINDS, Caution, Part
from gaugesim.solve.network import Integers

# to find that the gauge was right all along takes a minute too
LEAST_MINUTES = 1.0
# what measures the same as a gauge; common practice, no source
OTHER_MEANS = {
    "coolant_celsius": "a thermometer held to the engine, the cooling system closed",
    "fuel_level": "a dipstick or a tank filled to the top",
    "oil_bar": "a mechanical gauge, fitted with the engine off",
    "battery_volts": "a meter across the battery",
}


@dataclass(frozen=True)
class Repair:
    """Something that is replaced or mended, or several such things at once.

    Attributes
    ----------
    name : str
        A part as the ranking calls it, ``gauge`` or ``GAUGE_gauge``; several joined by ``+``.
    parts : frozenset of str
        The parts that are new after it.
    minutes : float
        Once it can be reached [min].
    places : tuple of str
        All that it needs open.
    words : str
        What is done.
    process : bool
        Whether it is to find that the gauge was right, and nothing of the circuit is mended.
    """

    name: str
    parts: frozenset[str]
    minutes: float
    price: float
    places: tuple[str, ...]
    words: str
    process: bool = False

    @property
    def sentence(self) -> str:
        """The same as something to do."""
        what, _, how = self.words.partition(": ")
        return f"{what[:1].upper()}{what[1:]}: {how}" if self.process else f"Mend {self.words}"

    @property
    def short(self) -> str:
        """The same without how: what is replaced, what is mended where it is, what is seen to."""
        what, _, how = self.words.partition(": ")
        if self.process:
            return f"see to {what}"
        return f"{'replace' if how.startswith(('replace', 'exchange')) else 'mend'} {what}"


def repair_named(circuit: Circuit, name: str, gauge: str) -> Repair:
    """A repair by its name. What is inside a gauge is replaced with it.

    Parameters
    ----------
    name : str
        A part, or ``gauge``, or another gauge's ``GAUGE_gauge``; several joined by ``+``.

    Raises
    ------
    GaugesimError
        If there is no such part.
    """
    if "+" in name:
        return _together([repair_named(circuit, each, gauge) for each in name.split("+")])
    sheet = circuit.sheet
    if name == "gauge" or (name.removesuffix("_gauge") in sheet.gauges and name.endswith("_gauge")):
        whose = gauge if name == "gauge" else name.removesuffix("_gauge")
        inside = sorted(handling.parts_of_whole(circuit, "gauge", whose))
        if not inside:
            raise CaseError(f"{circuit.id} has no parts inside the {whose} gauge", "", "name a part")
        parts = [sheet.parts[part] for part in inside]
        dearest = max(parts, key=lambda part: (part.repair_minutes, part.price))
        words = f"{sheet.gauges[whose].words}: exchange it whole"
        own = "gauge" if whose == gauge else f"{whose}_gauge"
        places = (dearest.place,)
        return Repair(own, frozenset(inside), dearest.repair_minutes, dearest.price, places, words)
    part = circuit.part(name, gauge)
    if part.kind in GAUGE_KINDS:
        whose = part.gauge or gauge
        return repair_named(circuit, "gauge" if whose == gauge else f"{whose}_gauge", gauge)
    return _of_part(circuit, part, gauge)


def _of_part(circuit: Circuit, part: Part, gauge: str) -> Repair:
    process = part.kind == "process"
    means = other_means(circuit, part) if process else ""
    what = f"find out by {means} whether the gauge is right, and see to it" if process else part.repair
    return Repair(
        circuit.short_name(part.id, gauge),
        frozenset([part.id]),
        max(part.repair_minutes, comparing_minutes(circuit, part) if process else 0.0, LEAST_MINUTES),
        part.price,
        (part.place,),
        f"{part.words}: {what}",
        process,
    )


def other_means(circuit: Circuit, part: Part) -> str:
    """What tells whether a gauge is right, without asking the gauge.

    Parameters
    ----------
    part : Part
        Of kind ``process``.
    """
    gauge = circuit.sheet.gauges.get(part.gauge)
    return OTHER_MEANS.get(gauge.reads if gauge else "", "another instrument")


def comparing_minutes(circuit: Circuit, part: Part) -> float:
    """What it takes to find out by other means whether a gauge is right [min]; 0 where no check does.

    Parameters
    ----------
    part : Part
        Of kind ``process``.
    """
    if part.gauge not in circuit.sheet.gauges:
        return 0.0
    able = (find_check(circuit, name, part.gauge) for name, _ in looks(circuit, part.gauge))
    return next((check.minutes for check in able if check.reads == "truth"), 0.0)


def _together(repairs: Iterable[Repair]) -> Repair:
    single = tuple({repair.name: repair for repair in repairs}.values())
    if len(single) == 1:
        return single[0]
    return Repair(
        "+".join(repair.name for repair in single),
        frozenset(part for repair in single for part in repair.parts),
        sum(repair.minutes for repair in single),
        sum(repair.price for repair in single),
        tuple(dict.fromkeys(place for repair in single for place in repair.places)),
        "; ".join(repair.words for repair in single),
        all(repair.process for repair in single),
    )


def repair_of(circuit: Circuit, fault: Fault | Pair, gauge: str) -> Repair:
    """What mends a fault."""
    return _together([repair_named(circuit, single.part.id, gauge) for single in fault.singles])


def repair_cautions(circuit: Circuit, repair: Repair) -> tuple[Caution, ...]:
    """Cautions of a repair, the worst first."""
    # a repair of another candidate circuit may mend what this one has not
    listed = circuit.sheet.parts
    return mending_cautions(circuit, [listed[name] for name in sorted(repair.parts) if name in listed])


def repair_costs(
    repairs: Sequence[Repair], setup_minutes: Mapping[str, float], opened: Collection[str]
) -> tuple[Floats, Integers]:
    """Minutes and place of each repair, as a planning problem has them.

    Parameters
    ----------
    setup_minutes : mapping
        Of the problem's places, in their order.
    opened : collection of str
        Those that are open.

    Returns
    -------
    minutes : ndarray, shape (repairs,)
        With opening all places but one: a problem knows one place of a repair, the dearest [min].
    places : ndarray of int, shape (repairs,)
        Number of that one; a place that the problem has not is none.
    """
    names = list(setup_minutes)
    minutes, where = np.zeros(len(repairs)), np.full(len(repairs), NO_PLACE, dtype=np.intp)
    for r, repair in enumerate(repairs):
        closed = {name: setup_minutes[name] for name in repair.places if name in setup_minutes}
        minutes[r] = repair.minutes
        if closed:
            dearest = max(closed, key=lambda name: (name not in opened) * closed[name])
            where[r] = names.index(dearest)
            minutes[r] += sum(took for name, took in closed.items() if name not in {dearest, *opened})
    return minutes, where
