"""The bench as one page: faults by a touch, needles that follow; it works everything out in itself."""

from __future__ import annotations

import html
import json
from string import Template

from gaugesim.circuit import Circuit
from gaugesim.draw.scene import scene
from gaugesim.draw.schematic import schematic
from gaugesim.draw.vector import dial_svg, schematic_svg
from gaugesim.report.bench_data import bench_data, fault_functions
from gaugesim.report.elements import content_policy, part
from gaugesim.report.written import Functions


def bench_page(circuit: Circuit) -> str:
    """Write the page of a bench.

    Returns
    -------
    str
        HTML that loads nothing: its one script and its one style are named by their hashes in its own content
        policy. The script solves the circuit's own equations, so that a needle stands where `gaugesim read`
        puts it.
    """
    functions = Functions(circuit.netlist)
    script = "\n".join([*functions.lines(), fault_functions(circuit, functions), part("bench.js")])
    style = part("bench.css")
    sound = scene(circuit)
    gauges = circuit.sheet.gauges
    pictures = {"": "the whole panel" if len(gauges) > 1 else "the circuit"}
    if len(gauges) > 1:
        pictures |= {name: gauge.words for name, gauge in gauges.items()}
    drawn = [
        f'<div class="picture" data-picture="{html.escape(name)}" hidden>'
        f"{schematic_svg(schematic(sound, name or None, fixed=True), circuit.wiring, words)}</div>"
        for name, words in pictures.items()
    ]
    dials = [
        f"<figure><figcaption>{html.escape(gauge.words)}</figcaption>{dial_svg(gauge)}"
        f'<p id="word-{html.escape(name)}" class="word"></p></figure>'
        for name, gauge in gauges.items()
    ]
    choices = [
        f'<option value="{html.escape(name)}">{html.escape(words)}</option>'
        for name, words in pictures.items()
    ]
    return Template(part("bench.html")).substitute(
        policy=content_policy(style, script),
        title=html.escape(circuit.sheet.words),
        style=style,
        dials="".join(dials),
        many="many" if len(gauges) > 1 else "one",
        pictures="".join(choices),
        circuit="".join(drawn),
        data=json.dumps(bench_data(circuit)).replace("<", "\\u003c"),
        script=script,
    )
