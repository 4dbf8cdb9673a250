"""A whole shipped circuit by lcapy (symbolic circuit analysis): letters kept to the end, then numbers."""

from collections.abc import Mapping
from fractions import Fraction
from functools import cached_property

import numpy as np
import sympy
from lcapy import Circuit

from gaugesim.arrays import Floats
from gaugesim.circuit import find
from gaugesim.reading import Situation
from gaugesim.solve.network import Network
from gaugesim.solve.nodal import solve

CLOSE = 1e-9
BATTERY = "vbattery"
# what stays a letter: the battery, and resistances of the sender, a joint on either side, and a coil
LETTERS = {
    BATTERY: "vs",
    "rsender_wire": "r1",
    "rstud_ground": "r2",
    "r.xsender.rthermistor": "r3",
    "r.xtemperature.rfixed": "r4",
}

FAULTS: tuple[Mapping[str, float], ...] = (
    {},
    {BATTERY: 10.9},
    {"rsender_wire": 38.0},
    {"rsender_wire": 38.0, "rstud_ground": 650.0},
    {"r.xsender.rthermistor": 0.0, "r.xtemperature.rfixed": 1e4},
    {"rsender_wire": np.inf, "rstud_ground": 22.0},
)


def exact(value: float) -> str:
    ratio = Fraction(float(value)).limit_denominator(10**12)
    return f"{{{ratio.numerator}/{ratio.denominator}}}"


class Symbolic:
    """A network solved by lcapy once."""

    def __init__(self, network: Network) -> None:
        self.network = network
        nodes = [*range(1, len(network.nodes) + 1), 0]
        lines = []
        for k, name in enumerate(network.names):
            start, end = (nodes[node] for node in network.ends[k])
            if network.volts[k]:
                assert network.ohms[k] == 0
                lines.append(f"V{k} {start} {end} dc {LETTERS.get(name) or exact(network.volts[k])}")
            else:
                lines.append(f"R{k} {start} {end} {LETTERS.get(name) or exact(network.ohms[k])}")
        self.netlist = "\n".join(lines)

    @cached_property
    def volts(self) -> list[sympy.Expr]:
        """Each node's, in letters."""
        circuit = Circuit(self.netlist)
        return [circuit[number].V.dc.expr for number in range(1, len(self.network.nodes) + 1)]

    def with_numbers(self, changed: Mapping[str, float]) -> Floats:
        """The letters' values in the network put in, some of them others; inf by its limit."""
        network, letters = self.network, {letter.name: letter for letter in self.symbols}
        result = np.empty(len(self.volts))
        for k, volts in enumerate(self.volts):
            value = volts
            for name, letter in LETTERS.items():
                at = network.branch(name)
                before = network.volts[at] if name == BATTERY else network.ohms[at]
                number = changed.get(name, float(before))
                if letter not in letters:
                    continue
                if np.isinf(number):
                    value = sympy.limit(value, letters[letter], sympy.oo)
                else:
                    value = value.subs(letters[letter], sympy.Rational(Fraction(number)))
            result[k] = float(value)
        return result

    @cached_property
    def symbols(self) -> set[sympy.Symbol]:
        return set().union(*(volts.free_symbols for volts in self.volts))


# one test, as what takes its time is shared
def test_numbers_put_in_last_give_what_nodal_gives() -> None:
    network = Situation.of(find("temp_two_coil")).network
    whole = Symbolic(network)
    assert {letter.name for letter in whole.symbols} == {*LETTERS.values()}
    for faults in FAULTS:
        ohms, volts = network.ohms.copy()[None], network.volts.copy()[None]
        for name, value in faults.items():
            (volts if name == BATTERY else ohms)[0, network.branch(name)] = value
        found = solve(network, ohms, volts).voltages[0, : len(network.nodes)]
        wanted = whole.with_numbers(faults)
        np.testing.assert_allclose(found, wanted, rtol=0, atol=CLOSE, err_msg=str(faults))
