"""Read a parametric SPICE netlist: a safe subset, flattened, with its parameters still open.

The reader takes R, V, I, L, C, ``.param``, ``.subckt`` with parameters, X, ``.include`` of files in the
netlist's own folder and below, comments and continuation lines, and refuses everything else by line. What it
accepts, ngspice accepts as it stands and solves to the same numbers.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from gaugesim.errors import NetlistError, unknown_name
from gaugesim.expression import Expression, ExpressionError, Value, parse

KINDS = {"r": "resistor", "v": "voltage source", "i": "current source", "l": "inductor", "c": "capacitor"}
LARGEST_FILE = 1_000_000  # bytes
DEEPEST_NESTING = 20
_INCLUDE = re.compile(r"\.inc(?:lude)?\s+(.+)$", re.IGNORECASE)


@dataclass(frozen=True)
class Line:
    """One logical line: continuation lines joined, comment stripped, lower case.

    Attributes
    ----------
    where : str
        File and line number.
    text : str
        The line.
    comment : str
        The comment lines that stand directly above, joined.
    written : str
        The line in its own case: file names need it.
    """

    where: str
    text: str
    comment: str = ""
    written: str = ""


@dataclass(frozen=True)
class Scope:
    """Parameters of the whole netlist or of one subcircuit instance.

    Attributes
    ----------
    name : str
        ``""`` for the whole netlist, else the instance as ngspice names it, ``xfuel.xcoils``.
    given : dict
        Expressions that the instance hands in; they are evaluated in ``parent``.
    local : dict
        Expressions that hold inside; they are evaluated here.
    parent : Scope or None
        The scope around it.
    """

    name: str
    given: Mapping[str, Expression]
    local: Mapping[str, Expression]
    parent: Scope | None = None


@dataclass(frozen=True)
class Element:
    """A two-terminal element of the flattened netlist.

    Attributes
    ----------
    name : str
        As ngspice names it: ``rsender_wire``, or ``r.xfuel.rcoil`` inside a subcircuit.
    kind : str
        ``r``, ``v``, ``i``, ``l`` or ``c``.
    node_a, node_b : str
        Its nodes; ``"0"`` is battery negative.
    value : Expression
        Ohms, volts, amperes, henries or farads.
    scope : Scope
        Where the names in ``value`` are looked up.
    where : str
        File and line.
    comment : str
        The comment above it: what the part is, in words.
    """

    name: str
    kind: str
    node_a: str
    node_b: str
    value: Expression
    scope: Scope
    where: str
    comment: str = ""


@dataclass(frozen=True)
class Netlist:
    """A flattened netlist whose parameters can still be set.

    Attributes
    ----------
    path : Path
        The file.
    title : str
        Its first line.
    scope : Scope
        The parameters of the whole netlist.
    elements : tuple of Element
        In the order of the file.
    files : tuple of Path
        The file itself and all that it includes.
    """

    path: Path
    title: str
    scope: Scope
    elements: tuple[Element, ...]
    files: tuple[Path, ...]
    where: Mapping[str, str] = field(default_factory=dict)

    @property
    def parameters(self) -> tuple[str, ...]:
        """Names of the ``.param`` lines outside subcircuits, in the order of the file."""
        return tuple(self.scope.local)

    @property
    def nodes(self) -> tuple[str, ...]:
        """Every node, ``"0"`` left out, in the order in which the elements name them."""
        seen = dict.fromkeys(node for part in self.elements for node in (part.node_a, part.node_b))
        return tuple(node for node in seen if node != "0")

    def element(self, name: str) -> Element:
        """Find an element by its ngspice name.

        Parameters
        ----------
        name : str
            Lower case, for example ``"r.xfuel.rcoil"``.

        Returns
        -------
        Element

        Raises
        ------
        UnknownNameError
            With the nearest names, if there is none.
        """
        for part in self.elements:
            if part.name == name:
                return part
        raise unknown_name("element", name, [part.name for part in self.elements], str(self.path))

    def values(self, parameters: Mapping[str, Value] | None = None) -> dict[str, Value]:
        """Evaluate every element.

        Parameters
        ----------
        parameters : mapping, optional
            Values that replace those of the ``.param`` lines: floats, or arrays of one shape.

        Returns
        -------
        dict
            From element name to its value [ohm, V, A, H or F]: a float, or an array where a parameter it
            depends on is one.

        Raises
        ------
        NetlistError
            If a name has no value, or parameters go round in a circle, or a value is not a number.

        Examples
        --------
        >>> netlist = read_text("divider\\n.param top=1k\\nV1 in 0 12\\nR1 in out {top}\\nR2 out 0 {3*top}")
        >>> netlist.values({"top": 2e3})["r2"]
        6000.0
        """
        evaluation = _Evaluation(self.scope, parameters or {})
        result = {}
        for part in self.elements:
            value = evaluation.expression(part.value, part.scope, part.where)
            if not np.all(np.isfinite(value)) or (part.kind in "rlc" and np.any(np.asarray(value) < 0)):
                unit = KINDS[part.kind]
                raise _error(
                    f"{part.name} = {{{part.value.text}}} is {value}",
                    f"a {unit} takes a finite number{'' if part.kind in 'vi' else ' that is not negative'}",
                    part.where,
                )
            result[part.name] = value
        return result

    def parameter_values(self, parameters: Mapping[str, Value] | None = None) -> dict[str, Value]:
        """Evaluate every ``.param`` line outside subcircuits.

        Parameters
        ----------
        parameters : mapping, optional
            As for `values`.

        Returns
        -------
        dict
            From parameter name to value.
        """
        evaluation = _Evaluation(self.scope, parameters or {})
        return {name: evaluation.name(name, self.scope, str(self.path)) for name in self.scope.local}


def _error(problem: str, remedy: str, where: str) -> NetlistError:
    return NetlistError(problem, where=where, remedy=remedy)


class _Evaluation:
    """Values of parameters, each worked out once and on demand."""

    def __init__(self, top: Scope, overrides: Mapping[str, Value]) -> None:
        self.known: dict[tuple[str, str], Value] = {(top.name, name): value for name, value in overrides.items()}
        self.pending: set[tuple[str, str]] = set()

    def expression(self, expression: Expression, scope: Scope, where: str) -> Value:
        with np.errstate(all="ignore"):  # a value that is no number is reported by name
            return expression(lambda name: self.name(name, scope, where))

    def name(self, name: str, scope: Scope, where: str) -> Value:
        key = (scope.name, name)
        if key in self.known:
            return self.known[key]
        if key in self.pending:
            raise _error(f"parameter {name!r} depends on itself", "break the circle", where)
        self.pending.add(key)
        if name in scope.given and scope.parent is not None:
            value = self.expression(scope.given[name], scope.parent, where)
        elif name in scope.local:
            value = self.expression(scope.local[name], scope, where)
        elif scope.parent is not None:
            value = self.name(name, scope.parent, where)
        else:
            raise unknown_name("parameter", name, scope.local, where)
        self.pending.discard(key)
        self.known[key] = value
        return value


def read(path: Path | str) -> Netlist:
    """Read a netlist file and all that it includes.

    Parameters
    ----------
    path : path
        A ``.cir`` file. Files that it includes must lie in its folder or below.

    Returns
    -------
    Netlist

    Raises
    ------
    NetlistError
        With file and line, what is wrong and what would be right.
    """
    path = Path(path)
    files: list[Path] = []
    lines = _read_lines(path, path.parent.resolve(), files)
    return _build(path, lines, tuple(files))


def read_text(text: str, path: Path | str = "netlist.cir") -> Netlist:
    """Read a netlist from a string; it may include nothing.

    Parameters
    ----------
    text : str
        The netlist, title line first.
    path : path, optional
        What to call it in errors.

    Returns
    -------
    Netlist

    Examples
    --------
    >>> read_text("two resistors\\nR1 a 0 1k\\nR2 a 0 {2*1k}").nodes
    ('a',)
    """
    path = Path(path)
    lines = []
    for line in _logical_lines(text, path.name):
        if _INCLUDE.match(line.written):
            raise _error("a netlist given as text cannot include files", "read it from a file", line.where)
        lines.append(line)
    return _build(path, lines, (path,))


def _read_lines(path: Path, root: Path, files: list[Path]) -> list[Line]:
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise _error("the file is larger than a netlist can be", f"{LARGEST_FILE} bytes at most", str(path))
        text = path.read_bytes().decode("utf-8")
    except OSError as error:
        raise _error(f"cannot be read ({error.strerror})", "name a readable .cir file", str(path)) from None
    except UnicodeDecodeError:
        raise _error("is not plain text", "save it as UTF-8", str(path)) from None
    files.append(path)
    if len(files) > 200:
        raise _error("includes more than 200 files", "does a file include itself?", str(path))
    lines: list[Line] = []
    for line in _logical_lines(text, path.name, keep_title=not files[1:]):
        match = _INCLUDE.match(line.written)
        if not match:
            lines.append(line)
            continue
        name = match.group(1).strip().strip("\"'")
        target = (path.parent / name).resolve()
        if root not in target.parents:
            raise _error(
                f"includes {name!r}, which is outside {root.name}/",
                "an included file lies in the netlist's own folder or below",
                line.where,
            )
        if not target.is_file():
            raise _error(f"includes {name!r}, which is not there", f"looked in {path.parent}", line.where)
        if any(target == other.resolve() for other in files):
            raise _error(f"includes {name!r} a second time", "include each file once", line.where)
        lines += _read_lines(target, root, files)
    return lines


def _logical_lines(text: str, name: str, keep_title: bool = True) -> list[Line]:
    """Join continuation lines, drop comments; line 1 of a netlist is its title, whatever it says."""
    lines: list[Line] = []
    comment: list[str] = []
    for number, raw in enumerate(text.splitlines(), start=1):
        where = f"{name}:{number}"
        if number == 1 and keep_title:
            lines.append(Line(where, raw.strip().lstrip("*").strip()))
            continue
        stripped = re.split(r"\s\$|;|\$\s|\s//", raw, maxsplit=1)[0].strip()
        if raw.lstrip().startswith("*"):
            words = raw.strip().lstrip("*").strip()
            comment = [] if words.startswith("--") else [*comment, words]  # a rule opens a section
        elif not stripped:
            comment = []
        elif stripped.startswith("+"):
            if len(lines) <= keep_title:
                raise _error("a continuation line continues nothing", "start the statement first", where)
            last = lines[-1]
            more = stripped[1:].strip()
            lines[-1] = replace(last, text=f"{last.text} {more.lower()}", written=f"{last.written} {more}")
        else:
            lines.append(Line(where, stripped.lower(), " ".join(comment), stripped))
            comment = []
    return lines


@dataclass
class _Subcircuit:
    where: str
    terminals: list[str]
    defaults: dict[str, Expression]
    lines: list[Line]
    local: dict[str, Expression]


def _build(path: Path, lines: list[Line], files: tuple[Path, ...]) -> Netlist:
    if not lines:
        raise _error("the file is empty", "line 1 is the title, then come the elements", str(path))
    title, body = lines[0].text, lines[1:]
    subcircuits: dict[str, _Subcircuit] = {}
    statements: list[Line] = []
    parameters: dict[str, Expression] = {}
    where: dict[str, str] = {}
    inside: _Subcircuit | None = None
    ended = False
    for line in body:
        word = line.text.split(None, 1)[0]
        if ended:
            raise _error(f"{word!r} stands after .end", "put .end last", line.where)
        if word == ".subckt":
            if inside:
                raise _error("a .subckt inside another", "end the first with .ends", line.where)
            inside = _subcircuit(line, subcircuits)
        elif word == ".ends":
            if not inside:
                raise _error(".ends without .subckt", "remove it", line.where)
            inside = None
        elif word == ".param":
            target = inside.local if inside else parameters
            for name, expression in _assignments(line.text[len(word) :], line.where).items():
                if name in target:
                    raise _error(f"parameter {name!r} is set twice", "set it once", line.where)
                target[name] = expression
                where.setdefault(name, line.where)
        elif word in (".op", ".end"):
            ended = word == ".end"
        elif word.startswith("."):
            raise _error(
                f"{word} is not accepted",
                "a netlist may have .param, .subckt, .ends, .include, .op and .end",
                line.where,
            )
        elif word[0] in "rvilcx":
            (inside.lines if inside else statements).append(line)
        else:
            raise _error(
                f"{word!r}: elements {word[0].upper()}... are not accepted",
                "a netlist may have R, V, I, L, C and X",
                line.where,
            )
    if inside:
        raise _error(".subckt without .ends", "end it", inside.where)
    top = Scope("", {}, parameters)
    elements: list[Element] = []
    _flatten(statements, top, {}, subcircuits, elements, [])
    seen: dict[str, Element] = {}
    for part in elements:
        if part.name in seen:
            raise _error(f"{part.name} stands twice (first {seen[part.name].where})", "rename one", part.where)
        seen[part.name] = part
    netlist = Netlist(path, title, top, tuple(elements), files, where)
    if not any("0" in (part.node_a, part.node_b) for part in elements):
        raise _error("nothing is connected to node 0", "node 0 is battery negative", str(path))
    return netlist


def _subcircuit(line: Line, known: dict[str, _Subcircuit]) -> _Subcircuit:
    plain, assigned = _split_assignments(line.text[len(".subckt") :])
    if len(plain) < 2:
        raise _error(".subckt needs a name and its terminals", ".subckt NAME node ... params: a=1", line.where)
    name, terminals = plain[0], plain[1:]
    if name in known:
        raise _error(f"subcircuit {name!r} is defined twice (first {known[name].where})", "once", line.where)
    for terminal in terminals:
        if terminal in ("0", "gnd"):
            raise _error(f"terminal {terminal!r} is node 0 everywhere in SPICE", "rename it", line.where)
    if len(set(terminals)) < len(terminals):
        raise _error(f"subcircuit {name!r} has a terminal twice", "name each once", line.where)
    made = _Subcircuit(line.where, terminals, _assignments(assigned, line.where), [], {})
    known[name] = made
    return made


def _flatten(
    lines: list[Line],
    scope: Scope,
    nodes: Mapping[str, str],
    subcircuits: Mapping[str, _Subcircuit],
    elements: list[Element],
    stack: list[str],
) -> None:
    """Append the elements of one level, descending into its instances."""
    prefix = scope.name + "." if scope.name else ""

    def node(name: str) -> str:
        if name in ("0", "gnd"):
            return "0"
        return nodes.get(name, prefix + name)

    for line in lines:
        if line.text[0] != "x":
            elements.append(_element(line, scope, node))
            continue
        plain, assigned = _split_assignments(line.text)
        name = plain[-1] if len(plain) > 1 else ""
        if name not in subcircuits:
            raise unknown_name("subcircuit", name, subcircuits, line.where)
        if name in stack or len(stack) > DEEPEST_NESTING:
            raise _error(f"subcircuit {name!r} contains itself", "break the circle", line.where)
        made = subcircuits[name]
        connected = [node(word) for word in plain[1:-1]]
        if len(connected) != len(made.terminals):
            raise _error(
                f"{plain[0]} connects {len(connected)} nodes to {name!r}, which has {len(made.terminals)}",
                f"terminals are {' '.join(made.terminals)}",
                line.where,
            )
        given = _assignments(assigned, line.where)
        for parameter in given:
            if parameter not in made.defaults:
                raise unknown_name(f"parameter of subcircuit {name}", parameter, made.defaults, line.where)
        inner = Scope(prefix + plain[0], given, {**made.defaults, **made.local}, scope)
        mapping = dict(zip(made.terminals, connected, strict=True))
        _flatten(made.lines, inner, mapping, subcircuits, elements, [*stack, name])


def _element(line: Line, scope: Scope, node: object) -> Element:
    words = line.text.split(None, 3)
    kind = words[0][0]
    if len(words) < 4:
        raise _error(
            f"{words[0]} has too few words", f"a {KINDS[kind]} is written NAME node node value", line.where
        )
    text = words[3].strip()
    if kind in "vi" and text.startswith("dc "):
        text = text[3:].strip()
    if kind in "rlc" and (match := re.match(rf"{kind}\s*=\s*", text)):
        text = text[match.end() :]
    name = f"{kind}.{scope.name}.{words[0]}" if scope.name else words[0]
    a, b = (node(word) for word in words[1:3])  # type: ignore[operator]
    return Element(name, kind, a, b, _value(text, line.where), scope, line.where, line.comment)


def _value(text: str, where: str) -> Expression:
    """A number, or an expression in braces or quotes."""
    inner = text
    if text[0] + text[-1] in ("{}", "''"):
        inner = text[1:-1]
    elif len(text.split()) > 1:
        raise _error(f"{text.split()[1]!r} after the value is not accepted", "write one value", where)
    try:
        expression = parse(inner)
    except ExpressionError as error:
        raise _error(str(error), "a number such as 4.7k, or {an expression}", where) from None
    if inner is text and expression.names:
        raise _error(f"{text!r} is not a number", f"a parameter stands in braces: {{{text}}}", where)
    return expression


def _split_assignments(text: str) -> tuple[list[str], str]:
    """Split ``a b c params: x=1 y={2}`` into its plain words and the assignments."""
    text = re.sub(r"\bparams:", " ", text)
    match = re.search(r"[a-z_]\w*\s*=", text)
    start = match.start() if match else len(text)
    return text[:start].split(), text[start:]


_ASSIGNMENT = re.compile(r"\s*([a-z_]\w*)\s*=\s*(\{[^{}]*\}|'[^']*'|[^\s=]+)\s*,?")


def _assignments(text: str, where: str) -> dict[str, Expression]:
    result: dict[str, Expression] = {}
    at = 0
    while at < len(text) and text[at:].strip():
        match = _ASSIGNMENT.match(text, at)
        if not match:
            raise _error(f"{text[at:].strip()!r} is not an assignment", "write name=value or name={...}", where)
        name, value = match.groups()
        if name in result:
            raise _error(f"parameter {name!r} is given twice", "give it once", where)
        result[name] = _value(value, where) if value[0] in "{'" else _parameter_value(value, where)
        at = match.end()
    return result


def _parameter_value(text: str, where: str) -> Expression:
    try:
        return parse(text)
    except ExpressionError as error:
        raise _error(str(error), "a number such as 4.7k, or {an expression}", where) from None
