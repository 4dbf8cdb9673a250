"""Why each needle stands where it stands: the currents with their ways, and what they do in each gauge.

The currents are those of the whole solved circuit, run by run: parts in series carry one current, and where
runs meet as much flows in as flows out. In a gauge each coil's current makes an arrow, and the needle lies
along the sum of the arrows; or a winding's heat bends a strip; or one coil's current turns the needle.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.movement import MOVEMENTS, Coil, Flows
from gaugesim.physics import air_core
from gaugesim.reading.exact import moments
from gaugesim.reading.response import Response, respond
from gaugesim.reading.situations import Situation
from gaugesim.scenario.changes import HEALTHY
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.sheet import Gauge
from gaugesim.solve.network import GROUND
from gaugesim.solve.nodal import Solution

# assumed: what a common meter still shows; less is told as no current
FLOWS_AMPERES = 1e-5


@dataclass(frozen=True)
class Run:
    """Parts in series, in the direction of the one current through them.

    Attributes
    ----------
    nodes : tuple of str
        Where it starts, the nodes between its parts, where it ends.
    amperes : float
        Mean over time where a regulator pulses [A]; `FLOWS_AMPERES` at least.
    """

    branches: tuple[str, ...]
    nodes: tuple[str, ...]
    amperes: float


@dataclass(frozen=True)
class Arrow:
    """The field of one coil.

    Attributes
    ----------
    amperes : float
        Mean over time, positive from the coil's first node to its second [A].
    turns : float
        What a fault has left of its ampere-turn constant [1].
    degrees : float
        Its axis, anticlockwise from the dial's right-hand side; a current backwards points the other way.
    x, y : float
        [ampere-turns].
    """

    element: str
    amperes: float
    turns: float
    degrees: float
    x: float
    y: float


@dataclass(frozen=True)
class Heat:
    """A winding on a strip that bends with its heat.

    Attributes
    ----------
    amperes : float
        Root of the mean square [A].
    ohms : float
        [ohm]
    watts : float
        Mean over time; what a weak movement makes of it [W].
    low, high : float
        At positions 0 and 1 [W].
    """

    element: str
    amperes: float
    ohms: float
    watts: float
    low: float
    high: float


@dataclass(frozen=True)
class Turn:
    """A coil whose current turns the needle against a spring.

    Attributes
    ----------
    amperes : float
        Mean over time; what a weak movement makes of it [A].
    low, high : float
        At positions 0 and 1 [A].
    """

    element: str
    amperes: float
    low: float
    high: float


@dataclass(frozen=True)
class GaugeWhy:
    """Why one needle stands where it stands.

    Attributes
    ----------
    position : float or None
        Of the needle; None where nothing drives it.
    drive : ndarray
        What drives it: watts, amperes, or the sum of the arrows with the rest field, see `Movement.drive`.
    arrows : tuple of Arrow
        One for each coil of an air-core movement.
    runs : tuple of int
        Numbers of the runs that lead to it from the supply and from it back, in their order.
    """

    gauge: Gauge
    position: float | None
    drive: Floats
    arrows: tuple[Arrow, ...] = ()
    heat: Heat | None = None
    turn: Turn | None = None
    stuck: bool = False
    runs: tuple[int, ...] = ()

    @property
    def total(self) -> tuple[float, float]:
        """Sum of the arrows, with the rest field [ampere-turns]."""
        return float(self.drive[0]), float(self.drive[1])

    @property
    def degrees(self) -> float | None:
        """Where that points."""
        pointing = self.arrows and any(self.total)
        return float(air_core.needle_degrees(*self.total)) if pointing else None

    @property
    def elements(self) -> tuple[str, ...]:
        """Its coils, or its winding."""
        coils = [arrow.element for arrow in self.arrows]
        return (*coils, *(each.element for each in (self.heat, self.turn) if each))


@dataclass(frozen=True)
class Why:
    """Why the needles of a circuit stand where they stand.

    Attributes
    ----------
    voltages : mapping
        From node to its voltage against battery negative, mean over time [V].
    currents : mapping
        From branch to its current, first node to second, mean over time [A].
    duty : float
        Share of the time the regulator's contact is closed [1].
    """

    situation: Situation
    runs: tuple[Run, ...]
    voltages: Mapping[str, float]
    currents: Mapping[str, float]
    duty: float
    gauges: Mapping[str, GaugeWhy]
    sound: Why | None = field(default=None, repr=False)


def why(situation: Situation, scenarios: Scenarios | None = None, response: Response | None = None) -> Why:
    """Work out why the needles stand where they stand.

    Parameters
    ----------
    scenarios : Scenarios, optional
        One row; the sound circuit if left out.

    Examples
    --------
    With stud B off, two of three coils have next to no current, and the third one points to half.

    >>> from gaugesim.circuit import find
    >>> from gaugesim.reading import Situation
    >>> from gaugesim.scenario.fault import parse_faults
    >>> situation = Situation.of(find("temp_opposed_coil"))
    >>> _, change = parse_faults(situation.circuit, ["stud_bias=open"], situation.parameters)
    >>> told = why(situation, stack([change])).gauges["temperature"]
    >>> [f"{abs(arrow.amperes):.3f}" for arrow in told.arrows], round(told.degrees)
    (['0.074', '0.000', '0.000'], 90)
    """
    if scenarios is None:
        return _why(situation, stack([HEALTHY]), response)
    return replace(_why(situation, scenarios, response), sound=why(situation))


def _why(situation: Situation, scenarios: Scenarios, response: Response | None) -> Why:
    response = response or respond(situation, scenarios)
    phases = moments(situation, scenarios, response)
    network = phases[0][1].network
    mean = sum(share * solution.currents for share, solution in phases)
    volts = sum(share * solution.voltages for share, solution in phases)
    currents = dict(zip(network.names, np.asarray(mean).tolist(), strict=True))
    voltages = dict(zip((*network.nodes, GROUND), np.asarray(volts).tolist(), strict=True))
    runs = _runs(situation, phases[0][1], currents, voltages)
    gauges = {
        gauge.id: _gauge(gauge, situation, scenarios, response, phases, runs) for gauge in situation.gauges
    }
    return Why(situation, runs, voltages, currents, float(response.duty[0]), gauges)


def _gauge(
    gauge: Gauge,
    situation: Situation,
    scenarios: Scenarios,
    response: Response,
    phases: list[tuple[float, Solution]],
    runs: tuple[Run, ...],
) -> GaugeWhy:
    stands = float(response.positions[gauge.id][0])
    position = None if np.isnan(stands) else stands
    held = scenarios.stuck.get(gauge.id)
    stuck = held is not None and not np.isnan(held[0])
    network, kind = phases[0][1].network, MOVEMENTS[gauge.movement]
    left = scenarios.turns
    flows = Flows(
        lambda element, power: np.asarray(
            sum(share * float(solution.current(element)) ** power for share, solution in phases)
        ),
        lambda element: np.asarray(network.ohms[network.branch(element)]),
        lambda element: left.get(element, np.ones(1))[0],
        scenarios.strength.get(gauge.id, np.ones(1))[0],
    )
    drive = kind.drive(gauge, flows)
    reason = GaugeWhy(gauge, position, drive, stuck=stuck)
    if kind.along_field:
        arrows = tuple(_arrow(coil, flows) for coil in gauge.coils)
        reason = replace(reason, arrows=arrows)
    elif kind.heats:
        square, ohms = float(flows.mean(gauge.element, 2)), float(flows.ohms(gauge.element))
        reason = replace(
            reason, heat=Heat(gauge.element, square**0.5, ohms, float(drive), gauge.low, gauge.high)
        )
    else:
        reason = replace(reason, turn=Turn(gauge.element, float(drive), gauge.low, gauge.high))
    return replace(reason, runs=_ways(situation, runs, gauge, reason.elements))


def _arrow(coil: Coil, flows: Flows) -> Arrow:
    amperes = float(flows.mean(coil.element, 1))
    turns = coil.turns * float(flows.turns(coil.element) * flows.strength)
    x, y = air_core.field([amperes], [turns], [coil.degrees])
    return Arrow(coil.element, amperes, turns, coil.degrees, float(x), float(y))


def stands_at(reason: GaugeWhy) -> float | None:
    """Where the needle would stand by what drives it, on its own.

    Position [1]; None where it is not driven. Equal to ``told.position`` but for a needle that is held.
    """
    stands = float(MOVEMENTS[reason.gauge.movement].position(reason.gauge, reason.drive))
    return None if np.isnan(stands) else stands


def _runs(
    situation: Situation, solution: Solution, currents: Mapping[str, float], voltages: Mapping[str, float]
) -> tuple[Run, ...]:
    """Every current that flows, in runs that end where others meet them, and at the battery's posts."""
    network = solution.network
    names = (*network.nodes, GROUND)
    leaving: dict[str, list[tuple[str, str]]] = {}
    coming: dict[str, int] = {}
    for name, (a, b) in zip(network.names, network.ends.tolist(), strict=True):
        if abs(currents[name]) >= FLOWS_AMPERES:
            first, last = (names[a], names[b]) if currents[name] > 0 else (names[b], names[a])
            leaving.setdefault(first, []).append((name, last))
            coming[last] = coming.get(last, 0) + 1
    posts = _posts(situation)

    def joins(node: str) -> bool:
        return node in posts or len(leaving.get(node, ())) != 1 or coming.get(node, 0) != 1

    sources = {name for name, volts in zip(network.names, network.volts, strict=True) if volts != 0}
    runs = []
    for start in [node for node in leaving if joins(node)]:
        for name, node in leaving[start]:
            branches, nodes = [name], [start, node]
            while not joins(nodes[-1]):
                following, node = leaving[nodes[-1]][0]
                branches.append(following)
                nodes.append(node)
            runs.append(Run(tuple(branches), tuple(nodes), abs(currents[name])))

    def height(run: Run) -> tuple[bool, float, float]:
        ends = [float(np.nan_to_num(voltages[node])) for node in (run.nodes[0], run.nodes[-1])]
        return not sources & {*run.branches}, -ends[0], -ends[1]

    return tuple(sorted(runs, key=height))


def _posts(situation: Situation) -> frozenset[str]:
    """The battery's two posts."""
    live = situation.circuit.sheet.points.get(situation.circuit.sheet.live_pole)
    return frozenset({GROUND, live.node} if live else {GROUND})


def _ways(
    situation: Situation, runs: tuple[Run, ...], gauge: Gauge, elements: Iterable[str]
) -> tuple[int, ...]:
    """The runs from the battery's posts through a gauge's coils and back; not those of the supply itself.

    What else flows at the ends of its coils is told as well, or the currents there would not add up: an arm
    of a bridge, a test lamp. Other gauges are left out.
    """
    posts, volts = _posts(situation), situation.network.volts
    sources = {name for name, emf in zip(situation.network.names, volts, strict=True) if emf != 0}
    wanted = [k for k, run in enumerate(runs) if not sources & {*run.branches}]
    own = [k for k in wanted if {*elements} & {*runs[k].branches}]
    ends = {runs[k].nodes[i] for k in own for i in (0, -1)} - posts
    others = [f".{each.instance}." for each in situation.gauges if each is not gauge]

    def beside(run: Run) -> bool:
        elsewhere = any(other in name for name in run.branches for other in others)
        return bool({run.nodes[0], run.nodes[-1]} & ends) and not elsewhere

    own += [k for k in wanted if k not in own and beside(runs[k])]
    reached = set(own)
    for end, start in ((0, -1), (-1, 0)):  # towards the supply, then back from the gauge
        waiting = list(own)
        while waiting:
            node = runs[waiting.pop()].nodes[end]
            new = [k for k in wanted if runs[k].nodes[start] == node and k not in reached]
            if node not in posts:
                reached |= {*new}
                waiting += new
    return tuple(sorted(reached))
