"""What a check hangs on a circuit: leads, resistors, meters, a lamp; and what a check is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from gaugesim.physics.meter import VOLTMETER_OHMS
from gaugesim.solve.network import Path

if TYPE_CHECKING:
    from gaugesim.scenario.kinds import Kind

# assumed: a test lead with clips, a fused lead, a bench supply's own resistance
JUMPER_OHMS = 0.02
FUSED_LEAD_OHMS = 0.05
BENCH_OHMS = 0.1
# an ohmmeter on its middle range: 1 V through 1 kohm
OHMMETER_VOLTS = 1.0
OHMMETER_OHMS = 1e3
# a test lamp of 3.6 W at 12 V, or for the system's own volts; 3 to 4 W are common practice, no source
LAMP_RATED_VOLTS = 12.0
LAMP_RATED_WATTS = 3.6

METER = "meter"
LAMP = "test_lamp"


def voltmeter(earth: str, node_a: str, node_b: str) -> Path:
    """A voltmeter between two nodes, its leads so that a sound circuit makes it show what is above zero.

    Parameters
    ----------
    earth : str
        The pole of the battery on the body: with ``positive`` the leads are exchanged.
    node_a, node_b : str
        The live node and the one nearer to earth.
    """
    ends = (node_b, node_a) if earth == "positive" else (node_a, node_b)
    return Path(METER, *ends, VOLTMETER_OHMS)


@dataclass(frozen=True)
class Setup:
    """How the circuit is changed for a reading.

    Attributes
    ----------
    branches : mapping
        New resistance of branches [ohm]; this beats any fault in them.
    paths : tuple of Path
        What is added: leads, resistors, meters, a lamp.
    parameters : mapping
        Process values that the check itself sets.
    kept : tuple of str or None
        If given, all other branches come away: the part or the gauge alone.
    dead : bool
        Whether the battery is off.
    """

    branches: Mapping[str, float] = field(default_factory=dict)
    paths: tuple[Path, ...] = ()
    parameters: Mapping[str, float] = field(default_factory=dict)
    kept: tuple[str, ...] | None = None
    dead: bool = False


@dataclass(frozen=True)
class Leads:
    """What a check hangs on the circuit, as a person has to choose it.

    Attributes
    ----------
    fuse : float
        Rating of the fuse in its lead [A], 0 without one; infinite where no fuse bears it.
    watts : float
        Rating of its resistor [W], 0 without one.
    supply_amperes : float
        Where its supply's current limit is set [A], 0 without one.
    limits : mapping
        Current that each lead, resistor or sender may carry [A], by branch.
    overheats : bool
        Whether a heater-type gauge gets more than at the top of its scale.
    burns : str
        What would burn in the sound circuit, in words; ``""`` if nothing.
    """

    fuse: float = 0.0
    watts: float = 0.0
    supply_amperes: float = 0.0
    limits: Mapping[str, float] = field(default_factory=dict)
    overheats: bool = False
    burns: str = ""


@dataclass(frozen=True)
class Check:
    """One thing that a person does and reads.

    Attributes
    ----------
    id : str
        ``KIND`` or ``KIND:TARGET``.
    gauge : str
        The gauge meant, ``""`` where it does not matter.
    words : str
        What to do, in one sentence.
    minutes : float
        Once its places are open.
    places : tuple of str
        Where it is done.
    cautions : tuple of str
        Ids of the sheet's cautions: the check's own and those of its places.
    setup : Setup
        The circuit in which the needles are watched.
    reads : str
        ``needle``, ``volts``, ``lamp``, ``ohms``, ``jump`` (does the needle move when the part
        does) or ``look``; of what is only looked at also ``judged``, ``moves``, ``change``, ``consumer``,
        ``heat``, ``coolant`` or ``cranking``, see `gaugesim.scenario.kinds.looks`.
    meter : Setup or None
        The circuit on the ohmmeter, where that is not ``setup``.
    part : str
        The part that is moved or looked at, or what else hangs on the same wires.
    leads : Leads
        What its leads, resistor and supply must bear.
    stopped : bool
        Whether the engine must not run meanwhile: a spark could set vapour alight, or a sender is out.
    turns : tuple of str
        The same with every joint made and broken with the key off, one thing after another.
    key_off : str
        What to do with the key off; ``""`` if it tells nothing then.
    short : str
        Names it in a sentence about what it showed: "with the lead off the sender".
    """

    id: str
    kind: Kind
    gauge: str
    words: str
    minutes: float
    places: tuple[str, ...]
    cautions: tuple[str, ...]
    setup: Setup
    reads: str
    meter: Setup | None = None
    part: str = ""
    leads: Leads = field(default_factory=Leads)
    stopped: bool = False
    turns: tuple[str, ...] = ()
    key_off: str = ""
    short: str = ""
