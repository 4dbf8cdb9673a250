"""A circuit of one's own looked over: what is missing in it or suspicious, in plain words.

What cannot be read at all is refused when it is read, with file and line or key. Here come the mistakes that
a netlist and a sheet may hold although both are well formed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import WRITE_ZERO, Circuit
from gaugesim.errors import SheetError, UnknownNameError, UnsolvableError, nearest
from gaugesim.paths import shipped_netlists
from gaugesim.reading import Response, Situation, respond
from gaugesim.scenario.check import NO_CHECK, Check, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import Fault, all_faults
from gaugesim.sheet import COILS, roles
from gaugesim.solve.network import GROUND, OPEN_OHMS, islands
from gaugesim.sweeps import FaultSweep, sweep
from gaugesim.table import Table, load

# what an eye on the dial and a plain meter can just tell
NEEDLE_STEP, VOLT_STEP, LAMP_VOLT_STEP, OHM_SHARE = 0.02, 0.02, 0.3, 0.05
# how far a sound needle may stand from a mark of the scale
MARK_STEP = 0.02
# severities beside the typical one: all faults are tried with few, those that do not show with many
FEW, MANY = 1, 5
# a state in which the battery alone feeds the gauges, where a circuit has it
BATTERY_STATE = "key_on_cold"
# volts that differ by more than this belong to another kind of supply
BATTERY_VOLTS, OTHER_SUPPLY = "battery_volts", 1.5


@dataclass(frozen=True)
class Finding:
    """Something that is missing or suspicious.

    Attributes
    ----------
    subject : str
        What it is about: ``fault``, ``check``, ``node``, ``element``, ``point``, ``place``, ``gauge``,
        ``mark``, ``state``, ``consumer``, ``netlist`` or ``words``.
    """

    subject: str
    name: str
    words: str


def review(circuit: Circuit) -> tuple[Finding, ...]:
    """Look a circuit over. Wiring first, then the sheet, the scale, and what no fault or check does.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> review(find("temp_two_coil"))
    ()
    """
    wiring = [*_ground_by_name(circuit), *_loose_ends(circuit), *_elements(circuit), *_cut_off(circuit)]
    sheet = [
        *_supply(circuit),
        *_gauges(circuit),
        *_wired_otherwise(circuit),
        *_places(circuit),
        *_words(circuit),
    ]
    try:
        behaviour = [*_marks(circuit), *_idle(circuit)]
    except UnsolvableError as error:
        behaviour = [Finding("element", circuit.id, f"it cannot be solved: {error}")]
    return (*wiring, *sheet, *behaviour)


def _ground_by_name(circuit: Circuit) -> Iterator[Finding]:
    for line in circuit.netlist.lines[1:]:
        words = line.text.split()
        nodes = words[1:-1] if words[0][0] == "x" else words[1:3]
        if "gnd" in nodes and words[0][0] in "rvilcx":
            yield Finding("node", "gnd", f"{words[0]} ({line.where}) is on node gnd: {WRITE_ZERO}")


def _supply(circuit: Circuit) -> Iterator[Finding]:
    """What was left at the volts of the circuit that this one was copied from."""
    sheet = circuit.sheet
    values = circuit.parameter_values({})
    supply = values.get(BATTERY_VOLTS)
    if supply is None:
        return
    left: dict[str, dict[str, float]] = {"state": {}, "gauge": {}, "consumer": {}}
    for state in sheet.states.values():
        for name in (BATTERY_VOLTS, "charging_volts"):
            if name in state.set:
                left["state"][state.id] = state.set[name]
    left["gauge"] = {gauge.id: gauge.bench_volts for gauge in sheet.gauges.values() if not sheet.regulator}
    left["consumer"] = {consumer.id: consumer.rated_volts for consumer in sheet.consumers.values()}
    if "charging_volts" in values:
        left["netlist"] = {"charging_volts": float(values["charging_volts"])}
    what = {
        "state": "battery_volts of its states",
        "gauge": "bench_volts of its gauges",
        "consumer": "rated_volts of its consumers",
        "netlist": "its .param lines",
    }
    for subject, volts in left.items():
        other = {name: value for name, value in volts.items() if not _same_supply(value, float(supply))}
        if other:
            others = ", ".join(f"{name} {value:g}" for name, value in other.items())
            yield Finding(
                subject,
                next(iter(other)),
                f"the netlist's battery_volts are {supply:g}, and {what[subject]} belong to another supply "
                f"({others} V): give each its own volts in {circuit.id}.toml",
            )


def _same_supply(volts: float, supply: float) -> bool:
    """Whether both are of one supply, as a flat battery and an alternator are, but 12 and 24 V not."""
    return supply / OTHER_SUPPLY < volts < supply * OTHER_SUPPLY


def _loose_ends(circuit: Circuit) -> Iterator[Finding]:
    elements = circuit.netlist.elements
    count = Counter(node for part in elements for node in {part.node_a, part.node_b})
    for part in elements:
        if part.node_a == part.node_b:
            yield Finding(
                "element",
                part.name,
                f"both ends of {part.name} are on node {part.node_a}: nothing flows in it",
            )
        for node in (part.node_a, part.node_b):
            if count[node] == 1 and node != GROUND:
                near = nearest(node, [name for name in count if name not in (node, GROUND)], most=1)
                meant = f"; is {near[0]} meant?" if near else "; join something to it, or leave it out"
                yield Finding("node", node, f"node {node} goes nowhere: only {part.name} is on it{meant}")


def _elements(circuit: Circuit) -> Iterator[Finding]:
    listed = {part.element for part in circuit.sheet.parts.values()}
    for element in circuit.netlist.elements:
        if element.kind == "r" and element.name not in listed and not element.value.names:
            yield Finding(
                "element",
                element.name,
                f"{element.name} ({element.where}) has a plain number and is no part: it never fails and "
                "has no tolerance; give it a .param and a part, or a place in [values]",
            )
        if not element.comment:
            yield Finding(
                "element",
                element.name,
                f"{element.name} ({element.where}) has no comment above it that says what it is",
            )


def _cut_off(circuit: Circuit) -> Iterator[Finding]:
    """Points that no state connects to anything."""
    reached: set[str] = {GROUND}
    for state in circuit.sheet.states:
        network = circuit.network(circuit.values(circuit.parameters(state)))
        able = np.isfinite(network.ohms) & (network.ohms < OPEN_OHMS)
        label = islands(network.ends, able, len(network.nodes))
        reached |= {node for k, node in enumerate(network.nodes) if label[k] == len(network.nodes)}
    for point in circuit.sheet.points.values():
        if point.node not in reached:
            yield Finding(
                "point",
                point.id,
                f"point {point.id}: its node {point.node} is connected to nothing in any state",
            )


def _gauges(circuit: Circuit) -> Iterator[Finding]:
    for gauge in circuit.sheet.gauges.values():
        if gauge.reads == "battery_volts":
            continue
        wanted: list[tuple[str, str, Callable[[str, str], object]]] = [
            *(("point", name, circuit.point) for name in roles().needed_points),
            *(("part", name, circuit.part) for name in roles().needed_parts),
        ]
        for kind, name, find in wanted:
            try:
                find(name, gauge.id)
            except UnknownNameError:
                yield Finding(
                    "gauge",
                    gauge.id,
                    f"the {gauge.id} gauge has no {kind} {name}: what is asked there cannot be asked",
                )


def _wired_otherwise(circuit: Circuit) -> Iterator[Finding]:
    """Gauges whose sheet calls them something else than the movement that their instance is wired as."""
    called = {topology.replace("-", "_").replace(" ", "_"): topology for topology in COILS}
    for gauge in circuit.sheet.gauges.values():
        for line in circuit.netlist.lines:
            plain = [word for word in line.text.partition("params:")[0].split() if "=" not in word]
            wired = called.get(plain[-1], "") if plain[:1] == [gauge.instance] else ""
            if wired and gauge.topology in COILS and gauge.topology != wired:
                yield Finding(
                    "gauge",
                    gauge.id,
                    f"the topology of the {gauge.id} gauge is {gauge.topology!r}, and {gauge.instance} "
                    f"({line.where}) is wired as {wired!r}: write that, or wire the other movement",
                )


def _places(circuit: Circuit) -> Iterator[Finding]:
    sheet = circuit.sheet
    used = {part.place for part in sheet.parts.values()} | {point.place for point in sheet.points.values()}
    for place in sheet.places:
        if place not in used and place != "dash":
            yield Finding(
                "place", place, f"no part and no point is at place {place}: leave it out, or use it"
            )


def _words(circuit: Circuit) -> Iterator[Finding]:
    for path in sorted(shipped_netlists().glob("*.toml")):
        if (
            path.stem != circuit.id
            and Table(load(path, SheetError), path.name, SheetError).data.get("words") == circuit.sheet.words
        ):
            yield Finding(
                "words", circuit.id, f"words are still those of {path.stem}: say what this circuit is"
            )


def _marks(circuit: Circuit) -> Iterator[Finding]:
    states = dict.fromkeys((BATTERY_STATE, circuit.sheet.default_state))
    for gauge in circuit.sheet.gauges.values():
        for mark in gauge.marks:
            stands = [
                float(
                    respond(Situation.of(circuit, state, given={gauge.reads: mark.at})).positions[gauge.id][0]
                )
                for state in states
                if state in circuit.sheet.states
            ]
            best = min(stands, key=lambda position: _off(position, mark.position))
            if _off(best, mark.position) > MARK_STEP:
                shown = "undriven" if np.isnan(best) else f"at {best:.2f}"
                name = mark.label or f"{mark.at:g}"
                yield Finding(
                    "mark",
                    f"{gauge.id}@{mark.at:g}",
                    f"the sound {gauge.id} needle is {shown} where mark {name} of its scale "
                    f"is at {mark.position:.2f}: mend the mark, the sender's ohms or the movement",
                )


def _off(position: float, mark: float) -> float:
    return 9.0 if np.isnan(position) else abs(position - mark)


def _idle(circuit: Circuit) -> Iterator[Finding]:
    """Faults that move nothing and checks that separate nothing, over all states."""
    # of a gauge that is right nothing need move
    faults = [fault for fault in all_faults(circuit) if fault.mode.id != "misjudged"]
    checks, findings = _instruments(circuit)
    yield from findings
    default = circuit.sheet.default_state
    states = [default, *(state for state in circuit.sheet.states if state != default)]
    moving: set[str] = set()
    separating: set[str] = set()
    for state in states:
        for check in checks:
            waiting = [fault for fault in faults if fault.id not in moving]
            if check.id in separating and not waiting:
                continue
            # a check that has told something already is asked again only about faults not seen yet
            if check.id in separating:
                moved, _ = _moved(circuit, state, check, waiting, MANY)
            else:
                moved, separates = _moved(circuit, state, check, faults, FEW)
                separating |= {check.id} if separates else set()
            moving |= moved
    for fault in faults:
        if fault.id not in moving:
            yield Finding(
                "fault",
                fault.id,
                f"{fault.id} moves nothing: no needle and no reading of any check shows it in any state",
            )
    for check in checks:
        if check.id and check.id not in separating:
            yield Finding(
                "check", check.id, f"{check.id} separates nothing: no fault shows there in any state"
            )


def _instruments(circuit: Circuit) -> tuple[list[Check], list[Finding]]:
    """Checks that read a needle or an instrument, and what keeps others from being done.

    Looking and shaking say of a part what they say.
    """
    checks, findings = [NO_CHECK], []
    for name in check_ids(circuit):
        try:
            check = find_check(circuit, name)
        except UnknownNameError as error:
            findings.append(Finding("check", name, f"check {name} cannot be done: {error}"))
        else:
            checks += [check] if not check.kind.by_hand else []
    return checks, findings


def _moved(
    circuit: Circuit, state: str, check: Check, faults: Sequence[Fault], count: int
) -> tuple[set[str], bool]:
    """Faults that show in a situation, and whether the check's own instrument, or needle, shows any."""
    situation = Situation.of(circuit, state, check)
    swept = sweep(situation, faults, count)
    sound = respond(situation)
    shows = np.zeros(len(swept.scenarios), dtype=bool)
    for gauge in circuit.sheet.gauges:
        shows |= _differs(swept.response.positions[gauge], sound.positions[gauge][0], NEEDLE_STEP)
    separates = bool(np.any(shows))
    if swept.response.reading is not None and sound.reading is not None:
        read = _read(swept, sound, check)
        # a sender out in water or moved by hand is read on the needle as well
        separates = bool(np.any(read)) or (check.meter is not None and separates)
        shows |= read
    return {faults[k].id for k in np.unique(swept.scenarios.source[shows])}, separates


def _read(swept: FaultSweep, sound: Response, check: Check) -> Floats:
    values, reading = swept.response.reading, sound.reading
    assert values is not None
    assert reading is not None
    if check.reads == "ohms":
        step = OHM_SHARE * max(float(reading[0]), 1.0)
    else:
        step = LAMP_VOLT_STEP if check.reads == "lamp" else VOLT_STEP
    return np.asarray(_differs(values, float(reading[0]), step) | (swept.response.pulses != sound.pulses[0]))


def _differs(values: Floats, sound: float, step: float) -> Floats:
    """Whether each differs by more than a step, or is undriven where the other is not."""
    undriven = np.isnan(values) != np.isnan(sound)
    return np.asarray(undriven | (np.nan_to_num(np.abs(values - sound)) > step))
