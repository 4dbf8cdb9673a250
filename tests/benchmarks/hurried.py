"""Ten complaints done as a hurried hand: prompts and minutes to the first advice and to the fault.

    python tests/benchmarks/hurried.py [NUMBER...]

Each is a vehicle with a hidden fault of our own. The hand says what is wrong, answers what can be seen from
the seat, knows nothing of what is behind the panel, makes each check that is proposed, and mends what is to
be mended at once. A prompt is taken to cost `PROMPT_SECONDS`; a check its minutes, places opened counted; a
repair in vain its own. The first advice is the first check or repair that is shown; the fault is found when
its repair is the one proposed, or its part is more likely than not; getting at it is counted in.

Nothing depends on which questions there are.
"""

import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from gaugesim.advice.remedy import repair_named
from gaugesim.circuit import Circuit, available, find
from gaugesim.conversation import Talk, begin, step
from gaugesim.conversation.question import Question
from gaugesim.evidence import observation as obs
from gaugesim.lessons.vehicle import FaultyVehicle
from gaugesim.reading.words import needle_word
from gaugesim.scenario.check import find_check
from gaugesim.scenario.fault_list import find_fault

PROMPT_SECONDS, MOST_PROMPTS = 10.0, 60
UNKNOWN = ""
# states that an owner can speak of without going to look
KNOWN = ("key_on_cold", "running_warm", "lights_off", "lights_on", "loads_on")


@dataclass(frozen=True)
class Job:
    """A vehicle, and what its owner says of it.

    Attributes
    ----------
    said : tuple of str
        The complaint, and what is answered beside it.
    after : str
        What went before.
    severity : float or None
        The mode's typical one if left out.
    """

    circuit: str
    gauge: str
    fault: str
    said: tuple[str, str]
    after: str = "nothing"
    severity: float | None = None
    beside: dict[str, str] = field(default_factory=dict)


JOBS = (
    Job("temp_opposed_coil", "temperature", "stud_bias=open", ("stuck", "half")),
    Job("fuel_two_coil_0_90", "fuel", "sender_wire=open", ("on_a_stop", "up")),
    Job("temp_two_coil", "temperature", "sender_connector=high", ("low", ""), "wet"),
    Job("cluster_air_core", "temperature", "panel_ground=high", ("switched", "lights rises")),
    Job("cluster_bimetal_5v", "fuel", "regulator=stuck_closed", ("high", "")),
    Job("boat_panel", "oil_pressure", "oil_pressure_sender_connector=intermittent", ("jumps", "down")),
    Job("temp_three_coil", "temperature", "process=real_high", ("high", "")),
    Job("fuel_four_coil", "fuel", "sender=stuck", ("stuck", "half"), "lay_up", severity=0.5),
    Job("cluster_bimetal_10v", "fuel", "fuse=open", ("dead", "")),
    Job("fuel_two_coil_0_30", "fuel", "sender=wrong_range", ("high", ""), "sender_work"),
)


class Hand:
    """Who answers, seeing the vehicle."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.circuit: Circuit = find(job.circuit)
        fault = find_fault(self.circuit, job.fault, job.gauge)
        severity = fault.mode.severity.typical if job.severity is None else job.severity
        self.vehicle = FaultyVehicle(self.circuit, job.gauge, ("hurried", job.fault), fault, (severity,))

    def answer(self, state: Talk) -> str:
        """What is typed at a question."""
        question = state.question
        kind, _, what = question.id.partition(":")
        typed = {
            "complaint": self.job.said[0],
            "gauge": self._gauge(question),
            "others": self._others(),
            "driver": "no",
            "detail": self.job.said[1],
            "heat": self._heat(),
            "after": self.job.after,
            "tools": "all",
            "feature": self._feature(what, question),
            "moves": self._moves(),
            "engine": self._heat(),
            "replaced_before": "nothing",
        }
        if kind in typed:
            return typed[kind]
        if kind == "needle":
            return self._needle(self.job.gauge, what) if what in KNOWN else UNKNOWN
        if kind == "lights":
            return self._lights()
        if kind == "consumer":
            return self._consumer(what)
        if kind == "other":
            return self._judged(what, self.circuit.sheet.default_state)
        if kind == "check":
            return self._check(state, question)
        if kind == "proof":
            return "normal"
        return UNKNOWN

    def _gauge(self, question: Question) -> str:
        several = "several" if len(self.circuit.sheet.gauges) > 1 else "alone"
        values = {choice.value for choice in (*question.choices, *question.more)}
        full = f"{self.job.gauge}/{several}"
        known = (f"{full}/{self.circuit.sheet.craft}", full, self.job.gauge)
        return next((value for value in known if value in values), self.job.gauge)

    def _others(self) -> str:
        """How the other gauges are, by a look at them in the usual state."""
        others = [name for name in self.circuit.sheet.gauges if name != self.job.gauge]
        wrong = [self._judged(name, self.circuit.sheet.default_state) != "normal" for name in others]
        return "all_wrong" if all(wrong) else "some_wrong" if any(wrong) else "right"

    def _feature(self, what: str, question: Question) -> str:
        """Studs are behind the panel; whether it is alone, and whether the needle creeps, is seen."""
        if what == "company":
            return "several" if len(self.circuit.sheet.gauges) > 1 else "alone"
        return ("yes" if self.circuit.sheet.regulator else "no") if what == "regulator" else UNKNOWN

    def _position(self, gauge: str, state: str) -> float:
        return float(np.nan_to_num(self.vehicle.response(state)[1].positions[gauge][0], nan=-0.1))

    def _sound(self, gauge: str, state: str) -> float:
        return float(self.vehicle.response(state, acting=False)[1].positions[gauge][0])

    def _needle(self, gauge: str, state: str) -> str:
        return needle_word(self.circuit.sheet.gauges[gauge], self._position(gauge, state))

    def _judged(self, gauge: str, state: str) -> str:
        off = self._position(gauge, state) - self._sound(gauge, state)
        return "normal" if abs(off) < 0.1 else "reads_high" if off > 0 else "reads_low"

    def _moves(self) -> str:
        if self.vehicle.intermittent:
            return "jumps"
        reach = self._position(self.job.gauge, "running_warm") - self._position(self.job.gauge, "key_on_cold")
        creeps = self.circuit.sheet.gauges[self.job.gauge].movement == "bimetal"
        return "never" if abs(reach) < 0.1 else "slowly" if creeps else "at_once"

    def _lights(self) -> str:
        moved = self._position(self.job.gauge, "lights_on") - self._position(self.job.gauge, "lights_off")
        return "same" if abs(moved) < 0.05 else "rises" if moved > 0 else "falls"

    def _consumer(self, name: str) -> str:
        consumer = self.circuit.sheet.consumers[name]
        state = (*consumer.states, self.circuit.sheet.default_state)[0]
        shown = [
            self.vehicle.response(state, obs.consumer_check(consumer), acting)[1].reading
            for acting in (True, False)
        ]
        share = float(abs(shown[0][0]) / max(abs(shown[1][0]), 1.0))
        return "dead" if share < 0.25 else "dim" if share < 0.85 else "normal"

    def _heat(self) -> str:
        return "yes" if self.job.fault.endswith("real_high") else "no"

    def _check(self, state: Talk, question: Question) -> str:
        assert state.advised is not None
        names = (state.advised.check, state.advised.state)
        check = find_check(state.consultation.circuit, names[0], state.gauge)
        try:
            own = find_check(self.circuit, names[0], self.job.gauge)
            shown = self.vehicle.show(own, names[1])
        except Exception:
            return UNKNOWN
        if check.reads in ("volts", "ohms") and shown.value is not None:
            unit = "V" if check.reads == "volts" else "ohm"
            return f"{shown.value:.4g} {unit}" if np.isfinite(shown.value) else "open"
        for index, choice in enumerate(question.choices):
            if shown.outcome in (choice.value, choice.written):
                return question.label(index)
        return shown.outcome


def repairs(state: Talk) -> tuple[str, frozenset[str]]:
    """The repair to be made at once, if there is one, and the parts that it makes new."""
    mend = state.consultation.mend
    return ("", frozenset()) if mend is None else (mend.name, mend.parts)


def opening(state: Talk, places: tuple[str, ...]) -> float:
    """Minutes to get at places that are not open yet."""
    known, opened = state.consultation.circuit.sheet.places, state.consultation.job.opened
    return sum(known[name].setup_minutes for name in places if name in known and name not in opened)


def found(state: Talk, hand: Hand) -> bool:
    """Whether the fault's part is more likely than not."""
    part = hand.circuit.short_name(hand.vehicle.fault.part.id, hand.job.gauge)
    ranking = state.consultation.diagnosis.ranking
    return sum(one.probability for one in ranking if part in one.part.split("+")) > 0.5


def done(job: Job) -> tuple[int, float, int, float, bool]:
    """Prompts and minutes to the first advice, then to the fault; and whether it was found."""
    hand = Hand(job)
    state = begin(Path("case.toml"), [find(name) for name in available()])
    prompts, minutes, first = 0, 0.0, None
    tried: set[str] = set()
    while prompts < MOST_PROMPTS:
        # the shares alone are no ranking of what was told
        told = state.ranked and (state.case.entries or state.question.id.startswith("check:"))
        if told:
            if first is None and (state.advised is not None or state.consultation.mend is not None):
                first = prompts, minutes
            name, parts = repairs(state)
            own = hand.vehicle.fault.part.id
            if own in parts or found(state, hand):
                mending = repair_named(hand.circuit, hand.vehicle.fault.part.id, job.gauge)
                minutes += opening(state, mending.places)
                return (*(first or (prompts, minutes)), prompts, minutes, True)
            if name and name not in tried:
                tried.add(name)
                mend = state.consultation.mend
                minutes += 0.0 if mend is None else mend.minutes + opening(state, mend.places)
                for part in name.split("+"):
                    state, _ = step(state, f"r {part}")
                    state, _ = step(state, "no change")
                    prompts += 1
                    minutes += PROMPT_SECONDS / 60
                continue
        if state.question.id.startswith("check:"):
            assert state.advised is not None
            minutes += state.advised.minutes
        if state.question.id == "idle":
            break
        before = state
        state, _ = step(state, hand.answer(state))
        prompts += 1
        minutes += PROMPT_SECONDS / 60
        if state.at == before.at:  # not understood
            state, _ = step(state, UNKNOWN)
    return (*(first or (prompts, minutes)), prompts, minutes, False)


def main() -> None:
    """Print a line for each, and the means."""
    chosen = [int(number) - 1 for number in sys.argv[1:]] or range(len(JOBS))
    print(f"{'complaint':58}{'first advice':>16}{'fault':>18}")
    rows = []
    for number in chosen:
        job = JOBS[number]
        row = done(job)
        rows.append(row)
        name = f"{number + 1}. {job.said[0]}: {job.circuit}, {job.fault}"
        outcome = "" if row[4] else "  not found"
        print(f"{name:58}{row[0]:>6}, {row[1]:4.1f} min{row[2]:>8}, {row[3]:5.1f} min{outcome}", flush=True)
    mean = np.mean([row[:4] for row in rows], axis=0)
    print(f"{'mean':58}{mean[0]:>6.1f}, {mean[1]:4.1f} min{mean[2]:>8.1f}, {mean[3]:5.1f} min")


if __name__ == "__main__":
    main()
