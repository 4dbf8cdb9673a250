"""What the conversation shows: the ranking, a question with its answers, the proof of a repair."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from gaugesim.advice.check_advice import Advice, Outcome
from gaugesim.cli.advice_text import danger_lines, is_news, percent
from gaugesim.cli.output import WIDTH, wrapped
from gaugesim.cli.shown_cautions import Warned
from gaugesim.consultation import Consultation
from gaugesim.conversation import Question

# how many suspects are shown
SHOWN = 3
# a fault that an outcome makes less likely than this is not told beside it
WORTH_TELLING = 0.2


def ranking_lines(consultation: Consultation, warned: Warned) -> list[str]:
    """The likeliest faults, shortly."""
    diagnosis = consultation.diagnosis
    lines = [*danger_lines(consultation, warned), "Likeliest now:"]
    singles = [suspect for suspect in diagnosis.ranking if "+" not in suspect.fault][:SHOWN]
    for suspect in singles:
        text = f"{suspect.words}; {suspect.place_words}"
        lines += wrapped(text, " " * 9, f"  {percent(suspect.probability)}  ")
    if not singles or diagnosis.none_of_these >= singles[-1].probability:
        lines.append(f"  {percent(diagnosis.none_of_these)}  none of the faults that are known here")
    if len(diagnosis.circuits) > 1:
        movements: dict[str, float] = {}
        for entry, p in zip(diagnosis.posteriors, diagnosis.circuits.values(), strict=True):
            gauges = entry.cells.circuit.sheet.gauges
            movement = gauges.get(diagnosis.gauge, next(iter(gauges.values()))).topology
            movements[movement] = movements.get(movement, 0.0) + p
        likely = sorted(((name, p) for name, p in movements.items() if p >= 0.1), key=lambda pair: -pair[1])
        kinds = ", ".join(f"{name} {percent(p).strip()}" for name, p in likely[:SHOWN])
        kinds += f", and {len(likely) - SHOWN} more" if len(likely) > SHOWN else ""
        lines += wrapped(f"Movement: {kinds or 'any of ' + str(len(movements))}", "    ", "  ")
    return lines


def conflict_lines(consultation: Consultation) -> list[str]:
    """The entry that does not fit the others, if there is one."""
    lines = []
    for conflict in consultation.conflicts[:1]:
        lines += wrapped(
            f"Take this again first, it does not fit the other answers: {conflict.sentence}.", "    ", "  "
        )
    return lines


def question_lines(
    question: Question, advised: Advice | None = None, now: Mapping[str, float] | None = None
) -> list[str]:
    """A question with its numbered answers.

    Parameters
    ----------
    advised : Advice, optional
        The check that it is about: what each answer would mean is told too.
    now : mapping, optional
        From each fault to its probability before it.
    """
    lines = wrapped(question.text)
    outcomes = {outcome.outcome: outcome for outcome in advised.outcomes} if advised else {}
    plain = []
    for index, choice in enumerate(question.choices):
        label = question.label(index)
        if choice.value in outcomes:
            meaning = _meaning(outcomes[choice.value], now or {})
            lines += wrapped(f"{choice.words} {meaning}", "     ", f" {label:>2}  ")
        else:
            plain.append(f" {label:>2}  {choice.words}")
    lines += in_columns(plain)
    if question.commands and question.id.startswith(("check:", "idle", "gauge", "vehicle:")):
        lines += wrapped(
            "; ".join(f"{each.value[0]} {each.words}" for each in question.commands), "     ", "     "
        )
    return lines


def _meaning(outcome: Outcome, now: Mapping[str, float]) -> str:
    """How likely an outcome is and which fault would lead after it, or which two, where that is news."""
    singles = [suspect for suspect in outcome.leads_to if "+" not in suspect[0]][:2]
    likely = [suspect for suspect in singles if suspect[2] >= WORTH_TELLING]
    suspects = " or ".join(f"{words} ({percent(p).strip()})" for _, words, p in likely)
    meaning = f": {suspects}" if is_news(likely, now) else ""
    return f"({percent(outcome.probability).strip()}){meaning}"


def in_columns(entries: Sequence[str]) -> list[str]:
    """Short entries side by side, long ones below each other."""
    if not entries:
        return []
    width = max(len(entry) for entry in entries) + 2
    columns = max(1, min(4, WIDTH // width))
    if columns == 1:
        return [
            line
            for entry in entries
            for line in wrapped(entry.strip(), "     ", entry[: len(entry) - len(entry.lstrip())])
        ]
    rows = -(-len(entries) // columns)
    return ["".join(f"{entry:<{width}}" for entry in entries[row::rows]).rstrip() for row in range(rows)]
