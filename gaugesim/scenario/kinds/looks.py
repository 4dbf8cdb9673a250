"""Looks: checks that take nothing apart and hang nothing on, and what is seen, heard or felt in each.

Their answers are entries that anybody may tell, see `gaugesim.evidence.look_entries`.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar

from gaugesim.circuit import Circuit
from gaugesim.errors import unknown_name
from gaugesim.scenario.kinds.kind import Kind
from gaugesim.scenario.kinds.request import Arrangement, Request

KEY_ON, LOADS_ON = "key_on_cold", "loads_on"


@dataclass(frozen=True)
class Look(Kind):
    """A kind of look.

    Attributes
    ----------
    key : str
        Of the entry of ``[[seen]]`` that answers it.
    between : (str, str) or None
        The states before and after what is turned or switched.
    at : str
        The place where it is made, if the circuit has it.
    """

    is_look = True
    key: ClassVar[str]
    between: tuple[str, str] | None = None
    at: ClassVar[str] = "dash"

    def _arrange(self, ask: Request) -> Arrangement:
        return Arrangement(places=(self.at,) if self.at in ask.circuit.sheet.places else ())

    def named(self, circuit: Circuit, gauge: str) -> Iterator[tuple[str, str]]:
        """Every look of this kind that makes sense on a circuit, for the gauge complained of.

        Yields
        ------
        name : str
            An id that `find_check` takes.
        state : str
            In which it is made.
        """
        yield from ((self.of(circuit, gauge), state) for state in self._states(circuit, gauge))

    def of(self, circuit: Circuit, gauge: str) -> str:
        """The look, at a gauge where it takes one."""
        return f"{self.id}:{gauge}" if self.takes_gauge and len(circuit.sheet.gauges) > 1 else self.id

    @abstractmethod
    def _states(self, circuit: Circuit, gauge: str) -> list[str]: ...


class WatchNeedle(Look):
    """Where a needle stands; of another gauge only whether it is right is asked."""

    key = "needle"
    takes_gauge = True

    def _arrange(self, ask: Request) -> Arrangement:
        return replace(super()._arrange(ask), reads="judged" if ask.gauge != ask.complained else "")

    def named(self, circuit: Circuit, gauge: str) -> Iterator[tuple[str, str]]:
        """See `Look.named`."""
        yield from super().named(circuit, gauge)
        others = [other for other in circuit.sheet.gauges if other != gauge]
        yield from ((f"{self.id}:{other}", state) for other in others for state in cold_or_usual(circuit))

    def _states(self, circuit: Circuit, gauge: str) -> list[str]:
        # nobody fills or empties a tank for a look, nor switches what another look switches
        states = circuit.sheet.states
        usual = states[circuit.sheet.default_state].minutes
        return [name for name in states if states[name].minutes <= usual and name != LOADS_ON]


class WatchMoves(Look):
    """How a needle moves."""

    key = "moves"
    takes_gauge = True

    def _states(self, circuit: Circuit, gauge: str) -> list[str]:
        return [circuit.sheet.default_state]


class WatchResponse(Look):
    """What a needle does when something is turned or switched."""

    key = "needle"
    takes_gauge = True

    def _states(self, circuit: Circuit, gauge: str) -> list[str]:
        return [*(self.between or ())][:1] if circuit.sheet.states.keys() >= {*(self.between or ())} else []


class SeeConsumer(Look):
    """How something else on the same wires works."""

    key = "looks"
    targets = ":CONSUMER"

    def _arrange(self, ask: Request) -> Arrangement:
        [name] = ask.arguments
        consumers = ask.circuit.sheet.consumers
        if name not in consumers:
            raise unknown_name("consumer", name, consumers, ask.circuit.id)
        return replace(super()._arrange(ask), target=consumers[name].words, part=name)

    def named(self, circuit: Circuit, gauge: str) -> Iterator[tuple[str, str]]:
        """See `Look.named`."""
        for consumer in circuit.sheet.consumers.values():
            yield f"{self.id}:{consumer.id}", [*consumer.states, *cold_or_usual(circuit)][0]

    def _states(self, circuit: Circuit, gauge: str) -> list[str]:
        return cold_or_usual(circuit)


@dataclass(frozen=True)
class AtEngine(Look):
    """Whether the engine is as hot as its gauge says: felt with the engine stopped."""

    key = "engine"
    at = "engine"
    engine: str = ""

    def _states(self, circuit: Circuit, gauge: str) -> list[str]:
        sheet = circuit.sheet
        stopped = [state.id for state in sheet.states.values() if state.engine == self.engine]
        felt = sheet.gauges[gauge].reads == "coolant_celsius"
        return [*stopped, sheet.default_state][:1] if felt else []


@dataclass(frozen=True)
class Compare(Look):
    """Whether a gauge tells the truth: the real value found out by other means.

    Attributes
    ----------
    quantity : str
        What such a gauge reads.
    where : str
        The place where that is found out, if the circuit has it.
    engine : str
        What the engine does meanwhile; empty for the usual state.
    """

    key = "truth"
    quantity: str = ""
    where: str = ""
    engine: str = ""

    def _arrange(self, ask: Request) -> Arrangement:
        return Arrangement(places=(self.where,) if self.where in ask.circuit.sheet.places else ())

    def _states(self, circuit: Circuit, gauge: str) -> list[str]:
        sheet = circuit.sheet
        able = [state.id for state in sheet.states.values() if state.engine == self.engine]
        # a needle that is compared is driven
        able.sort(key=lambda state: state != KEY_ON)
        return [*able, sheet.default_state][:1] if sheet.gauges[gauge].reads == self.quantity else []


class Crank(Look):
    """How the engine cranks."""

    key = "engine"

    def _states(self, circuit: Circuit, gauge: str) -> list[str]:
        return [KEY_ON] if KEY_ON in circuit.sheet.states else []


def cold_or_usual(circuit: Circuit) -> list[str]:
    """The states in which most looks are made."""
    wanted = dict.fromkeys((KEY_ON, circuit.sheet.default_state))
    return [state for state in wanted if state in circuit.sheet.states]


WATCH_NEEDLE, TURN_KEY = (
    WatchNeedle("watch_needle"),
    WatchResponse("turn_key", "change", between=("key_off", KEY_ON)),
)
KINDS: tuple[Look, ...] = (
    WATCH_NEEDLE,
    WatchMoves("watch_moves", "moves"),
    TURN_KEY,
    WatchResponse("switch_lights", "change", between=("lights_off", "lights_on")),
    WatchResponse("switch_loads", "change", between=("running_warm", LOADS_ON)),
    SeeConsumer("see_consumer", "consumer"),
    AtEngine("feel_heat", "heat", engine="warm"),
    AtEngine("look_coolant", "coolant", engine="cold"),
    Compare("compare_heat", "truth", quantity="coolant_celsius", where="engine", engine="warm"),
    Compare("compare_level", "truth", quantity="fuel_level", where="tank", engine="cold"),
    Compare("compare_pressure", "truth", quantity="oil_bar", where="engine"),
    Crank("crank", "cranking", turns_engine=True),
)
