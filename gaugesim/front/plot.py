"""Pictures of what the front door gives, on matplotlib axes of one's own or on a figure that pyplot shows.

Each function takes ``ax`` and returns the axes that it has drawn on; with ``ax`` left out a notebook shows
the picture below its cell, and ``matplotlib.pyplot.show()`` opens its window.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from gaugesim import draw
from gaugesim.draw.scenes import scene
from gaugesim.draw.style import figures_of
from gaugesim.draw.wall import draw_wall
from gaugesim.draw.why_picture import draw_why
from gaugesim.errors import CaseError
from gaugesim.front.arguments import looked_at
from gaugesim.front.catalogue import AnyCircuit, find_circuit
from gaugesim.front.given import given_once
from gaugesim.front.jobs import Ranking
from gaugesim.front.snapshots import Snapshot
from gaugesim.front.time_courses import Followed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = [
    "bench",
    "dials",
    "fault_curves",
    "movement",
    "projector",
    "ranking",
    "schematic",
    "sender",
    "signatures",
    "transient",
    "why",
]


def _drawn(picture: Callable[[], Axes], ax: Axes | None) -> Axes:
    """A picture on axes of one's own, or on a new figure of pyplot's."""
    if ax is not None:
        return picture()
    from matplotlib import pyplot

    with figures_of(pyplot.figure):
        return picture()


@looked_at
def dials(seen: Snapshot, ax: Axes | None = None) -> Axes:
    """The dials with their needles, and the band of such gauges, with their faults if they have any.

    Parameters
    ----------
    seen : Snapshot
        From `gaugesim.see`.
    ax : matplotlib.axes.Axes, optional

    Examples
    --------
    >>> import gaugesim as gs
    >>> ax = gs.plot.dials(gs.see("boat_panel"))
    >>> any("coolant temperature gauge" in text.get_text() for text in ax.texts)
    True
    """
    return _drawn(lambda: draw.draw_dials(draw.dials(seen.scene), ax), ax)


@looked_at
def schematic(seen: Snapshot, ax: Axes | None = None, values: bool = True, gauge: str | None = None) -> Axes:
    """The circuit of one gauge as it is wired, with its voltages and currents.

    Parameters
    ----------
    seen : Snapshot
        From `gaugesim.see`.
    ax : matplotlib.axes.Axes, optional
    values : bool, optional
        Whether voltages and currents are written in.
    gauge : str, optional
        The first one if left out.

    Examples
    --------
    >>> import gaugesim as gs
    >>> ax = gs.plot.schematic(gs.see("temp_two_coil"))
    """
    meant = None if gauge is None else seen.circuit.gauge(gauge).id
    return _drawn(lambda: draw.draw_schematic(draw.schematic(seen.scene, meant), ax, values), ax)


@looked_at
def why(seen: Snapshot, ax: Axes | None = None, gauge: str | None = None) -> Axes:
    """Why the needle stands there: the arrows of the coils, or heat and strip, sound beside faulty.

    Parameters
    ----------
    seen : Snapshot
        From `gaugesim.see`.
    ax : matplotlib.axes.Axes, optional
    gauge : str, optional
        The first one if left out.

    Examples
    --------
    >>> import gaugesim as gs
    >>> ax = gs.plot.why(gs.see("temp_opposed_coil", faults="stud_bias=open"))
    """
    meant = seen.circuit.gauge(gauge).id
    return _drawn(lambda: draw_why(seen.why, meant, seen.scene.fault_words, ax), ax)


@looked_at
def projector(seen: Snapshot) -> Axes:
    """The dials alone, large, for a wall; sound beside faulty.

    Parameters
    ----------
    seen : Snapshot
        From `gaugesim.see`.

    Examples
    --------
    >>> import gaugesim as gs
    >>> ax = gs.plot.projector(gs.see("cluster_air_core", faults="panel_ground=open"))
    """
    sound = scene(seen.circuit, seen.state, seen.situation.check.id, (), seen.given) if seen.asked else None
    return _drawn(lambda: draw_wall(seen.scene, sound), None)


@looked_at
def sender(circuit: AnyCircuit, ax: Axes | None = None, gauge: str | None = None) -> Axes:
    """The sender's resistance over the scale, with the band that its tolerance leaves.

    Parameters
    ----------
    circuit : str or Circuit
    ax : matplotlib.axes.Axes, optional
    gauge : str, optional
        The first one if left out.

    Examples
    --------
    >>> import gaugesim as gs
    >>> gs.plot.sender("temp_two_coil").get_ylabel()
    'sender, Ω'
    """
    return _drawn(lambda: draw.draw_sender_curve(draw.scale_curves(find_circuit(circuit), gauge), ax), ax)


@looked_at
def movement(circuit: AnyCircuit, ax: Axes | None = None, gauge: str | None = None) -> Axes:
    """The needle against the true value, with the marks of the scale and the band that tolerances leave.

    Parameters
    ----------
    circuit : str or Circuit
    ax : matplotlib.axes.Axes, optional
    gauge : str, optional
        The first one if left out.

    Examples
    --------
    >>> import gaugesim as gs
    >>> gs.plot.movement("temp_two_coil").get_ylabel()
    'needle'
    """
    return _drawn(lambda: draw.draw_movement_curve(draw.scale_curves(find_circuit(circuit), gauge), ax), ax)


@looked_at
def fault_curves(
    circuit: AnyCircuit,
    state: str | None = None,
    check: str = "",
    symptom: tuple[float, float] | None = None,
    ax: Axes | None = None,
    gauge: str | None = None,
) -> Axes:
    """The needle against the severity of every fault; those that pass through a symptom are named.

    Parameters
    ----------
    circuit : str or Circuit
    state : str, optional
        The circuit's usual one if left out.
    check : str, optional
    symptom : (float, float), optional
        Band of needle positions.
    ax : matplotlib.axes.Axes, optional
    gauge : str, optional
        The first one if left out.

    Examples
    --------
    >>> import gaugesim as gs
    >>> ax = gs.plot.fault_curves("temp_opposed_coil", "key_on_cold", symptom=(0.45, 0.55))
    """
    return _drawn(
        lambda: draw.draw_curves(draw.fault_curves(find_circuit(circuit), state, check, gauge), symptom, ax),
        ax,
    )


@looked_at
def signatures(
    circuit: AnyCircuit,
    checks: Sequence[str],
    state: str | None = None,
    ax: Axes | None = None,
    gauge: str | None = None,
) -> Axes:
    """Which faults look alike at which checks.

    Parameters
    ----------
    circuit : str or Circuit
    checks : sequence of str
        ``""`` is looking at the needle.
    state : str, optional
        The circuit's usual one if left out.
    ax : matplotlib.axes.Axes, optional
    gauge : str, optional
        The first one if left out.

    Examples
    --------
    >>> import gaugesim as gs
    >>> ax = gs.plot.signatures("temp_two_coil", ["unplug_sender", "ground_sender_lead"])
    """
    return _drawn(
        lambda: draw.draw_signature_map(draw.signature_map(find_circuit(circuit), checks, state, gauge), ax),
        ax,
    )


@looked_at
def ranking(stages: Mapping[str, Ranking], ax: Axes | None = None) -> Axes:
    """How the ranking moved with each piece of evidence.

    Parameters
    ----------
    stages : mapping
        From what was known, in words, to the ranking then; the last says which faults are shown.
    ax : matplotlib.axes.Axes, optional

    Examples
    --------
    >>> import gaugesim as gs
    >>> first = gs.diagnose({"circuit": "temp_two_coil"})
    >>> then = first.after(state="running_warm", needle="pegged_low")
    >>> ax = gs.plot.ranking({"nothing known": first, "on the low stop": then})
    """
    others = [name for name, stage in stages.items() if not isinstance(stage, Ranking)]
    if others or not stages:
        problem = f"stages[{others[0]!r}] is no ranking" if others else "stages is empty"
        raise CaseError(problem, "ranking()", "give what diagnose() gives, by what was known then")
    chances = [dict(zip(stage["fault"], stage["probability"], strict=True)) for stage in stages.values()]
    last = [*stages.values()][-1]
    table = [[chance.get(fault, 0.0) for fault in last["fault"]] for chance in chances]
    return _drawn(lambda: draw.draw_course(draw.course(list(stages), last["words"], table), ax), ax)


@looked_at
def transient(run: Followed, ax: Axes | None = None) -> Axes:
    """The needles against time, and the regulator's pulses below them.

    Parameters
    ----------
    run : Followed
        From `gaugesim.transient`.
    ax : matplotlib.axes.Axes, optional

    Examples
    --------
    >>> import gaugesim as gs
    >>> ax = gs.plot.transient(gs.transient("cluster_bimetal_10v", seconds=30))
    >>> len([line for line in ax.lines if not line.get_label().startswith("_")])
    2
    """
    return _drawn(lambda: draw.draw_transient(run.run, run.circuit, ax), ax)


@looked_at
def bench(
    circuit: AnyCircuit,
    state: str | None = None,
    check: str = "",
    faults: str | Iterable[str] = (),
    given: Mapping[str, float] | None = None,
    gauge: str | None = None,
    hide: int | None = None,
) -> draw.Bench:
    """A picture with sliders: severity of a fault, fuel, temperature, supply; the needles follow.

    Parameters
    ----------
    circuit : str or Circuit
    state, check, faults, given, gauge : optional
        As `gaugesim.see` takes them; without a gauge all are drawn.
    hide : int, optional
        Hides a fault, the same for the same number.

    Returns
    -------
    Bench
        Its sliders live as long as it does; in a notebook it needs ``%matplotlib widget``.

    Examples
    --------
    >>> import gaugesim as gs
    >>> gs.plot.bench("temp_two_coil").setting.state
    'running_warm'
    """
    asked = (faults,) if isinstance(faults, str) else tuple(faults)
    chosen, values = find_circuit(circuit), given_once(given)
    return draw.open_bench(
        chosen, state=state, check=check, faults=asked, given=values, gauge=gauge, hide=hide
    )
