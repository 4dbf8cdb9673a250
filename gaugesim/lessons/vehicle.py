"""The vehicle with the hidden fault: what its needles and a meter on it show."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from gaugesim import vocabulary
from gaugesim.advice.suspects import USUAL_DUTY
from gaugesim.circuit import Circuit
from gaugesim.evidence import handling
from gaugesim.evidence import likelihood as like
from gaugesim.evidence import observation as obs
from gaugesim.evidence.prediction import Prediction
from gaugesim.lessons.chance import generator
from gaugesim.lessons.looks import OneVehicle
from gaugesim.physics.meter import is_open
from gaugesim.reading import Response, Situation, respond
from gaugesim.reading.situations import without_process
from gaugesim.reading.words import WORD_PLACES, needle_word, quantity
from gaugesim.scenario.check import NO_CHECK, Check
from gaugesim.scenario.fault import Fault, Pair, change, combine
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.scenario.tolerance import tolerances
from gaugesim.sheet import FOUND
from gaugesim.vocabulary import TOPICS, UNDRIVEN, outcome_words

# a vehicle's parts lie within so many standard deviations of their nominal values
MOST_DEVIATIONS = 2.0
# how a part looks that nothing is wrong with
SOUND = "sound"
# how well a needle's place is read off the dial [position]: a quarter of what a guess of a number is off
NEEDLE_READING = like.NEEDLE_NUMBER_SPREAD / 4
# the ranges of a hand multimeter and the last digit that each shows [V]; it is off by two of them
RANGES = ((0.2, 0.0001), (2.0, 0.001), (np.inf, 0.01))
DIGITS_OFF = 2.0


@dataclass(frozen=True)
class Shown:
    """What a check showed.

    Attributes
    ----------
    value : float or None
        The number on the meter [V or ohm], or the needle's place; None where there is none.
    """

    reads: str
    outcome: str
    value: float | None
    words: str


@dataclass(frozen=True)
class FaultyVehicle:
    """One vehicle of a circuit, its parts drawn within their tolerances, with a hidden fault.

    Attributes
    ----------
    key : tuple
        From which all its chances follow, see `generator`.
    severity : tuple of float
        Of each single fault, in its mode's own unit.
    mended : frozenset of str
        Parts that are new, and have no fault any more.
    """

    circuit: Circuit
    gauge: str
    key: tuple[object, ...]
    fault: Fault | Pair
    severity: tuple[float, ...]
    mended: frozenset[str] = frozenset()

    def without(self, mended: Collection[str]) -> FaultyVehicle:
        """The same vehicle with some parts mended."""
        return replace(self, mended=frozenset(mended))

    @property
    def left(self) -> tuple[tuple[Fault, float], ...]:
        """The faults that are not mended, with their severities."""
        both = zip(self.fault.singles, self.severity, strict=True)
        return tuple((fault, severity) for fault, severity in both if fault.part.id not in self.mended)

    @property
    def intermittent(self) -> bool:
        """Whether the fault comes and goes."""
        return any(fault.mode.id == "intermittent" for fault in self.fault.singles)

    def values(self, state: str) -> Mapping[str, float]:
        """Its own parameter values in a state.

        A part is the same in every state; and so is what is in the tank, or how warm a warm engine is.
        """
        parameters = self.circuit.parameters(state)
        variables = tolerances(self.circuit, parameters, state)
        quantities = self.circuit.sheet.quantities
        draws = []
        for name, nominal in zip(variables.names, variables.nominal, strict=True):
            own = f"{nominal:g}" if name in quantities and quantities[name].process else ""
            draws.append(generator(*self.key, "tolerance", name, own).standard_normal())
        normal = np.clip(np.array(draws), -MOST_DEVIATIONS, MOST_DEVIATIONS)
        return {name: float(value) for name, value in variables.values(normal).items()}

    def response(
        self, state: str, check: Check = NO_CHECK, acting: bool = True
    ) -> tuple[Situation, Response]:
        """What the circuit of this vehicle does.

        Parameters
        ----------
        acting : bool
            Whether the fault acts at that moment.
        """
        situation, rows = self.row(state, check, acting)
        return situation, respond(situation, rows)

    def row(
        self, state: str, check: Check = NO_CHECK, acting: bool = True
    ) -> tuple[Situation, Scenarios | None]:
        """What there is to solve.

        Returns
        -------
        rows : Scenarios or None
            The fault, one row; None where none acts.
        """
        situation = Situation.of(self.circuit, state, check, self.values(state))
        left = [(fault, severity) for fault, severity in self.left if not self._set_free(fault, check)]
        if not acting or not left:
            return situation, None
        makes = [partial(change, self.circuit, fault, np.array([severity])) for fault, severity in left]
        rows = stack([combine(makes, situation.parameters)])
        return situation, without_process(rows, frozenset(check.setup.parameters))

    def _set_free(self, fault: Fault, check: Check) -> bool:
        """Whether what sticks comes free under a check, the same whenever it is made."""
        return any(
            handling.sticks(fault, kind, check.gauge) and generator(*self.key, "free", kind).random() < chance
            for kind, chance in check.kind.frees.items()
        )

    def acts(self, *moment: object) -> bool:
        """Whether the fault acts when something is done; a steady one always does.

        The same for everybody who does the same.
        """
        return not self.intermittent or generator(*self.key, "acts", *moment).random() < USUAL_DUTY

    def show(self, check: Check, state: str, stands: str = "") -> Shown:
        """Make a check.

        Parameters
        ----------
        stands : str, optional
            Where the needle is known to have stood: one that nothing drives is seen there.

        Returns
        -------
        Shown
            With the meter's error; the same for everybody, and when it is done again.
        """
        luck = generator(*self.key, "reading", check.id, state)
        faults = [fault for fault, _ in self.left]
        if check.kind.inspects:
            chances = handling.SOUND_LOOKS
            for fault in faults:
                if fault.part.id == check.part:
                    chances = handling.found_table([fault], check.part, "looked")[0]
            word = FOUND[int(luck.choice(len(FOUND), p=chances))]
            return Shown("look", word, None, outcome_words("look", word))
        if check.kind.by_hand:
            word = vocabulary.JUMP.classes[int(luck.random() < self._jump_chance(check))]
            return Shown("jump", word, None, outcome_words("jump", word))
        if check.kind.is_look:
            return self._look(check, state, luck)
        situation, response = self.response(state, check, check.kind.acting or self.acts(check.id, state))
        if check.reads == "needle":
            return self._needle(check, response, luck, stands)
        assert response.reading is not None
        return self._instrument(situation, response, luck)

    def _look(self, check: Check, state: str, luck: np.random.Generator) -> Shown:
        acts = self.acts(check.id, state)
        if check.reads == "needle":
            return self._needle(check, self.response(state, NO_CHECK, acts)[1], luck)
        if check.reads == "moves" and self.intermittent and self.left:
            word = "jumps"  # over all that was tried it acts at one time and not at another
        else:
            classes, chances = OneVehicle(self, acts).chances(check, state)
            word = classes[int(luck.choice(len(classes), p=chances))]
        return Shown(check.reads, word, None, outcome_words(check.reads, word))

    def misleads(self, check: Check, shown: Shown) -> str:
        """How a look or a hand has misled, which now and then they do.

        Returns
        -------
        str
            In words; empty where it has not, or where an instrument was read.
        """
        if shown.reads == "look":
            own = [fault.mode.found for fault, _ in self.left if fault.part.id == check.part]
            if not own and shown.outcome != SOUND:
                return "the look misled: the part is sound"
            if own and not any(shown.outcome in looks for looks in own):
                seen = "its fault was not seen" if shown.outcome == SOUND else "that is not its fault"
                return f"the look misled: {seen}"
        if shown.reads == "jump":
            jumps, chance = shown.outcome == vocabulary.JUMP.classes[1], self._jump_chance(check)
            if jumps and chance <= like.JUMP_WHEN_MOVED["sound"]:
                return "the hand misled: nothing is loose there"
            if not jumps and chance > like.JUMP_WHEN_MOVED["loose"]:
                return "the hand misled: it is loose and kept still"
        return ""

    def _jump_chance(self, check: Check) -> float:
        chances = handling.jump_chance([fault for fault, _ in self.left], check.part)
        return float(chances.max(initial=like.JUMP_WHEN_MOVED["sound"]))

    def _needle(self, check: Check, response: Response, luck: np.random.Generator, stands: str = "") -> Shown:
        sheet = self.circuit.sheet
        gauge = sheet.gauges[check.gauge if check.gauge in sheet.gauges else self.gauge]
        position = float(response.positions[gauge.id][0])
        if np.isnan(position) and not check.kind.is_look:
            word = stands or UNDRIVEN
            return Shown("needle", word, WORD_PLACES.get(word), outcome_words("needle", word))
        if np.isnan(position):  # who only looks sees where it lies
            position = float(like.resting(np.zeros(1), gauge.stops)[0])
        read = position
        if gauge.stops[0] < position < gauge.stops[1]:
            read = float(np.clip(position + NEEDLE_READING * luck.standard_normal(), *gauge.stops))
        word = needle_word(gauge, read)
        return Shown("needle", word, round(read, 2), outcome_words("needle", word))

    def _instrument(self, situation: Situation, response: Response, luck: np.random.Generator) -> Shown:
        assert response.reading is not None
        reads, value = situation.check.reads, float(response.reading[0])
        pulses = bool(response.pulses[0])
        first, second = luck.standard_normal(2)
        topic, there = TOPICS[reads], Situation.of(self.circuit, situation.state, situation.check)
        usual = respond(there).reading
        assert usual is not None
        if topic.unit == "ohm" and not is_open(value):
            # the probes' own contact only ever adds
            value = value * (1 + like.METER_SHARE_OHMS * first) + like.METER_OHMS * abs(second)
        elif topic.unit != "ohm" and topic.number:
            digit = next(last for most, last in RANGES if abs(value) < most)
            value = value * (1 + like.METER_SHARE * first) + DIGITS_OFF * digit * second
            value = round(value / digit) * digit
        exactly = Prediction(np.array([value]), (), np.zeros((0, 1)), np.array([pulses]))
        table = obs.reading_table(reads, exactly, there, float(usual[0]))
        word = topic.classes[int(np.argmax(table[0]))]
        if not topic.number:
            return Shown(reads, word, None, outcome_words(reads, word))
        wanders = ", wandering up and down" if pulses else ""
        return Shown(reads, word, value, quantity(value, topic.unit) + wanders)
