"""A long pier's lighting line: a wire and a lamp at every post, and a voltmeter at its far end."""

import shutil
from pathlib import Path

import numpy as np

from gaugesim.scenario.scenarios import Scenarios
from gaugesim.solve.network import Network
from gaugesim.solve.network import Path as Branch

# all wires of the line together are about five ohms, all lamps side by side about sixty
WIRE_OHMS = 1e-3
LAMP_OHMS = 3e5
VOLTS = 12.6
BATTERY_OHMS = 0.02
COIL_OHMS = 500.0
# the voltmeter's scale [A]
LOW_AMPERES, HIGH_AMPERES = 0.016, 0.032


def write_ladder(repository: Path, folder: Path, nodes: int, every: int) -> Path:
    """A netlist of so many nodes and its sheet; every so manieth wire and lamp is a part.

    The kinds of parts and of checks are the shipped ones.
    """
    posts = nodes - 1
    shutil.copytree(repository / "netlists" / "kinds", folder / "kinds", dirs_exist_ok=True)
    named = [k for k in range(posts - 1) if k % every == 0]
    wanted = frozenset(named)
    lines = ["Lighting line along a pier, with a voltmeter at its far end", f".param battery_volts={VOLTS}"]
    lines += [f".param battery={BATTERY_OHMS}", f".param coil_meter={COIL_OHMS}"]
    lines += [
        f".param {kind}_{k}={ohms}"
        for k in named
        for kind, ohms in (("wire", WIRE_OHMS), ("lamp", LAMP_OHMS))
    ]
    lines += [
        "* the battery, with its inner resistance",
        "Vbattery plus 0 {battery_volts}",
        "Rbattery plus post0 {battery}",
    ]
    for k in range(posts):
        wire, lamp = (f"{{wire_{k}}}", f"{{lamp_{k}}}") if k in wanted else (WIRE_OHMS, LAMP_OHMS)
        if k + 1 < posts:
            lines.append(f"Rwire_{k} post{k} post{k + 1} {wire}")
        lines.append(f"Rlamp_{k} post{k} 0 {lamp}")
    lines += [
        "* the voltmeter's coil",
        f"Xvoltmeter post{posts - 1} 0 meter coil={{coil_meter}}",
        ".subckt meter a b coil=1000",
        "Rcoil a b {coil}",
        ".ends meter",
        ".op",
        ".end",
    ]
    circuit = folder / "pier.cir"
    circuit.write_text("\n".join(lines) + "\n", encoding="utf-8")
    circuit.with_suffix(".toml").write_text(_sheet(posts, named), encoding="utf-8")
    return circuit


def _sheet(posts: int, named: list[int]) -> str:
    text = f"""
words = "Lighting line along a pier, with a voltmeter at its far end"
movement = "moving coil"
include = ["kinds/parts.toml", "kinds/checks.toml"]
default_state = "lights_on"

[gauges.voltmeter]
words = "voltmeter"
movement = "moving_coil"
topology = "moving-coil"
instance = "xvoltmeter"
element = "r.xvoltmeter.rcoil"
reads = "battery_volts"
low = {LOW_AMPERES}
high = {HIGH_AMPERES}
bench_volts = 12
stops = [-0.12, 1.12]
accuracy = 0.03
lag_seconds = 1
source = "assumed"
marks = [
  {{ at = 8, position = 0.0, label = "8" }},
  {{ at = 10, position = 0.25, label = "" }},
  {{ at = 12, position = 0.5, label = "12" }},
  {{ at = 14, position = 0.75, label = "" }},
  {{ at = 16, position = 1.0, label = "16" }},
]

[process.battery_volts]
words = "battery's own voltage"
unit = "V"
plus_minus = 0.5
low = 0
high = 18
source = "assumed"

[states.lights_on]
words = "all lamps on"
set = {{}}
minutes = 0

[places.pier]
words = "on the pier"
setup_minutes = 1
source = "assumed"

[points]
battery_negative = {{ words = "battery negative", node = "0", place = "pier" }}
body = {{ words = "the pier's ground", node = "0", place = "pier" }}
far_end = {{ words = "the far end of the line", node = "post{posts - 1}", place = "pier" }}
"""
    for name in ("battery", "coil_meter"):
        text += f"""
[values.{name}]
words = "resistance of the {name.replace("_", " ")}"
unit = "ohm"
tolerance = 0.1
source = "assumed"
"""
    for k in named:
        text += f"""
[parts.wire_{k}]
words = "wire after post {k}"
kind = "cable"
place = "pier"
[parts.lamp_{k}]
words = "lamp at post {k}"
kind = "series_resistor"
place = "pier"
"""
    return text


def line(nodes: int) -> Network:
    """The same line as a network."""
    branches = [Branch("battery", "plus", "0", 0.0, VOLTS), Branch("post", "plus", "n0", BATTERY_OHMS)]
    for k in range(nodes - 1):
        if k:
            branches.append(Branch(f"wire{k}", f"n{k - 1}", f"n{k}", WIRE_OHMS))
        branches.append(Branch(f"lamp{k}", f"n{k}", "0", LAMP_OHMS))
    return Network.of([*branches, Branch("coil", f"n{nodes - 2}", "0", COIL_OHMS)])


def line_scenarios(network: Network, severities: int) -> Scenarios:
    """Every branch open and every node dead to ground, and so many degrees of either beside that."""
    branches, nodes = len(network.names), len(network.nodes)
    more, less = np.geomspace(0.02, 20, severities), np.geomspace(0.1, 5000, severities)
    open_or_poor = np.column_stack([np.full(branches, np.inf), network.ohms[:, None] + more])
    ohms = np.concatenate([open_or_poor, np.broadcast_to(np.append(0.0, less), (nodes, severities + 1))])
    count, each = ohms.shape
    return Scenarios(
        np.repeat(np.arange(count), each),
        np.full(ohms.size, np.nan),
        network.names,
        tuple((node, "0") for node in network.nodes),
        np.repeat(np.arange(count), each)[:, None],
        ohms.reshape(-1, 1),
        *({} for _ in range(5)),
        np.tile(np.arange(each), count),
        ((),) * count,
    )
