"""The netlist of a composed circuit as text: shared pieces included, the gauges between them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping

from gaugesim.compose.choose import ChosenGauge
from gaugesim.compose.earth import swapped_supply
from gaugesim.compose.kinds import Design, load_kinds
from gaugesim.compose.layout import SECOND, Mounted, VehicleLayout
from gaugesim.compose.senders import Sender
from gaugesim.compose.system import SHARED_VOLTS
from gaugesim.paths import shipped_netlists
from gaugesim.solve.network import OPEN_OHMS

# the state in which the netlist stands: running, warm, at 12 V; the others follow from netlists/shared
BATTERY_VOLTS, CHARGING_VOLTS, CHARGING_OHMS, SWITCH_OHMS, LAMPS_COLD = 13.4, 14.2, 0.08, 0.02, 0.8
AMBIENT_CELSIUS = 25.0
PROCESS = {"temperature": "coolant_celsius", "fuel": "fuel_level", "oil_pressure": "oil_bar"}
USUAL_RETURN = {"fuel": "wire", "temperature": "thread", "oil_pressure": "thread"}
# what stands for the regulator in netlists/shared/regulator.cir
_POINTS = "interrupter params: contact={regulator} heater={regulator_heater}"
_SENDER_GROUND = re.compile(r"(R\w*sender_ground \w+) (?:engine_block|body) ")


def called(gauge: Mounted) -> str:
    """What a gauge is called in a sentence."""
    if gauge.choice.quantity == "voltmeter":
        return "voltmeter"
    return f"{gauge.id.replace('_', ' ')} gauge"


def design(layout: VehicleLayout, gauge: Mounted) -> Design:
    """Windings of a gauge: those of the nearest worked design, in proportion to the sender's ohms.

    Its turns are such that the field is that of the worked design at the system's volts. Three significant
    digits.
    """
    movement, ohms = gauge.choice.movement, gauge.choice.ohms
    if not ohms:
        return movement.designs[0]
    if layout.two_stations:  # two gauges share one sender, so each is wound for twice its ohms
        ohms = tuple(2 * each for each in ohms)

    def shape(high: float, low: float) -> tuple[float, float]:
        # a tenth of the larger keeps a sender that goes down to nothing comparable
        return (high * (low + 0.1 * high)) ** 0.5, (low + 0.02 * high) / high

    middle, ratio = shape(max(ohms), min(ohms))

    def far(other: Design) -> float:
        theirs = shape(*other.range)
        return abs(math.log(middle / theirs[0])) + 2 * abs(math.log(ratio / theirs[1]))

    nearest = min(movement.designs, key=far)
    scale = middle / shape(*nearest.range)[0]
    turns = SHARED_VOLTS / layout.whole.vehicle.volts
    return Design(
        (max(ohms), min(ohms)),
        tuple(float(f"{scale * each:.3g}") for each in nearest.ohms),
        tuple(float(f"{turns * scale * each:.3g}") for each in nearest.turns),
        float(f"{scale * nearest.divider:.3g}"),
    )


def netlist_text(layout: VehicleLayout, senders: Mapping[str, Sender], title: str) -> str:
    """The netlist.

    Parameters
    ----------
    senders : mapping
        From the quantity that a gauge shows to its sender.
    """
    earth = layout.whole.vehicle.earth
    lines = [
        title,
        "* Every part that can fail is one element; its .param of the same name is its sound ohms.",
        f"* Node 0 is battery {earth}. Values are typical of the trade; the sheet beside it says more.",
        *_pieces(layout),
        *_parameters(layout, senders),
        *_foil(layout),
        *_sender_of_single(layout),
    ]
    for gauge in layout.gauges:
        lines += _gauge(layout, gauge)
    return "\n".join([*lines, ".op", ".end", ""])


def _pieces(layout: VehicleLayout) -> Iterator[str]:
    """Included files; one that this vehicle has otherwise is written out with the difference."""
    choices = layout.whole.choices
    for name in dict.fromkeys(choice.movement.id for choice in choices):
        yield f".include movements/{name}.cir"
    kinds = {"fuel": ("track",), "temperature": ("ntc",), "oil_pressure": ("track", "pressure")}
    for name in dict.fromkeys(s for choice in choices for s in kinds.get(choice.quantity, ())):
        yield f".include senders/{name}.cir"
    if layout.regulated:
        yield f".include regulators/{'electronic' if layout.electronic else 'interrupter'}.cir"
    names = [f"{'boat_' if layout.boat else ''}supply"]
    names += ["regulator"] if layout.regulated else []
    written = []
    for name in (*names, *layout.branches):
        path = shipped_netlists() / "shared" / f"{name}.cir"
        text = path.read_text(encoding="utf-8")
        changed = _changed(layout, name, text)
        if changed == text:
            yield f".include shared/{name}.cir"
        else:
            written += [
                "",
                f"* ---- as in shared/{name}.cir, changed for this vehicle ----",
                *changed.splitlines(),
            ]
    yield from written


def _changed(layout: VehicleLayout, name: str, text: str) -> str:
    """A shared piece as this vehicle has it."""
    if layout.whole.vehicle.earth == "positive":
        text = swapped_supply(text)
    if name == "regulator" and layout.electronic:
        text = text.replace(_POINTS, "electronic params: pass={regulator} draw={regulator_draw}")
        text = text.replace("its pulses", "its output")
    if name == "regulator" and layout.boat:
        text = text.replace("foil_feed_near", "panel_feed").replace("foil_ground_near", "panel_ground")
        text = text.replace("printed foil", "wire").replace("shared foil", "shared wire")
    for choice in layout.whole.choices:
        own = f"{choice.quantity}_branch" in name or name == "two_stations"
        if own and choice.sender_ground != USUAL_RETURN[choice.quantity]:
            text = _SENDER_GROUND.sub(rf"\1 {sender_return(choice)} ", text)
            text = re.sub(
                r"\* .*(sender's thread in the engine|ground wire of .*sender.*)",
                f"* {ground_words(choice)}",
                text,
            )
    return text


def sender_return(choice: ChosenGauge) -> str:
    """Node on which a sender is grounded: a thread in the engine, else the body."""
    return "engine_block" if choice.sender_ground == "thread" and choice.quantity != "fuel" else "body"


def ground_words(choice: ChosenGauge) -> str:
    """What a sender is grounded by, in words."""
    name = choice.quantity.replace("_", " ")
    if choice.sender_ground == "wire":
        return f"ground wire of the {name} sender"
    return f"{name} sender's {'flange on the tank' if choice.quantity == 'fuel' else 'thread in the engine'}"


def _parameters(layout: VehicleLayout, senders: Mapping[str, Sender]) -> Iterator[str]:
    share = layout.whole.vehicle.volts / SHARED_VOLTS
    choices = layout.whole.choices
    yield from (
        "",
        "* ---- operating state: engine running, warm, lights and loads off (the sheet's states set it) ----",
    )
    state = {
        "battery_volts": BATTERY_VOLTS * share,
        "charging_volts": CHARGING_VOLTS * share,
        "charging": CHARGING_OHMS,
        "ignition_switch": SWITCH_OHMS,
        "lights_switch": OPEN_OHMS,
        "panel_lamps": LAMPS_COLD * share**2,
        "loads": OPEN_OHMS,
        "ambient_celsius": AMBIENT_CELSIUS,
    }
    state |= {PROCESS[choice.quantity]: choice.normal for choice in choices if choice.quantity in PROCESS}
    yield from _params(state)
    yield from ("", "* ---- supply, feed and grounds, sound ----")
    sound = load_kinds().sound
    common = ("battery", "battery_feed", "battery_ground", "engine_strap", "fuse", "lamp_ground")
    yield from _params({name: sound[name] for name in common})
    yield from _params(sound["boat" if layout.boat else "vehicle"])
    yield "* copper's resistance against that at 20 degC"
    yield ".param copper={1 + 0.00393*(ambient_celsius - 20)}"
    if layout.regulated:
        yield from ("", "* ---- regulator, sound ----")
        held = layout.whole.regulator
        own = (
            {name: sound[name] for name in ("regulator_draw", "regulator_dropout")}
            if layout.electronic
            else {"regulator_heater": sound["regulator_heater"][f"{held:g}"]}
        )
        yield from _params(
            {
                "regulator": sound["regulator"],
                **own,
                "regulator_volts": held,
                "regulator_ground": sound["regulator_ground"],
                "foil_feed": sound["regulator_foil"],
            }
        )
    elif layout.single or layout.has_foil("feed"):
        yield from _params({"foil_feed": sound["foil_feed"]})
    if layout.single or layout.has_foil("ground"):
        yield from _params({"foil_ground": sound["foil_ground"]})
    for gauge in layout.gauges:
        yield from ("", f"* ---- {called(gauge)}, sound ----")
        yield from _params(_of_gauge(layout, gauge))
        if gauge.id != SECOND and gauge.choice.quantity in PROCESS:
            yield from _of_sender(layout, gauge, senders[gauge.id])


def _params(values: Mapping[str, float]) -> Iterator[str]:
    for name, value in values.items():
        yield f".param {name}={value:.6g}"


def _of_gauge(layout: VehicleLayout, gauge: Mounted) -> dict[str, float]:
    """Sound ohms of a gauge, its studs, and what it has for itself."""
    sound, p, choice = load_kinds().sound, gauge.prefix, gauge.choice
    made = design(layout, gauge)
    values = {f"{p}stud_{stud}": sound["stud"] for stud in choice.movement.studs}
    for part, ohms in zip(choice.movement.parts, made.ohms, strict=True):
        values[f"{p}{part.id}"] = ohms
    if choice.quantity == "voltmeter":
        # the same current at the same mark whatever the system's volts
        total = sum(made.ohms) * layout.whole.vehicle.volts / SHARED_VOLTS
        values[f"{p}{choice.movement.parts[0].id}"] = total - made.ohms[1]
    if made.divider:
        values |= {f"{p}divider_feed": made.divider, f"{p}divider_ground": made.divider}
    if gauge.id == SECOND:
        own = ("feed_wire", "sender_wire", "panel_ground")
        return values | {f"{p}{name}": sound["own_wire"] for name in own}
    if layout.has_own("feed", gauge) and not choice.regulated:
        values[f"{p}feed_wire"] = sound["own_wire"]
    if layout.has_own("ground", gauge) and "ground" in choice.movement.studs:
        values[f"{p}panel_ground"] = sound["own_wire"]
    return values


def _of_sender(layout: VehicleLayout, gauge: Mounted, sender: Sender) -> Iterator[str]:
    sound, p, quantity = load_kinds().sound, gauge.sender_prefix, gauge.choice.quantity
    where = "boat" if layout.boat else "vehicle"
    values = {f"{p}sender_wire": sound["sender_wire"][where][quantity]}
    if layout.boat and quantity != "fuel":
        values[f"{p}harness_plug_sender"] = sound["connector"]
    if not layout.boat:
        values[f"{p}foil_sender"] = sound["foil_sender"]
        values[f"{p}panel_connector_sender"] = sound["connector"]
    values[f"{p}sender_connector"] = sound["connector"]
    values[f"{p}sender_ground"] = sound["sender_ground"][where][quantity]
    yield from _params(values)
    yield "* the sender" + (": its whole track against the ohms below" if quantity != "temperature" else "")
    yield from _params(sender.parameters)
    if quantity == "fuel":
        yield "* level at which the float stands, and that of a worn spot on the track (-1: none)"
        yield from (".param float_level={fuel_level}", ".param float_spot=-1")
    if quantity == "temperature":
        yield "* the sender's own temperature, while coolant covers it"
        yield ".param sender_celsius={coolant_celsius}"
    if quantity == "oil_pressure":
        yield f".param pressure_bar={gauge.choice.scale[1]:.6g}"
        yield ".param sender_bar={oil_bar}"


def _foil(layout: VehicleLayout) -> Iterator[str]:
    lines = []
    if layout.has_foil("feed"):
        lines += ["* printed foil from the connector to the studs I of all gauges"]
        lines += ["Rfoil_feed foil_feed_near foil_feed_far {foil_feed}"]
    if layout.has_foil("ground"):
        lines += ["* printed foil from the studs G of all gauges to the connector"]
        lines += ["Rfoil_ground foil_ground_far foil_ground_near {foil_ground}"]
    if lines:
        yield from ("", "* ---- foil that the gauges share ----", *lines)


def _sender_of_single(layout: VehicleLayout) -> Iterator[str]:
    if not layout.single:
        return
    choice = layout.whole.choices[0]
    yield from ("", "* ---- sender ----", "* sender")
    if choice.quantity == "temperature":
        yield "Xsender sender_terminal sender_body ntc"
        yield "+ params: celsius={sender_celsius} ohms_at_80={sender} beta={sender_beta}"
    else:
        yield "Xsender sender_terminal sender_body track"
        yield "+ params: level={float_level} spot={float_spot} scale={sender} r0={track_empty}"
        yield "+ r25={track_quarter} r50={track_half} r75={track_three_quarters} r100={track_full}"
    yield f"* {ground_words(choice)}"
    yield f"Rsender_ground sender_body {sender_return(choice)} {{sender_ground}}"


def _gauge(layout: VehicleLayout, gauge: Mounted) -> Iterator[str]:
    """A gauge with its studs, except stud S, which is of its sender's branch."""
    choice, p, name = gauge.choice, gauge.prefix, called(gauge)
    feed, ground = layout.feed(gauge), layout.ground(gauge)
    yield from ("", f"* ---- {name} ----")
    if f"{gauge.id}_feed_near" == feed:
        source = "panel_feed" if layout.boat else "switch_out"
        yield from (f"* feed wire of the {name} alone", f"R{p}feed_wire {source} {feed} {{{p}feed_wire}}")
    if not layout.single:
        yield from (f"* nut on the {name}'s stud I", f"R{p}stud_feed {feed} {p}stud_feed {{{p}stud_feed}}")
    if "bias" in choice.movement.studs:
        yield from (
            f"* nut on the {name}'s stud B, fed beside stud I",
            f"R{p}stud_bias {feed} {p}stud_bias {{{p}stud_bias}}",
        )
    if "tap" in choice.movement.studs:
        yield from (
            "* divider beside the gauge, its half on the feed",
            f"R{p}divider_feed {feed} {p}divider_tap {{{p}divider_feed}}",
            "* divider beside the gauge, its half on the ground",
            f"R{p}divider_ground {p}divider_tap {ground} {{{p}divider_ground}}",
            f"* nut on the {name}'s stud T, to the tap of the divider",
            f"R{p}stud_tap {p}stud_tap {p}divider_tap {{{p}stud_tap}}",
        )
    studs = " ".join(f"{p}stud_{stud}" for stud in choice.movement.studs)
    values = " ".join(f"{part.parameter}={{{p}{part.id}}}" for part in choice.movement.parts)
    yield from (f"X{gauge.id} {studs} {choice.movement.id}", f"+ params: {values}")
    if "ground" in choice.movement.studs:
        if not layout.single:
            yield from (
                f"* nut on the {name}'s stud G",
                f"R{p}stud_ground {p}stud_ground {ground} {{{p}stud_ground}}",
            )
        if f"{gauge.id}_ground_near" == ground:
            yield from (
                f"* ground wire of the {name} alone",
                f"R{p}panel_ground {ground} body {{{p}panel_ground}}",
            )
