"""Whether a netlist and its sheet speak of the same things."""

from __future__ import annotations

from gaugesim.circuit.model import Circuit
from gaugesim.errors import SheetError, UnknownNameError, location, unknown_name
from gaugesim.solve.network import GROUND

WRITE_ZERO = (
    "SPICE takes gnd for node 0, battery negative, everywhere: write 0 if that is meant, else another name"
)


def agree(circuit: Circuit) -> None:
    """See that netlist and sheet speak of the same things.

    Raises
    ------
    SheetError
        By key: what one of them has and the other has not.
    """
    sheet, netlist = circuit.sheet, circuit.netlist
    elements = {part.name for part in netlist.elements}
    nodes = {*netlist.nodes, GROUND}
    parameters = set(netlist.scope.local)

    def require(kind: str, name: str, names: set[str], key: str) -> None:
        if name not in names:
            error: UnknownNameError = unknown_name(f"{kind} of {netlist.path.name}", name, names)
            if name == "gnd":
                error = unknown_name(f"{kind} of {netlist.path.name}", name, ())
                raise SheetError(error.problem, location(sheet.path.name, key=key), WRITE_ZERO)
            # its line may have been deleted, or its name be wrong here
            add = f"write .param {name}=VALUE there, or " if kind == "parameter" else ""
            raise SheetError(error.problem, location(sheet.path.name, key=key), add + error.remedy)

    for part in sheet.parts.values():
        key = f"parts.{part.id}"
        if part.unit == "ohm":
            require("element", part.element, elements, f"{key}.element")
            require("parameter", part.parameter, parameters, f"{key}.parameter")
        if part.chafes:
            require("node", part.chafes, nodes, f"{key}.chafes")
        for mode in part.modes.values():
            for name in mode.set:
                require("parameter", name, parameters, f"{key}.modes.{mode.id}.set")
            for expression in mode.set.values():
                for name in expression.names - {"x"}:
                    require("parameter", name, parameters, f"{key}.modes.{mode.id}.set")
    for state in sheet.states.values():
        for name in (*state.set, *state.plus_minus, *state.certain):
            require("parameter", name, parameters, f"states.{state.id}")
    for point in sheet.points.values():
        require("node", point.node, nodes, f"points.{point.id}.node")
    for consumer in sheet.consumers.values():
        require("node", consumer.node_a, nodes, f"consumers.{consumer.id}.node_a")
        require("node", consumer.node_b, nodes, f"consumers.{consumer.id}.node_b")
    for gauge in sheet.gauges.values():
        for name in [coil.element for coil in gauge.coils] + ([gauge.element] if gauge.element else []):
            require("element", name, elements, f"gauges.{gauge.id}")
        if not circuit.gauge_elements(gauge):
            require("instance", gauge.instance, _instances(elements), f"gauges.{gauge.id}.instance")
    for name in sheet.quantities:
        require("parameter", name, parameters, f"process or values: {name}")
    if sheet.regulator:
        require("element", sheet.regulator.contact, elements, "regulator.contact")
        require("element", sheet.regulator.heater, elements, "regulator.heater")
        require("parameter", sheet.regulator.design_volts, parameters, "regulator.design_volts")
        if sheet.regulator.steady:
            require("parameter", sheet.regulator.dropout_volts, parameters, "regulator.dropout_volts")
    covered = {part.parameter for part in sheet.parts.values()} | set(sheet.quantities)
    for name in netlist.parameters:
        if name not in covered:
            raise SheetError(
                f"parameter {name!r} of {netlist.path.name} is in no part, not in [values], not in [process]",
                sheet.path.name,
                "say its unit, tolerance and source",
            )


def _instances(elements: set[str]) -> set[str]:
    return {name.split(".")[1] for name in elements if "." in name}
