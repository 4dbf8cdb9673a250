"""One circuit as a card for the wall: how it is wired, what its parts should be, what a sound one shows."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from gaugesim.circuit import Circuit
from gaugesim.reading import Appearance, Situation, see
from gaugesim.scenario.check import NO_CHECK, Check, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.sheet import Gauge, Part
from gaugesim.solve.network import GROUND, OPEN_OHMS

# an element of more than this is a switch that is off or a load that is not there
_ABSENT_OHMS = OPEN_OHMS / 10


@dataclass(frozen=True)
class Strand:
    """A line of parts from one terminal of a gauge.

    Attributes
    ----------
    terminal : str
        Where on the gauge it starts, in words.
    parts : tuple of str
        What lies along it, in words, outward.
    end : str
        Where it ends: ``battery positive`` or ``battery negative``, or the line that it joins.
    """

    terminal: str
    parts: tuple[str, ...]
    end: str


@dataclass(frozen=True)
class PartValue:
    """What a sound part measures.

    Attributes
    ----------
    ohms : float
        In the circuit's default state [ohm].
    low, high : float
        95 of 100 lie between these [ohm].
    """

    ohms: float
    low: float
    high: float


@dataclass(frozen=True)
class SoundReading:
    """What a check shows on a sound circuit.

    Attributes
    ----------
    place : str
        The place that takes longest to reach, ``""`` for none.
    """

    check: Check
    place: str
    seen: Mapping[str, Appearance]


def chain(circuit: Circuit, gauge: Gauge) -> tuple[Strand, ...]:
    """How a gauge is wired: the parts along each of its terminals' lines.

    The shortest way from each terminal to the battery or to a line already named.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> circuit = find("temp_opposed_coil")
    >>> for strand in chain(circuit, circuit.gauge()):
    ...     print(strand.terminal, len(strand.parts), strand.end, sep=", ")
    stud I (feed), 7, battery positive
    stud G (ground), 5, battery negative
    stud B (bias), 1, the line of stud I (feed)
    stud S (sender), 8, battery negative
    """
    wires = _wires(circuit, gauge)
    points = {point.node: point.words for point in circuit.sheet.points.values()}
    live, earthed = circuit.sheet.live_pole, circuit.sheet.earthed_pole
    feed = circuit.sheet.points.get(live)
    ends = {GROUND: earthed.replace("_", " ")} | ({feed.node: live.replace("_", " ")} if feed else {})
    inside = [circuit.netlist.element(name) for name in circuit.gauge_elements(gauge)]
    terminals = dict.fromkeys(node for part in inside for node in (part.node_a, part.node_b) if node in wires)
    strands = []
    for node in terminals:
        nodes, names = _shortest(wires, node, ends)
        words = points.get(node, node)
        strands.append(
            Strand(words, tuple(_words(circuit, name) for name in names), ends.get(nodes[-1], "nowhere"))
        )
        ends |= {passed: f"the line of {words}" for passed in nodes[:-1] if passed not in ends}
    return tuple(strands)


def _wires(circuit: Circuit, gauge: Gauge) -> dict[str, list[tuple[str, str]]]:
    """Neighbours of each node, with the element between, over what carries current outside all gauges."""
    inside = {name for entry in circuit.sheet.gauges.values() for name in circuit.gauge_elements(entry)}
    foreign = {part.element for part in circuit.sheet.parts.values() if part.gauge not in ("", gauge.id)}
    own = {part.element for part in circuit.sheet.parts.values()} - foreign
    values = circuit.values(circuit.parameters())
    result: dict[str, list[tuple[str, str]]] = {}
    for element in circuit.netlist.elements:
        absent = element.kind != "r" or values[element.name] > _ABSENT_OHMS
        if absent or element.name in inside or element.name not in own:
            continue
        result.setdefault(element.node_a, []).append((element.node_b, element.name))
        result.setdefault(element.node_b, []).append((element.node_a, element.name))
    return result


def _shortest(
    wires: Mapping[str, list[tuple[str, str]]], start: str, ends: Mapping[str, str]
) -> tuple[list[str], list[str]]:
    """Nodes and elements of the way with the fewest parts to one of some nodes."""
    ways: dict[str, tuple[list[str], list[str]]] = {start: ([start], [])}
    waiting = deque([start])
    while waiting:
        node = waiting.popleft()
        nodes, names = ways[node]
        if node in ends:
            return nodes, names
        for other, name in wires.get(node, []):
            if other not in ways:
                ways[other] = [*nodes, other], [*names, name]
                waiting.append(other)
    return [start], []


def _words(circuit: Circuit, element: str) -> str:
    for part in circuit.sheet.parts.values():
        if part.element == element:
            return part.words
    return circuit.netlist.element(element).comment or element


def part_value(circuit: Circuit, part: Part) -> PartValue | None:
    """What a sound part measures. None for a part without a resistance of its own.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> circuit = find("temp_opposed_coil")
    >>> round(part_value(circuit, circuit.part("sender_wire")).ohms, 6)
    0.06
    """
    if not part.element:
        return None
    ohms = float(circuit.values(circuit.parameters())[part.element])
    return PartValue(ohms, ohms / (1 + part.tolerance), ohms * (1 + part.tolerance))


def sound_readings(circuit: Circuit, states: Sequence[str] | None = None) -> Iterator[SoundReading]:
    """What each check shows on a sound circuit, for those checks that read something.

    Yields
    ------
    SoundReading
        Just watching first.
    """
    states = list(circuit.sheet.states) if states is None else states
    checks = [NO_CHECK, *(find_check(circuit, name) for name in check_ids(circuit))]
    for check in checks:
        if check.kind.by_hand:
            continue
        place = max(check.places, key=lambda name: circuit.sheet.places[name].setup_minutes, default="")
        seen = {state: see(Situation.of(circuit, state, check)) for state in states}
        yield SoundReading(check, place, seen)
