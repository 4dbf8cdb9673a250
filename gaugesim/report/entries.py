"""An answer as lines of a case file, and what a sound circuit would have answered."""

from __future__ import annotations

import json

from gaugesim.advice.answer_entries import entry_of
from gaugesim.advice.check_advice import needle_gauge
from gaugesim.advice.jobs import Job, Option
from gaugesim.reading import Appearance
from gaugesim.reading.words import reading_band
from gaugesim.vocabulary import outcome_words


def open_ended(text: str) -> str:
    r"""A case file that takes further entries at its end.

    The same unless what was seen, measured or inspected stands in a list, ``measured = [{...}]``, which takes
    no ``[[measured]]`` after it; then these are written out one by one.

    Examples
    --------
    >>> print(open_ended('circuit = "a"\ninspected = [{part = "fuse", found = "sound"}]'))
    circuit = "a"
    <BLANKLINE>
    [[inspected]]
    part = "fuse"
    found = "sound"
    <BLANKLINE>
    """
    import tomlkit
    from tomlkit.items import Array

    document = tomlkit.parse(text)
    listed = {
        name: document[name]
        for name in ("seen", "measured", "inspected")
        if isinstance(document.get(name), Array)
    }
    if not listed:
        return text
    for name in listed:
        document.remove(name)
    entries = [
        f"[[{name}]]\n{tomlkit.dumps(dict(entry))}"
        for name, rows in listed.items()
        for entry in rows.unwrap()
    ]
    return "\n".join([tomlkit.dumps(document).rstrip() + "\n", *entries])


def sound_words(work: Job, option: Option, seen: Appearance | None) -> str:
    """What a check shows when all is sound.

    Parameters
    ----------
    seen : Appearance or None
        The sound circuit under that check; None where it is looked at only.
    """
    reads = option.check.reads
    if seen is None:
        return outcome_words("look", "sound")
    if option.check.kind.is_look and reads != "needle":
        return outcome_words(reads, work.suspects[0].sound_look(option.check, option.state))
    if option.check.kind.by_hand:
        return outcome_words("jump", "steady")
    if seen.reading is None:
        return outcome_words("needle", seen.needles[needle_gauge(work, option)].word)
    return reading_band(seen.reading)


def entry(work: Job, option: Option, outcome: str) -> str:
    """An outcome as it stands in a case file. Lines of TOML.

    Parameters
    ----------
    outcome : str
        One of its classes.
    """
    table, fields = entry_of(work.circuit, option.check, option.state, outcome)
    lines = (f"{key} = {_toml(value)}\n" for key, value in fields.items())
    return "".join([f"[[{table}]]\n", *lines])


def _toml(value: object) -> str:
    return f"{value:.4g}" if isinstance(value, float) else json.dumps(value)


def measured(work: Job, option: Option) -> str:
    """The lines of a measurement before what was read."""
    check = option.check
    lines = ["[[measured]]", f'check = "{check.id}"', f'state = "{option.state}"']
    if check.reads == "needle" and len(work.circuit.sheet.gauges) > 1:
        lines.append(f'gauge = "{needle_gauge(work, option)}"')
    return "".join(f"{line}\n" for line in lines)
