"""Simulates dashboard and boat gauge circuits, and works back from a complaint and readings to the fault.

Data moves down this list and never back up; a module imports only from those above it.

What all rest on:

    errors        the family of exceptions
    arrays        arrays of numbers, as annotations name them
    plain         text from strangers, made fit to be read on a terminal
    files         read with a limit, written whole or not at all
    paths         where the netlists and the ngspice library are
    notebook      how results show themselves: at a prompt, in a notebook, as data
    physics       movements, regulators, thermistors, lamps and meters as pure functions

What is built:

    expression    the arithmetic in a netlist's parameters
    netlist       a parametric SPICE netlist: read, flattened, parameters worked out
    table         a TOML file, key by key, each mistake by its key
    vocabulary    the words of needles, meters, lamps, parts and repairs, as people use them
    movement      kinds of movement: where a needle stands, what fits it
    sheet         what SPICE cannot say: parts, tolerances, faults, checks, places, scales
    solve         a network of branches: its node voltages and currents, by nodal analysis or by ngspice
    compose       a circuit out of a few words: netlist and sheet of any gauge of the trade
    circuit       netlist and sheet together, states and parameters applied, as a network
    template      a circuit of one's own begun as a copy of another

What could be, and what would be seen:

    scenario      states, checks, faults and tolerance samples as arrays of parameter changes
    reading       needle positions and meter readings out of a solution
    transients    needles and regulator against time after a change of state
    sweeps        every fault in turn: the table of signatures
    shortcomings  a circuit of one's own: what is missing in it or suspicious

What to do:

    case          a complaint and what has been seen, as a person writes it
    evidence      words and numbers as likelihoods
    diagnosis     faults ranked, grouped and explained
    planning      the cheapest way to a fault, with labour: a search that knows no circuits
    advice        that search put to a diagnosis: the next check, the repair and its proof
    records       finished cases kept, and how often which part had failed in them
    consultation  one job from the complaint to the proven repair, of which all below are views
    conversation  what is asked of the person at the gauge, understood and kept
    evaluation    how good the two above are on generated cases
    fitting       a gauge and sender from a few measured points
    lessons       hidden faults and worksheets

How it is told:

    describe      one circuit as a card for the wall
    draw          pictures
    report        one page that needs nothing else
    front         what `import gaugesim as gs` offers
    cli           the command
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from gaugesim.front import plot as plot
    from gaugesim.front.catalogue import circuits as circuits
    from gaugesim.front.catalogue import find_circuit as find_circuit
    from gaugesim.front.evaluations import evaluate as evaluate
    from gaugesim.front.fault_sweeps import sweep as sweep
    from gaugesim.front.fitted_gauges import fit as fit
    from gaugesim.front.jobs import diagnose as diagnose
    from gaugesim.front.jobs import plan as plan
    from gaugesim.front.jobs import read_case as read_case
    from gaugesim.front.practice_tasks import practice as practice
    from gaugesim.front.samples import monte_carlo as monte_carlo
    from gaugesim.front.snapshots import see as see
    from gaugesim.front.time_courses import transient as transient

__version__ = "0.1.0"

# what the package offers, and the module of `gaugesim.front` that has it
_OFFERED = {
    "circuits": "catalogue",
    "diagnose": "jobs",
    "evaluate": "evaluations",
    "find_circuit": "catalogue",
    "fit": "fitted_gauges",
    "monte_carlo": "samples",
    "plan": "jobs",
    "plot": "plot",
    "practice": "practice_tasks",
    "read_case": "jobs",
    "see": "snapshots",
    "sweep": "fault_sweeps",
    "transient": "time_courses",
}
__all__ = [*_OFFERED]


class _FrontDoor(ModuleType):
    """The package itself: each name is loaded when it is first wanted."""

    def __getattr__(self, name: str) -> Any:
        if name not in _OFFERED:
            raise AttributeError(f"module {self.__name__!r} has no attribute {name!r}")
        module = import_module(f"{self.__name__}.front.{_OFFERED[name]}")
        self.__dict__[name] = value = getattr(module, name, module)
        return value

    def __dir__(self) -> list[str]:
        return [*__all__, *(name for name in self.__dict__ if name.startswith("__"))]


sys.modules[__name__].__class__ = _FrontDoor
