"""How a check, a repair and its proof are told, to programs and to people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from gaugesim.advice.ambiguity_groups import AmbiguityGroup
from gaugesim.advice.check_advice import Advice
from gaugesim.circuit import Circuit
from gaugesim.cli.output import paragraph, wrapped
from gaugesim.cli.shown_cautions import Warned
from gaugesim.consultation import Consultation
from gaugesim.diagnosis.result import SPEAKS
from gaugesim.reading.words import joined_names
from gaugesim.vocabulary import shared_beginning

# outcomes that are shown however unlikely they are; of the others those of that probability [1]
_ALWAYS, _RARE = 4, 0.02
# words of "the needle is"
_SUBJECT_AND_VERB = 3
# a fault that an outcome makes less likely than this is not told, nor one beside the likeliest
_FIRST, _BESIDE = 0.1, 0.2


def danger_lines(consultation: Consultation, warned: Warned) -> list[str]:
    """What has to be done before anything else."""
    lines = []
    for danger in consultation.first:
        full = warned.new([danger.words], "")
        lines += full or wrapped(f"First: {danger.short}.", "  ", "! ")
    return lines + warned.new(consultation.told_first, "")


def conflict_lines(consultation: Consultation) -> list[str]:
    """Entries that do not fit together. Empty if all fit, or there is one alone."""
    conflicts = consultation.conflicts
    lines = ["", "Take this again first: it does not fit the other entries"] if conflicts else []
    for conflict in conflicts[:2]:
        likely = f"{percent(conflict.probability).strip()} likely beside the others"
        then = f"; without it {conflict.leader_words} would lead" if conflict.changes_leader else ""
        lines += wrapped(f"{conflict.sentence} ({conflict.where}): {likely}{then}", "    ", "  - ")
    return lines


def next_lines(consultation: Consultation, warned: Warned) -> list[str]:
    """What to do next: a repair at once, a check, or the proof if the job is done."""
    if consultation.cured:
        left = "What is left is to prove it." if consultation.proof_left else "It is proven, the job is done."
        mended = paragraph(f"Mended: {consultation.cured_words}. {left}")
        return [*mended, *proof_lines(consultation, warned)]
    scope = warned.new(consultation.scope, "")
    lines = [*scope, *(mend_lines(consultation, warned) if consultation.mend else [])]
    if consultation.next_check is None:
        left = f"No check would tell more. {consultation.likeliest_repair.sentence}."
        beware = warned.lines(consultation.circuit, consultation.cautions_of(consultation.likeliest_repair))
        return lines if consultation.mend else [*scope, *paragraph(left), *beware]
    lines += ["", "If you would rather check first:"] if consultation.mend else []
    ranking = {suspect.fault: suspect.probability for suspect in consultation.diagnosis.ranking}
    return lines + advice_lines(consultation.next_check, consultation.circuit, warned, ranking)


def refused_lines(consultation: Consultation) -> list[str]:
    """Steps that are not proposed now, those of a kind together."""
    now = consultation.next_check.check if consultation.next_check else ""
    kinds: dict[str, list[str]] = {}
    most = 0.0
    states = consultation.circuit.sheet.states
    elsewhere = {option.check.id for option in consultation.job.options if consultation.refused}
    for entry in consultation.refused:
        if entry.state and (entry.name == now or not consultation.may_be_had(entry.state)):
            continue  # it is refused in another state, or there is no such state now
        if "+" not in entry.name:
            # what may be made in another state is refused in this one alone
            there = f" ({states[entry.state].words})" if entry.state and entry.name in elsewhere else ""
            kinds.setdefault(entry.name.partition(":")[0] + there, []).append(entry.short + there)
            most = max(most, entry.probability)
    if not kinds:
        return []
    named = "; ".join(map(joined_names, kinds.values()))
    return paragraph(f"Not now, as something may burn ({percent(most).strip()} likely at most): {named}.")


def is_news(leads_to: Sequence[tuple[str, str, float]], before: Mapping[str, float]) -> bool:
    """Whether an outcome makes one of the faults that it leads to clearly likelier than it is.

    Parameters
    ----------
    leads_to : sequence of (str, str, float)
        Faults, in words, and their probability then.
    before : mapping
        From each fault to its probability now.
    """
    now = [before.get(fault, 0.0) for fault, _, _ in leads_to]
    return any(p * (1 - q) >= SPEAKS * q * (1 - p) for (_, _, p), q in zip(leads_to, now, strict=True))


def advice_lines(advised: Advice, circuit: Circuit, warned: Warned, before: Mapping[str, float]) -> list[str]:
    """A check for a person: what to do, what to watch out for, what each outcome would mean.

    Parameters
    ----------
    before : mapping
        From each fault to its probability now.
    """
    lines = check_lines(advised, circuit, warned)
    rare = [outcome for outcome in advised.outcomes[_ALWAYS:] if outcome.probability < _RARE]
    alike: dict[str, list[str]] = {}  # what follows alike is said once
    for outcome in advised.outcomes:
        if outcome in rare:
            continue
        likely = [
            suspect
            for k, suspect in enumerate(outcome.leads_to[:2])
            if suspect[2] >= (_BESIDE if k else _FIRST)
        ]
        faults = "; or ".join(f"{words} ({percent(p).strip()})" for _, words, p in likely)
        little = "little changes" if likely else "nothing stands out yet"
        leads = f"then {faults if is_news(likely, before) else little}"
        alike.setdefault(leads, []).append(f"{outcome.clause} ({percent(outcome.probability).strip()})")
    for leads, seen in alike.items():
        lines += wrapped(f"{either(seen)}: {leads}", "      ", "  - if ")
    if rare:
        rest = percent(sum(outcome.probability for outcome in rare)).strip()
        lines += wrapped(f"anything else ({rest}): make sure of it, then enter it", "      ", "  - if ")
    return lines


def check_lines(advised: Advice, circuit: Circuit, warned: Warned) -> list[str]:
    """What to do for a check, what it takes and what to watch out for."""
    took = minutes_words(advised.minutes)
    took = took[:1].upper() + took[1:]
    opening = f", getting there included ({' and '.join(advised.opens)})" if advised.opens else ""
    lines = paragraph(f"Next check: {advised.words} ({advised.state_words}). {took}{opening}.")
    lines += wrapped(advised.in_order, "  ") if advised.in_order else []
    return lines + warned.lines(circuit, advised.cautions)


def minutes_words(minutes: float) -> str:
    """Minutes as a person says them.

    Examples
    --------
    >>> minutes_words(0.25), minutes_words(0.5), minutes_words(1), minutes_words(4.5)
    ('15 seconds', 'half a minute', '1 minute', '4.5 minutes')
    """
    if 0 < minutes < 0.5:
        return f"{60 * minutes:.0f} seconds"
    if minutes == 0.5:
        return "half a minute"
    return f"{minutes:g} minute{'' if minutes == 1 else 's'}"


def mend_lines(consultation: Consultation, warned: Warned) -> list[str]:
    """The repair that is quicker than any check, with what to watch out for."""
    assert consultation.mend is not None
    lines = paragraph(f"Quickest is to mend this at once: {consultation.mend.words}.")
    opens = consultation.mend_opens
    lines += wrapped(f"Counted in: getting {' and '.join(opens)}.", "  ") if opens else []
    return lines + warned.lines(consultation.circuit, consultation.cautions_of(consultation.mend))


def proof_lines(consultation: Consultation, warned: Warned) -> list[str]:
    """What proves a repair, for a person."""
    shown = consultation.proof
    called = consultation.circuit.sheet.gauges[consultation.gauge].called
    left = consultation.proof_left
    lines = [f"Proof of the repair: the {called} needle must be"] if left else []
    for need in left:
        band = "" if need.low != need.low else f" ({need.low:.2f} to {need.high:.2f})"
        lines += wrapped(f"{need.state_words}: {need.word}{band}", "      ", "  - ")
    lines += warned.lines(consultation.circuit, consultation.proof_cautions)
    passes = percent(shown.still_passes).strip()
    if left:
        lines += wrapped(f"A wrong repair would pass all of that in {passes} of cases.", "  ")
    if shown.watch_words:
        lines += wrapped(shown.watch_words, "  ")
    return lines


def either(clauses: Sequence[str]) -> str:
    """Clauses of which one holds, with what they begin with said once.

    Examples
    --------
    >>> either(["the needle is at half (30 %)", "the needle rises (20 %)", "the needle jumps (5 %)"])
    'the needle is at half (30 %), rises (20 %) or jumps (5 %)'
    """
    split = [clause.split() for clause in clauses]
    front = min(shared_beginning(split), _SUBJECT_AND_VERB) if split[1:] else 0
    first, *others = [" ".join(words[front * bool(k) :]) for k, words in enumerate(split)]
    return " or ".join([", ".join([first, *others[:-1]]), *others[-1:]])


def or_else(words: Sequence[str], most: int) -> str:
    """Several things of which one is meant.

    Examples
    --------
    >>> or_else(["fuse is blown", "battery is flat", "switch is open"], 1)
    'fuse is blown; or one of 2 more'
    """
    # the last one takes no more room than its count would
    named = words if len(words) <= most + 1 else words[:most]
    more = len(words) - len(named)
    return "; or ".join(named) + (f"; or one of {more} more" if more else "")


def group_lines(groups: Sequence[AmbiguityGroup], circuit: Circuit, warned: Warned) -> list[str]:
    """Faults that no check from outside tells apart, for a person."""
    lines = ["", "Never told apart from outside"]
    for group in groups:
        by = group.separated_by
        means = group.other_means
        right = f" Whether the gauge is right {means} tells." if means else ""
        if by:
            them = "some of them" if group.words[2:] else "them"
            then = f"What tells {them} apart, in {by.minutes:.0f} minutes: {by.words}."
        elif len({fault.partition("=")[0] for fault in group.faults}) == 1:
            then = "Nothing tells them apart; it is the same part in either case."
        else:
            then = "" if right else "Nothing tells them apart."
        lines += wrapped(f"{or_else(group.words, 4)}. {then}{right}".replace("  ", " "), "    ", "  - ")
        if by:
            lines += warned.lines(circuit, by.cautions, "    ")
    return lines


def percent(p: float) -> str:
    """A probability in five columns.

    Examples
    --------
    >>> percent(0.123), percent(0.004), percent(0.9999)
    (' 12 %', ' <1 %', '>99 %')
    """
    if 0 < p < 0.005:
        return " <1 %"
    if 0.995 <= p < 1:
        return ">99 %"
    return f"{100 * p:3.0f} %"
