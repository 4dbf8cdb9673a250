"""The bench as one page: faults by a touch, needles that follow; it works everything out in itself."""

from __future__ import annotations

from gaugesim.circuit import Circuit
from gaugesim.draw.scenes import scene
from gaugesim.draw.schematics import schematic
from gaugesim.draw.vector import dial_svg, schematic_svg
from gaugesim.report.bench_tables import bench_data, fault_functions
from gaugesim.report.elements import page, part, script_json
from gaugesim.report.javascript import Functions


def bench_page(circuit: Circuit) -> str:
    """Write the page of a bench.

    HTML that loads nothing. Its script solves the circuit's own equations, so that a needle stands where
    `gaugesim read` puts it.
    """
    functions = Functions(circuit.netlist)
    sound, gauges = scene(circuit), circuit.sheet.gauges
    pictures = {"": "the circuit"}
    if len(gauges) > 1:
        pictures = {"": "the whole panel", **{name: gauge.words for name, gauge in gauges.items()}}
    return page(
        "bench.html",
        part("bench.css"),
        "\n".join([*functions.lines(), fault_functions(circuit, functions), part("bench.js")]),
        title=circuit.sheet.words,
        gauges=gauges,
        dial=dial_svg,
        pictures=pictures,
        wiring=lambda gauge, words: schematic_svg(
            schematic(sound, gauge or None, fixed=True), circuit.wiring, words
        ),
        json=script_json(bench_data(circuit)),
    )
