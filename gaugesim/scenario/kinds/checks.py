"""The kinds of checks that take more than looking."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from operator import attrgetter
from types import MappingProxyType

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.movement import MOVEMENTS
from gaugesim.scenario.apparatus import FUSED_LEAD_OHMS, JUMPER_OHMS, Setup
from gaugesim.scenario.fault import exchanged
from gaugesim.scenario.kinds.by_hand import LOOK_AT, Wiggle
from gaugesim.scenario.kinds.request import Arrangement, Request, wire
from gaugesim.scenario.kinds.targets import CheckKind, bare, has, is_inside, own
from gaugesim.sheet import Gauge, roles
from gaugesim.solve.network import GROUND, Path


class AtPoint(CheckKind):
    """From a point to battery negative."""

    targets = ":POINT"

    def where(self, circuit: Circuit, wanted: Sequence[str], gauges: Sequence[Gauge]) -> Iterator[str]:
        """See `CheckKind.where`."""
        wanted = roles().groundable if self.reads == "needle" else wanted
        for point in own(circuit.sheet.points.values(), gauges):
            if point.node != GROUND and (not wanted or bare(point) in wanted):
                yield f"{self.id}:{point.id}"

    def _arrange(self, ask: Request) -> Arrangement:
        point = ask.point(ask.arguments[0])
        return Arrangement(ask.hung(self.reads, point.node), point.words, (point.place,))


class BetweenPoints(CheckKind):
    """From one point to another."""

    targets = ":POINT:POINT"

    def where(self, circuit: Circuit, wanted: Sequence[str], gauges: Sequence[Gauge]) -> Iterator[str]:
        """See `CheckKind.where`."""
        points = {point.id for point in own(circuit.sheet.points.values(), gauges)}
        for target in wanted:
            for gauge in ("", *(gauge.id for gauge in gauges)):
                names = [name if name in points else f"{gauge}_{name}" for name in target.split(":")]
                if all(name in points for name in names):
                    yield f"{self.id}:{':'.join(names)}"

    def _arrange(self, ask: Request) -> Arrangement:
        first, second, words = ask.two_points
        return Arrangement(ask.hung(self.reads, first.node, second.node), words, (first.place, second.place))


class AcrossPart(CheckKind):
    """Across a part with a resistance of its own; one end of it is free for an ohmmeter."""

    targets = ":PART"

    def where(self, circuit: Circuit, wanted: Sequence[str], gauges: Sequence[Gauge]) -> Iterator[str]:
        """See `CheckKind.where`."""
        for part in own(circuit.sheet.parts.values(), gauges):
            if bare(part) in wanted or (part.element and not wanted and not is_inside(part)):
                yield f"{self.id}:{part.id}"

    def _arrange(self, ask: Request) -> Arrangement:
        part = ask.electric(ask.arguments[0])
        setup = ask.isolated(part) if self.reads == "ohms" else ask.hung(self.reads, *ask.ends(part))
        cautions = part.bridging if self.reads == "needle" else ()
        return Arrangement(setup, part.words, (part.place,), cautions=cautions)


class OfGauge(CheckKind):
    """Of a gauge's own sender, lead or studs; what reads hangs from the lead to battery negative."""

    takes_gauge = True
    begins_at = attrgetter("lead_end")

    def where(self, circuit: Circuit, wanted: Sequence[str], gauges: Sequence[Gauge]) -> Iterator[str]:
        """See `CheckKind.where`."""
        for gauge in gauges:
            if not has(circuit.sheet.parts, self.begins_at(roles()), gauge):
                continue
            front = f"{self.id}:{gauge.id}" if len(circuit.sheet.gauges) > 1 else self.id
            for target in self._of(circuit, wanted or ("",), gauge):
                yield f"{front}:{target}" if target else front

    def _of(self, circuit: Circuit, wanted: Sequence[str], gauge: Gauge) -> Sequence[str]:
        """Targets that make sense on a gauge; ``""`` for none."""
        return wanted

    def _arrange(self, ask: Request) -> Arrangement:
        setup = replace(ask.hung(self.reads, ask.lead.node), branches=ask.off)
        return Arrangement(setup, places=(ask.connector.place,))


class UnplugSender(OfGauge):
    """The lead off the sender."""

    def _arrange(self, ask: Request) -> Arrangement:
        return Arrangement(Setup(branches=ask.off), places=(ask.connector.place,))


class GroundSenderLead(OfGauge):
    """The lead off the sender, joined to the engine block where the sender is there, or else to the body."""

    targets, least = ":POINT", 0

    def _of(self, circuit: Circuit, wanted: Sequence[str], gauge: Gauge) -> Sequence[str]:
        return ["", *(name for name in (circuit.sheet.earthed_pole, "body") if name in circuit.sheet.points)]

    def _arrange(self, ask: Request) -> Arrangement:
        block = ask.circuit.sheet.points.get("engine_block")
        default = "engine_block" if block and block.place == ask.connector.place else "body"
        point = ask.point(ask.arguments[0] if ask.arguments else default)
        setup = Setup(branches=ask.off, paths=(wire(ask.lead.node, point.node),))
        places = (ask.connector.place, *([point.place] if ask.arguments else []))
        return Arrangement(setup, point.words, places)


class Substitute(OfGauge):
    """The lead off the sender, a resistor from it to ground."""

    targets = ":OHMS"

    def _arrange(self, ask: Request) -> Arrangement:
        ohms = ask.number(ask.arguments[0], "ohms", 0.0, 1e9)
        resistor = wire(ask.lead.node, GROUND, ohms, "resistor")
        return Arrangement(Setup(branches=ask.off, paths=(resistor,)), f"{ohms:g}", (ask.connector.place,))


class SenderOhms(OfGauge):
    """The sender alone on an ohmmeter."""

    def _arrange(self, ask: Request) -> Arrangement:
        return Arrangement(ask.isolated(ask.part(roles().sender)), places=(ask.connector.place,))


@dataclass(frozen=True)
class SenderOut(OfGauge):
    """The sender out, still wired and then on an ohmmeter, at a value that is known.

    Attributes
    ----------
    targets : str
        Of that value.
    unit : str
        Of the quantity that the sender feels.
    low, high : float
        Limits of the value, in that unit.
    """

    # a float that has sunk or is caught rises by hand, one that is seized may not: common practice, no source
    frees = MappingProxyType({"float_sender": 0.7})
    targets: str = ""  # type: ignore[misc]
    unit: str = ""
    low: float = 0.0
    high: float = 1.0
    spoken: str = "{:.0%}"

    def _of(self, circuit: Circuit, wanted: Sequence[str], gauge: Gauge) -> Sequence[str]:
        return wanted if circuit.sheet.quantities[gauge.reads].unit == self.unit else ()

    def _arrange(self, ask: Request) -> Arrangement:
        quantity = ask.circuit.sheet.quantities[ask.gauge.reads]
        if (quantity.unit == "celsius") != (self.unit == "celsius"):
            problem = f"the {ask.gauge.id} gauge reads {quantity.words}"
            raise ask.fail(problem, "choose the check that fits its sender")
        value = ask.number(ask.arguments[0], self.targets[1:].lower(), self.low, self.high)
        given = {ask.gauge.reads: value}
        sender = ask.part(roles().sender)
        # its body hangs on a clip lead to the engine while it is out
        wired = Setup(parameters=given, branches={ask.part(roles().sender_return).element: JUMPER_OHMS})
        return Arrangement(
            wired, self.spoken.format(value).replace("%", " %"), (sender.place,), ask.isolated(sender, given)
        )


class UnplugAtGauge(OfGauge):
    """The wire off the gauge's sender stud."""

    begins_at = attrgetter("sender_stud")

    def _arrange(self, ask: Request) -> Arrangement:
        stud = ask.part(self.begins_at(roles()))
        return Arrangement(Setup(branches={stud.element: np.inf}), places=(stud.place,))


class HeadOhms(OfGauge):
    """The gauge off the panel, an ohmmeter between two of its studs."""

    targets = ":POINT:POINT"
    begins_at = attrgetter("feed_stud")

    def _of(self, circuit: Circuit, wanted: Sequence[str], gauge: Gauge) -> Sequence[str]:
        points = (point for point in circuit.sheet.points.values() if point.gauge == gauge.id)
        studs = [point.id for point in points if bare(point) in roles().stud_ids]
        return [f"{first}:{second}" for first, second in combinations(studs, 2)]

    def _arrange(self, ask: Request) -> Arrangement:
        first, second, words = ask.two_points
        meter = ask.hung(self.reads, first.node, second.node)
        setup = replace(meter, kept=ask.circuit.gauge_elements(ask.gauge))
        return Arrangement(setup, words, (first.place,))


class BenchGauge(OfGauge):
    """The gauge alone on a bench supply, with a resistor for a sender."""

    targets = ":OHMS"
    begins_at = attrgetter("sender_stud")

    def _arrange(self, ask: Request) -> Arrangement:
        ohms = ask.number(ask.arguments[0], "ohms", 0.0, 1e9)
        points = ask.circuit.sheet.points
        studs = {
            what: ask.point(stud.id).node
            for what, stud in roles().studs.items()
            if has(points, stud.id, ask.gauge)
        }
        feed = studs["feed"]
        paths = [ask.supply(feed), wire(studs["sender"], GROUND, ohms, "resistor")]
        if "ground" in studs:
            paths.append(wire(studs["ground"], GROUND, name="ground_lead"))
        if "bias" in studs:
            paths.append(wire(feed, studs["bias"], name="bias_lead"))
        setup = Setup(paths=tuple(paths), kept=ask.circuit.gauge_elements(ask.gauge))
        return Arrangement(setup, f"{ohms:g}", (ask.part(self.begins_at(roles())).place,))


class OnGauge(CheckKind):
    """At a gauge, which is the target."""

    targets = ":GAUGE"
    takes_gauge = True

    def where(self, circuit: Circuit, wanted: Sequence[str], gauges: Sequence[Gauge]) -> Iterator[str]:
        """See `CheckKind.where`."""
        return (f"{self.id}:{gauge.id}" for gauge in gauges)


class FeedDirect(OnGauge):
    """The gauge's feed stud fed past all that should feed it."""

    def _arrange(self, ask: Request) -> Arrangement:
        name, sheet = roles().feed_stud, ask.circuit.sheet
        stud = ask.point(name)
        if sheet.regulator and MOVEMENTS[ask.gauge.movement].heats:
            # off the foil, which would feed the others, and on its own voltage
            setup = Setup(branches={ask.part(name).element: np.inf}, paths=(ask.supply(stud.node),))
        else:
            lead = wire(ask.point(sheet.live_pole).node, stud.node, FUSED_LEAD_OHMS, "fused_lead")
            setup = Setup(paths=(lead,))
        return Arrangement(setup, places=(stud.place,))


class Tap(OnGauge):
    """The glass of a gauge is tapped."""

    by_hand = True
    # a needle that only hangs lets go: common practice, no source
    frees = MappingProxyType({"movement": 0.5})

    def _arrange(self, ask: Request) -> Arrangement:
        # a loose stud answers to a tap on the glass as the movement itself does
        places = ("dash",) if "dash" in ask.circuit.sheet.places else ()
        return Arrangement(places=places, part=f"gauge:{ask.gauge.id}")


class SwapSenderLeads(CheckKind):
    """The leads of two gauges exchanged at their senders."""

    targets, least = ":A:B", 0

    def where(self, circuit: Circuit, wanted: Sequence[str], gauges: Sequence[Gauge]) -> Iterator[str]:
        """See `CheckKind.where`."""
        # gauges on one sender have one lead to it
        able = [gauge.id for gauge in gauges if f"{gauge.id}_{roles().lead_end}" in circuit.sheet.parts]
        several = len(circuit.sheet.gauges) > 2
        return (f"{self.id}:{a}:{b}" if several else self.id for a, b in combinations(able, 2))

    def _arrange(self, ask: Request) -> Arrangement:
        gauges = ask.arguments or tuple(ask.circuit.sheet.gauges)
        if len(gauges) != 2:
            raise ask.fail(f"{len(gauges)} gauges", f"write {self.id}:A:B with two gauges")
        first, second = (ask.circuit.gauge(name).id for name in gauges)
        if first == second:
            raise ask.fail("both gauges are the same", "name two different ones")
        connectors = [ask.circuit.part(roles().lead_end, name) for name in (first, second)]
        if connectors[0] == connectors[1]:
            problem = f"{first} and {second} are on one sender"
            raise ask.fail(problem, "name gauges with senders of their own")
        opened, joined = exchanged(ask.circuit, first, second, roles().lead_end, ask.circuit.values({}))
        paths = tuple(
            Path(f"exchanged_{i}", a, b, float(ohms)) for i, ((a, b), ohms) in enumerate(joined.items())
        )
        words = " and ".join(name.replace("_", " ") for name in (first, second))
        setup = Setup(branches=dict.fromkeys(opened, np.inf), paths=paths)
        return Arrangement(setup, words, tuple(connector.place for connector in connectors))


SUBSTITUTE, VOLTS_AT = Substitute("substitute"), AtPoint("volts_at", "volts", on_any_side=True)
SENDER_LEAD_VOLTS, HEAD_OHMS = OfGauge("sender_lead_volts", "volts"), HeadOhms("head_ohms", "ohms")
# what anybody does first
FIRST = (UnplugSender("unplug_sender"), GroundSenderLead("ground_sender_lead"), SENDER_LEAD_VOLTS)
KINDS: tuple[CheckKind, ...] = (
    *FIRST[:2],
    AtPoint("ground_at"),
    UnplugAtGauge("unplug_at_gauge"),
    SUBSTITUTE,
    SENDER_LEAD_VOLTS,
    VOLTS_AT,
    AcrossPart("drop_across", "volts"),
    BetweenPoints("drop_between", "volts"),
    AtPoint("ride", "volts", on_any_side=True, sparks=True, acting=True, turns_engine=True),
    AtPoint("lamp_at", "lamp", on_any_side=True, sparks=True),
    OfGauge("lamp_on_sender_lead", "lamp", needle_too=True, sparks=True),
    AcrossPart("ohms_across", "ohms"),
    BetweenPoints("ohms_between", "ohms"),
    SenderOhms("sender_ohms", "ohms"),
    HEAD_OHMS,
    SenderOut(
        "sender_in_water",
        "ohms",
        needle_too=True,
        targets=":CELSIUS",
        unit="celsius",
        low=-20.0,
        high=110.0,
        spoken="{:g}",
    ),
    SenderOut("float_by_hand", "ohms", needle_too=True, targets=":LEVEL", unit="1"),
    BenchGauge("bench_gauge"),
    AcrossPart("jumper_across"),
    BetweenPoints("jumper_between"),
    FeedDirect("feed_direct"),
    Wiggle("wiggle", "jump"),
    Tap("tap", "jump"),
    SwapSenderLeads("swap_sender_leads"),
    LOOK_AT,
)
