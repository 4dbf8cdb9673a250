"""Statements into elements: subcircuits put in place, names as ngspice gives them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from gaugesim.errors import unknown_name
from gaugesim.expression import RESERVED, Expression, ExpressionError, parse
from gaugesim.netlist.lines import Line, mistake
from gaugesim.netlist.model import KINDS, Element, Netlist, ParameterScope
from gaugesim.plain import shown

DEEPEST_NESTING = 20
MOST_ELEMENTS = 20_000
_NAME = re.compile(r"[a-z0-9_]+")
_NUMBER = re.compile(r"[+-]?[\d.]+(e[+-]?\d+)?[a-z]*")


@dataclass
class _Subcircuit:
    where: str
    terminals: list[str]
    defaults: dict[str, Expression]
    lines: list[Line]
    local: dict[str, Expression]


def build(path: Path, lines: list[Line], files: tuple[Path, ...]) -> Netlist:
    """Make a netlist of its lines.

    Raises
    ------
    NetlistError
        By line: what is not accepted, and what would be.
    """
    if not any(line.text for line in lines):
        raise mistake("the file is empty", "line 1 is the title, then come the elements", str(path))
    title, body = lines[0].text, lines[1:]
    subcircuits: dict[str, _Subcircuit] = {}
    statements: list[Line] = []
    parameters: dict[str, Expression] = {}
    where: dict[str, str] = {}
    inside: _Subcircuit | None = None
    ended = False
    for line in body:
        word = line.text.split(None, 1)[0]
        # as it is written: small letters make a k of the Kelvin sign
        if not line.written.isascii():
            raise mistake(
                f"{shown(line.written)} has letters beyond ASCII", "keep those to comments", line.where
            )
        if ended:
            raise mistake(f"{shown(word)} stands after .end", "put .end last", line.where)
        if word == ".subckt":
            if inside:
                raise mistake("a .subckt inside another", "end the first with .ends", line.where)
            inside = _subcircuit(line, subcircuits)
        elif word == ".ends":
            if not inside:
                raise mistake(".ends without .subckt", "remove it", line.where)
            inside = None
        elif word == ".param":
            target = inside.local if inside else parameters
            for name, expression in _assignments(line.text[len(word) :], line.where).items():
                if name in target or (inside and name in inside.defaults):
                    raise mistake(f"parameter {shown(name)} is set twice", "set it once", line.where)
                target[name] = expression
                if not inside:
                    where[name] = line.where
        elif word in (".op", ".end"):
            ended = word == ".end"
        elif word.startswith("."):
            raise mistake(
                f"{word} is not accepted",
                "a netlist may have .param, .subckt, .ends, .include, .op and .end",
                line.where,
            )
        elif word[0] in "rvilcx":
            (inside.lines if inside else statements).append(line)
        else:
            raise mistake(
                f"{shown(word)}: elements {word[0].upper()}... are not accepted",
                "a netlist may have R, V, I, L, C and X",
                line.where,
            )
    if inside:
        raise mistake(".subckt without .ends", "end it", inside.where)
    top = ParameterScope("", {}, parameters)
    elements: list[Element] = []
    _flatten(statements, top, {}, subcircuits, elements, [], [])
    seen: dict[str, Element] = {}
    for part in elements:
        if part.name in seen:
            raise mistake(
                f"{part.name} stands twice (first {seen[part.name].where})", "rename one", part.where
            )
        seen[part.name] = part
    netlist = Netlist(path, title, top, tuple(elements), files, tuple(lines), where)
    if not any("0" in (part.node_a, part.node_b) for part in elements):
        raise mistake("nothing is connected to node 0", "node 0 is battery negative", str(path))
    return netlist


def _subcircuit(line: Line, subcircuits: dict[str, _Subcircuit]) -> _Subcircuit:
    plain, assigned = _split_assignments(line.text[len(".subckt") :])
    if len(plain) < 2:
        raise mistake(
            ".subckt needs a name and its terminals", ".subckt NAME node ... params: a=1", line.where
        )
    name, terminals = plain[0], plain[1:]
    _plain_names(plain, line.where)
    if name in subcircuits:
        raise mistake(
            f"subcircuit {shown(name)} is defined twice (first {subcircuits[name].where})", "once", line.where
        )
    for terminal in terminals:
        if terminal in ("0", "gnd"):
            raise mistake(
                f"terminal {shown(terminal)} is node 0 everywhere in SPICE", "rename it", line.where
            )
    if len(set(terminals)) < len(terminals):
        raise mistake(f"subcircuit {shown(name)} has a terminal twice", "name each once", line.where)
    made = _Subcircuit(line.where, terminals, _assignments(assigned, line.where), [], {})
    subcircuits[name] = made
    return made


def _flatten(
    lines: list[Line],
    scope: ParameterScope,
    nodes: Mapping[str, str],
    subcircuits: Mapping[str, _Subcircuit],
    elements: list[Element],
    instances: list[str],
    stack: list[str],
) -> None:
    """Append the elements of one level, descending into its instances."""
    prefix = scope.name + "." if scope.name else ""

    def node(name: str) -> str:
        if name in ("0", "gnd"):
            return "0"
        return nodes.get(name, prefix + name)

    for line in lines:
        if len(elements) + len(instances) > MOST_ELEMENTS:
            raise mistake(
                f"comes to more than {MOST_ELEMENTS} elements and instances", "split it", line.where
            )
        if line.text[0] != "x":
            elements.append(_element(line, scope, node))
            continue
        plain, assigned = _split_assignments(line.text)
        name = plain[-1] if len(plain) > 1 else ""
        _plain_names(plain, line.where)
        if name not in subcircuits:
            raise unknown_name("subcircuit", name, subcircuits, line.where)
        if scope.knows(name):  # ngspice would put the parameter's value in the place of the name
            raise mistake(f"{shown(name)} is a subcircuit and a parameter", "rename one of them", line.where)
        if name in stack:
            raise mistake(f"subcircuit {shown(name)} contains itself", "break the circle", line.where)
        if len(stack) > DEEPEST_NESTING:
            raise mistake(
                f"subcircuits are nested more than {DEEPEST_NESTING} deep", "nest them less", line.where
            )
        made = subcircuits[name]
        connected = [node(word) for word in plain[1:-1]]
        if len(connected) != len(made.terminals):
            raise mistake(
                f"{plain[0]} connects {len(connected)} nodes to {name!r}, which has {len(made.terminals)}",
                f"terminals are {' '.join(made.terminals)}",
                line.where,
            )
        given = _assignments(assigned, line.where)
        for parameter in given:
            if parameter not in made.defaults:
                raise unknown_name(f"parameter of subcircuit {name}", parameter, made.defaults, line.where)
        inner = ParameterScope(prefix + plain[0], given, {**made.defaults, **made.local}, scope)
        mapping = dict(zip(made.terminals, connected, strict=True))
        instances.append(inner.name)
        _flatten(made.lines, inner, mapping, subcircuits, elements, instances, [*stack, name])


def _element(line: Line, scope: ParameterScope, node: Callable[[str], str]) -> Element:
    words = line.text.split(None, 3)
    kind = words[0][0]
    if len(words) < 4:
        raise mistake(
            f"{words[0]} has too few words", f"{KINDS[kind]} is written NAME node node value", line.where
        )
    _plain_names(words[:3], line.where)
    text = words[3].strip()
    if kind in "vi" and text.startswith("dc "):
        text = text[3:].strip()
    if kind in "rlc" and (match := re.match(rf"{kind}\s*=\s*", text)):
        text = text[match.end() :]
    name = f"{kind}.{scope.name}.{words[0]}" if scope.name else words[0]
    a, b = (node(word) for word in words[1:3])
    return Element(name, kind, a, b, _value(text, line.where), scope, line.where, line.comment)


def _plain_names(names: list[str], where: str) -> None:
    """Refuse names of elements and nodes that ngspice might take apart."""
    for name in names:
        if not _NAME.fullmatch(name):
            raise mistake(f"the name {shown(name)} is not accepted", "use letters, digits and _", where)


def _value(text: str, where: str) -> Expression:
    """A number, or an expression in braces or quotes."""
    inner = text
    if text[0] + text[-1] in ("{}", "''"):
        inner = text[1:-1]
    elif len(text.split()) > 1:
        raise mistake(f"{shown(text.split()[1])} after the value is not accepted", "write one value", where)
    try:
        expression = parse(inner)
    except ExpressionError as error:
        raise mistake(str(error), "a number such as 4.7k, or {an expression}", where) from None
    if inner is text and not _NUMBER.fullmatch(text):
        raise mistake(f"{shown(text)} is not a number", f"an expression stands in braces: {{{text}}}", where)
    return expression


def _split_assignments(text: str) -> tuple[list[str], str]:
    """Split ``a b c params: x=1 y={2}`` into its plain words and the assignments."""
    text = re.sub(r"\bparams:", " ", text)
    match = _ASSIGNED.search(text)
    start = match.start() if match else len(text)
    return text[:start].split(), text[start:]


# from the start of a word on and without going back, lest a long name take a time that grows with its square
_ASSIGNED = re.compile(r"(?<!\w)[a-z_]\w*+\s*+=")
_ASSIGNMENT = re.compile(r"\s*([a-z_]\w*)\s*=\s*(\{[^{}]*\}|'[^']*'|[^\s=,]+)\s*")

# what is left of 13,4
_DECIMAL_COMMA = re.compile(r",\d")


def _assignments(text: str, where: str) -> dict[str, Expression]:
    result: dict[str, Expression] = {}
    at = 0
    text = text.rstrip()
    while at < len(text):
        match = _ASSIGNMENT.match(text, at)
        if not match:
            rest = text[at:].strip()
            remedy = (
                "a decimal point, 13.4" if _DECIMAL_COMMA.match(rest) else "write name=value or name={...}"
            )
            raise mistake(f"{shown(rest)} is not an assignment", remedy, where)
        name, value = match.groups()
        if name in RESERVED:
            raise mistake(
                f"{shown(name)} is a word of ngspice's own", "give the parameter another name", where
            )
        if name in result:
            raise mistake(f"parameter {shown(name)} is given twice", "give it once", where)
        result[name] = _value(value, where) if value[0] in "{'" else _parameter_value(value, where)
        at = match.end()
    return result


def _parameter_value(text: str, where: str) -> Expression:
    try:
        return parse(text)
    except ExpressionError as error:
        raise mistake(str(error), "a number such as 4.7k, or {an expression}", where) from None
