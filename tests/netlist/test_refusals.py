"""Everything that is no part of the safe subset is refused by line, with what would be right."""

import pytest

from gaugesim.errors import GaugesimError, NetlistError, UnknownNameError
from gaugesim.netlist import read_text

SUBCIRCUIT = ".subckt lamp feed return params: ohms=4\nR1 feed return {ohms}\n.ends\n"

# Statements -> what the error says; < ends the line that is named where it is not the first.
STATEMENTS = {
    ".control": r"\.control is not accepted; a netlist may have \.param",
    ".model cold r tc1=0.004": r"\.model is not accepted",
    ".func f(x) {x*2}": r"\.func is not accepted",
    ".lib parts.lib": r"\.lib is not accepted",
    ".tran 1m 1": r"\.tran is not accepted",
    ".dc V1 0 1 0.1": r"\.dc is not accepted",
    ".options gmin=1e-15": r"\.options is not accepted",
    ".include other.cir": "a netlist given as text cannot include files",
    ".INCLUDE /etc/passwd": "a netlist given as text cannot include files",
    ".inc x": "a netlist given as text cannot include files",
    ".include": r"\.include is not accepted",
    ".if (1)": r"\.if is not accepted",
    ".csparam x=1": r"\.csparam is not accepted",
    ".global n1": r"\.global is not accepted",
    ".ic v(a)=1": r"\.ic is not accepted",
    ".save all": r"\.save is not accepted",
    ".end\nR3 a 0 1<": r"'r3' stands after \.end; put \.end last",
    "*ng_script\nshell touch mark<": r"'shell': elements S",
    "shell rm -r x": r"'shell': elements S\.\.\. are not accepted; a netlist may have R, V, I, L, C and X",
    "echo x > y": r"elements E\.\.\. are not accepted",
    "!ls": r"elements !\.\.\. are not accepted",
    "B1 a 0 v=1": r"elements B\.\.\. are not accepted",
    "E1 a 0 b 0 2": r"elements E\.\.\. are not accepted",
    "F1 a 0 V1 2": r"elements F\.\.\. are not accepted",
    "G1 a 0 b 0 2": r"elements G\.\.\. are not accepted",
    "H1 a 0 V1 2": r"elements H\.\.\. are not accepted",
    "D1 a 0 diode": r"elements D\.\.\. are not accepted",
    "Q1 a b 0 npn": r"elements Q\.\.\. are not accepted",
    "M1 a b 0 0 nmos": r"elements M\.\.\. are not accepted",
    "S1 a 0 b 0 switch": r"elements S\.\.\. are not accepted",
    "A1 a b gain": r"elements A\.\.\. are not accepted",
    "K1 L1 L2 0.9": r"elements K\.\.\. are not accepted",
    "# note": r"elements #\.\.\. are not accepted",
    "R3 a 0": "r3 has too few words; a resistor is written NAME node node value",
    "V3 a": "v3 has too few words; a voltage source is written NAME node node value",
    "R3 a 0 1 tc=0.004": "'tc=0.004' after the value is not accepted; write one value",
    "V3 b 0 5 ac 1": "'ac' after the value is not accepted",
    "V3 b 0 sin(0 1 50)": r"'1' after the value is not accepted",
    "V3 b 0 pwl(0)": "no function 'pwl'",
    "V3 b 0 dc 1 pwl file=x": "'pwl' after the value is not accepted",
    "V3 b 0 dc=5": "means nothing in an expression",
    "C3 a 0 1u ic=2": "'ic=2' after the value is not accepted",
    "R3 a 0 top": r"'top' is not a number; an expression stands in braces: \{top\}",
    "R3 a 0 2*3": r"'2\*3' is not a number; an expression stands in braces",  # ngspice: an unknown parameter
    "R3 a 0 (5)": r"'\(5\)' is not a number; an expression stands in braces",
    "R3 a 0 !0": "'!0' is not a number",
    "R3 a 0 4k7": "a number such as 4.7k",
    "R3 a 0 {4.7 k}": "'k' is not expected there",
    "R3 a 0 {2^3^2}": "put one of the powers in parentheses",
    "R3 a 0 {b": "the character '{' means nothing",
    "R3 a 0 {1}{2}": "means nothing in an expression",
    "R3 a 0 {}": "an empty expression",
    "R-3 a 0 1": "the name 'r-3' is not accepted; use letters, digits and _",
    "R3 a.b 0 1": "the name 'a.b' is not accepted",
    "R3 a,b 0 1": "the name 'a,b' is not accepted",
    "R3 (a 0) 1": r"the name '\(a' is not accepted",
    "R3 a=b 0 1": "the name 'a=b' is not accepted",
    "R3 `ls` 0 1": "the name '`ls`' is not accepted",
    "R3 $x 0 1": "has too few words",
    "R3 a 0 1$ note": "'note' after the value is not accepted",
    "Rb\N{LATIN SMALL LETTER E WITH ACUTE} a 0 1": "has letters beyond ASCII; keep those to comments",
    "R3 a 0 \N{FULLWIDTH DIGIT FIVE}": "has letters beyond ASCII",
    "R3 a 0 1\x0cR4 a 0 1": "holds a control character",
    "R3 a 0 1\x1b[2J": "holds a control character",
    "R2 a 0 1": r"r2 stands twice \(first netlist\.cir:2\); rename one",
    ".param x": "'x' is not an assignment; write name=value",
    ".param x=": "'x=' is not an assignment",
    ".param =1": "'=1' is not an assignment",
    ".param x=1, y=2": "', y=2' is not an assignment",  # ngspice hangs on it
    ".param x=13,4": r"',4' is not an assignment; a decimal point, 13\.4",
    ".param x=2 * 3": r"'\* 3' is not an assignment",
    ".param f(x)=2": r"is not an assignment",
    ".param x=1 x=2": "parameter 'x' is given twice; give it once",
    ".param x=1\n.param X=2<": "parameter 'x' is set twice; set it once",
    ".param sin=2": "'sin' is a word of ngspice's own; give the parameter another name",
    ".param temper=2": "'temper' is a word of ngspice's own",
    ".param x={y": "the character '{' means nothing",
    "X1 a 0 lamp parms: ohms=1": "the name 'parms:' is not accepted",
    "X1 a 0 lmap": r"no subcircuit is called 'lmap'; did you mean lamp\?",
    "X1 lamp": r"x1 connects 0 nodes to 'lamp', which has 2; terminals are feed return",
    "X1 a lamp": r"x1 connects 1 nodes to 'lamp', which has 2",
    "X1 a b 0 lamp": r"x1 connects 3 nodes to 'lamp', which has 2",
    "X1": "no subcircuit is called ''",
    "X1 a 0 lamp params: ohm=1": r"no parameter of subcircuit lamp is called 'ohm'; did you mean ohms\?",
    "X1 a 0 lamp params: ohms=1 ohms=2": "parameter 'ohms' is given twice",
    "X1 a 0 lamp params: ohms=2 3": "'3' is not an assignment",
    "X.1 a 0 lamp": "the name 'x.1' is not accepted",
    ".param lamp=2\nX1 a 0 lamp<": "'lamp' is a subcircuit and a parameter; rename one",
    ".subckt lamp a b<\n.ends": r"subcircuit 'lamp' is defined twice",
    ".subckt": r"\.subckt needs a name and its terminals",
    ".subckt one": r"\.subckt needs a name and its terminals",
    ".subckt one a gnd<\n.ends": "terminal 'gnd' is node 0 everywhere in SPICE; rename it",
    ".subckt one a 0<\n.ends": "terminal '0' is node 0 everywhere in SPICE; rename it",
    ".subckt one a A<\n.ends": "subcircuit 'one' has a terminal twice; name each once",
    ".subckt one a-b c<\n.ends": "the name 'a-b' is not accepted",
    ".subckt one a b params: x=1\n.param x=2<\n.ends": "parameter 'x' is set twice",
    ".subckt one a b": r"\.subckt without \.ends; end it",
    ".subckt one a b\n.subckt two a b<\n.ends\n.ends": r"a \.subckt inside another",
    ".ends": r"\.ends without \.subckt; remove it",
    ".subckt one a b\nX1 a b one<\n.ends\nX2 a 0 one": "subcircuit 'one' contains itself; break the circle",
}  # fmt: skip


@pytest.mark.parametrize(("statement", "reason"), STATEMENTS.items())
def test_statements(statement: str, reason: str) -> None:
    before = f"title\nR2 a 0 1\n{SUBCIRCUIT}"
    at_fault, marked, _ = statement.partition("<")
    line = before.count("\n") + (at_fault.count("\n") if marked else 0) + 1
    with pytest.raises((NetlistError, UnknownNameError), match=reason) as caught:
        read_text(before + statement.replace("<", "") + "\n")
    assert caught.value.where == f"netlist.cir:{line}"
    assert "\n" not in str(caught.value)
    assert caught.value.remedy


@pytest.mark.parametrize("kind", [GaugesimError, ValueError])
def test_the_error_is_of_the_family(kind: type[Exception]) -> None:
    with pytest.raises(kind):
        read_text("title\n.control\n")


def test_a_title_is_no_statement() -> None:
    with pytest.raises(NetlistError, match=r"netlist\.cir:1: line 1 is the title, not a statement"):
        read_text(".param x=1\nR1 a 0 1\n")


def test_a_continuation_needs_a_statement() -> None:
    with pytest.raises(NetlistError, match=r"netlist\.cir:2: a continuation line continues nothing"):
        read_text("title\n+ R1 a 0 1\n")


def test_something_is_grounded() -> None:
    with pytest.raises(NetlistError, match="nothing is connected to node 0; node 0 is battery negative"):
        read_text("title\nR1 a b 1\n")


def test_a_subcircuit_of_subcircuits_cannot_fill_the_memory() -> None:
    levels = [f".subckt s{i} a b\nX1 a b s{i + 1}\nX2 a b s{i + 1}\n.ends\n" for i in range(18)]
    text = "title\n" + "".join(levels) + ".subckt s18 a b\nR1 a b 1\n.ends\nX1 a 0 s0\n"
    with pytest.raises(NetlistError, match="comes to more than 20000 elements"):
        read_text(text)


def test_a_deep_tower_of_subcircuits_is_refused() -> None:
    levels = [f".subckt s{i} a b\nX1 a b s{i + 1}\n.ends\n" for i in range(40)]
    text = "title\n" + "".join(levels) + ".subckt s40 a b\nR1 a b 1\n.ends\nX1 a 0 s0\n"
    with pytest.raises(NetlistError, match="nested more than 20 deep"):
        read_text(text)


VALUES = {
    "R1 a 0 {x}": "no parameter is called 'x'",
    "R1 a 0 {-1}": r"r1 = \{-1\} is -1.0; a resistor takes a finite number that is not negative",
    "R1 a 0 -5": r"r1 = \{-5\} is -5.0",
    "R1 a 0 {1/0}": r"r1 = \{1/0\} is inf; a resistor takes a finite number",
    "R1 a 0 {ln(-1)}": r"is nan",
    "R1 a 0 {(-2)^3 + 9}": r"is nan",  # ngspice would take 8 + 9
    "R1 a 0 1e999": "is inf",
    "V1 a 0 {1/0}": "a voltage source takes a finite number$",
    "I1 a 0 {0/0}": "a current source takes a finite number$",
    "L1 a 0 {-1}": "an inductor takes a finite number that is not negative",
    "C1 a 0 {-1}": "a capacitor takes a finite number that is not negative",
    ".param x={x}\nR1 a 0 {x}": "parameter 'x' depends on itself; break the circle",
    ".param x={y} y={2*x}\nR1 a 0 {x}": "depends on itself",
    ".subckt s p params: r={r}\nR1 p 0 {r}\n.ends\nX1 a s": "depends on itself",
}


@pytest.mark.parametrize(("statement", "reason"), VALUES.items())
def test_values_that_are_none(statement: str, reason: str) -> None:
    netlist = read_text(f"title\n{statement}\nR9 b 0 1\n")
    with pytest.raises((NetlistError, UnknownNameError), match=reason) as caught:
        netlist.values()
    assert caught.value.where.startswith("netlist.cir:")


def test_an_array_with_one_bad_number_is_refused() -> None:
    netlist = read_text("title\n.param x=1\nR1 a 0 {x}\n")
    with pytest.raises(NetlistError, match=r"r1 = \{x\} is"):
        netlist.values({"x": [1.0, -1.0]})


def test_a_chain_of_parameters_without_end() -> None:
    chain = "".join(f".param p{i}={{p{i + 1}}}\n" for i in range(3000))
    netlist = read_text(f"title\n{chain}.param p3000=1\nR1 a 0 {{p0}}\n")
    with pytest.raises(NetlistError, match="hangs on too many others"):
        netlist.values()
    with pytest.raises(NetlistError, match="hangs on too many others"):
        netlist.parameter_values()
    with pytest.raises(NetlistError, match="hangs on too many others"):
        netlist.moved_by(["p3000"])
