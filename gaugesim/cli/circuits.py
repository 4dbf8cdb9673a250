"""``gaugesim circuits``: which circuits there are, and one of them as a card for the wall."""

from __future__ import annotations

import argparse
from collections.abc import Collection, Sequence
from itertools import product
from pathlib import Path
from typing import Any

from gaugesim import circuit as circuits
from gaugesim.circuit import Circuit
from gaugesim.cli.output import note, print_json, table, words_of, wrapped
from gaugesim.cli.parser import add_circuit, add_command, circuit_of, found_all
from gaugesim.cli.shown_cautions import Warned
from gaugesim.compose import Composed, compose, from_words, read_vehicle
from gaugesim.describe import SoundReading, chain, part_value, sound_readings
from gaugesim.errors import CaseError, unknown_name
from gaugesim.front.catalogue import circuit_data
from gaugesim.paths import shipped_netlists
from gaugesim.reading import Needle
from gaugesim.reading.words import JOINT_OHMS, quantity, quantity_range, reading_band, to_a_tenth
from gaugesim.scenario.caution import check_cautions, in_order
from gaugesim.sheet import Gauge
from gaugesim.shortcomings import review
from gaugesim.table import Table
from gaugesim.template import Copied, copy_circuit

_FOOT = (
    "Needles stand at 0 on the low mark and at 1 on the top mark. 90 of 100 sound circuits lie in these "
    "bands, 95 of 100 parts in theirs. They are computed from typical values: the maker's figures come first."
)


def add(commands: Any) -> None:
    """Add the command to what ``add_subparsers`` gave."""
    more = (
        "With a circuit: how it is wired, its parts, and what a sound one shows at each check in each state."
    )
    parser = add_command(commands, "circuits", run, "Which circuits are there?", more)
    add_circuit(parser, nargs="?")
    parser.add_argument("--state", metavar="S", help="readings in this state only")
    parser.add_argument(
        "--copy",
        metavar=("CIRCUIT", "NEWNAME"),
        nargs=2,
        help="begin a circuit of one's own as a copy of another",
    )
    parser.add_argument(
        "--compose",
        metavar="WORD",
        nargs="+",
        help="a circuit out of a few words: a gauge's name, KEY=VALUE, GAUGE.KEY=VALUE, such as "
        "fuel.ohms=240-33 volts=24; without a value of its own each is what the trade has",
    )
    parser.add_argument("--write", metavar="NEWNAME", help="of --compose: write the likeliest as files")
    parser.add_argument(
        "--to", metavar="FOLDER", type=Path, help="where the files go; default --netlists, or here"
    )


def run(arguments: argparse.Namespace) -> int:
    """Answer."""
    if arguments.copy is not None:
        return _copy(arguments)
    if arguments.compose is not None:
        return _compose(arguments)
    if arguments.write is not None:
        raise CaseError("--write needs --compose", "", "write gaugesim circuits --compose fuel --write mine")
    if arguments.circuit is None:
        if arguments.state is not None:
            raise CaseError("--state needs a circuit", "", "write gaugesim circuits CIRCUIT --state S")
        chosen = found_all(arguments.netlists)
    else:
        chosen = [circuit_of(arguments)]
        states = chosen[0].sheet.states
        if arguments.state is not None and arguments.state not in states:
            raise unknown_name("state", arguments.state, states, chosen[0].id)
    if arguments.json:
        own = [circuit for circuit in chosen if arguments.circuit is not None and _is_own(circuit)]
        findings = [vars(finding) for circuit in own for finding in review(circuit)]
        described = {"circuits": [circuit_data(circuit) for circuit in chosen]}
        print_json(described | ({"review": findings} if findings else {}))
    elif arguments.circuit is None:
        print("\n".join(_list(chosen)))
    else:
        lines = _reviewed(chosen[0]) if _is_own(chosen[0]) else []
        try:
            _card(chosen[0], arguments.state)
        finally:  # what is wrong with it may be why it cannot be described
            if lines:
                print("\n".join(lines))
    return 0


def _copy(arguments: argparse.Namespace) -> int:
    """Begin a circuit of one's own."""
    others = (arguments.circuit, arguments.state, arguments.compose, arguments.write)
    if any(other is not None for other in others):
        raise CaseError(
            "--copy stands alone", "", "write gaugesim circuits --copy CIRCUIT NEWNAME [--to FOLDER]"
        )
    original, name = arguments.copy
    if original.endswith(".toml"):
        return _written(arguments, circuits.of_vehicle(Path(original)), name)
    folder = arguments.to or arguments.netlists or Path()
    return _told(arguments, copy_circuit(circuits.find(original, arguments.netlists), name, folder), folder)


def _compose(arguments: argparse.Namespace) -> int:
    """Circuits out of a few words, with their shares; the likeliest as a card, or as files."""
    if arguments.circuit is not None:
        raise CaseError("--compose stands alone", "", f"leave {arguments.circuit} out, or --compose")
    said = Table(from_words(arguments.compose), "--compose", CaseError)
    composed = compose(read_vehicle(said))
    if arguments.write is not None:
        return _written(arguments, composed, arguments.write)
    chosen = [circuits.of_composed(each) for each in composed]
    states = chosen[0].sheet.states
    if arguments.state is not None and arguments.state not in states:
        raise unknown_name("state", arguments.state, states, chosen[0].id)
    if arguments.json:
        rows = [circuit_data(each) | {"share": each.sheet.share} for each in chosen]
        print_json({"circuits": rows})
        return 0
    if len(chosen) > 1:
        print("WHICH IT MAY BE, AND HOW COMMON THAT IS")
        print("\n".join(table([(f"{100 * each.share:3.0f} %", each.words, each.id) for each in composed])))
        print("\nThe likeliest:\n")
    _card(chosen[0], arguments.state)
    return 0


def _written(arguments: argparse.Namespace, composed: Sequence[Composed], name: str) -> int:
    """The likeliest of composed circuits as files."""
    folder = arguments.to or arguments.netlists or Path()
    first = composed[0]
    copied = copy_circuit(circuits.of_composed(first), name, folder, first.netlist, first.sheet)
    if len(composed) > 1:
        note(
            f"the likeliest of {len(composed)}, {100 * first.share:.0f} %: {first.words}; say more, "
            "such as the movement, for another"
        )
    return _told(arguments, copied, folder)


def _told(arguments: argparse.Namespace, copied: Copied, folder: Path) -> int:
    files = [str(path) for path in (copied.netlist, copied.sheet, *copied.included)]
    if arguments.json:
        print_json({"files": files})
    else:
        print("\n".join(files))
        note(f"gaugesim --netlists {folder} circuits {copied.netlist.stem} describes and checks it")
    return 0


def _is_own(circuit: Circuit) -> bool:
    return circuit.netlist.path.resolve().parent != shipped_netlists().resolve()


def _reviewed(circuit: Circuit) -> list[str]:
    lines = ["", "WORTH A SECOND LOOK"]
    for finding in review(circuit):
        lines += wrapped(finding.words, "    ", "  - ")
    return lines if len(lines) > 2 else [*lines, "  nothing: wiring, sheet and scale go together"]


def _list(chosen: Sequence[Circuit]) -> list[str]:
    lines = []
    for circuit in chosen:
        lines += [circuit.id, *wrapped(circuit.sheet.words, "    ")]
        gauges = ", ".join(f"{gauge.called} ({gauge.topology})" for gauge in circuit.sheet.gauges.values())
        lines += wrapped(gauges, "    ")
    return [*lines, "", "gaugesim circuits CIRCUIT describes one."]


def _card(circuit: Circuit, state: str | None) -> None:
    sheet, warned = circuit.sheet, Warned()
    head = [circuit.id, *wrapped(sheet.words), *_scope(circuit), *_wiring(circuit)]
    print("\n".join([*head, *_states(circuit, warned)]))
    note("working out what a sound circuit shows at each check")
    states = [state] if state else list(sheet.states)
    watched, *readings = list(sound_readings(circuit, states))
    lines = ["", "THE NEEDLES OF A SOUND CIRCUIT; a state named after a semicolon differs from the others"]
    for name in sheet.gauges:
        lines += _line([words_of(name)], _texts(circuit, watched, [name]))
    print("\n".join(lines))
    for place in sorted(sheet.places.values(), key=lambda place: place.setup_minutes):
        minutes = f", {place.setup_minutes:g} min to get there" if place.setup_minutes else ""
        lines = ["", f"{place.words.upper()}{minutes}"]
        there = [entry for entry in readings if entry.place == place.id]
        lines += warned.lines(circuit, (each.words for each in in_order(circuit, place.cautions)), "")
        lines += _parts(circuit, place.id)
        lines += _beware(circuit, there, states, warned)
        lines += _readings(circuit, watched, there)
        if len(lines) > 2:
            print("\n".join(lines))
    print("\n".join(["", *wrapped(_FOOT)]))


def _scope(circuit: Circuit) -> list[str]:
    """What has to be known before the first check."""
    lines = ["", "BEFORE THE FIRST CHECK"]
    for scope in circuit.sheet.own_scope:
        lines += wrapped(f"{scope.words} {scope.asks}".rstrip(), "    ", "  ! ")
    return lines if len(lines) > 2 else []


def _wiring(circuit: Circuit) -> list[str]:
    lines = ["", "HOW IT IS WIRED"]
    for gauge in circuit.sheet.gauges.values():
        marks = ", ".join(
            mark.label or f"{mark.at:g}" for mark in sorted(gauge.marks, key=lambda mark: mark.position)
        )
        lines.append(f"  {gauge.words}: {gauge.topology}, marks {marks}")
        for strand in chain(circuit, gauge):
            way = [strand.terminal, *strand.parts, strand.end]
            if strand.end == circuit.sheet.live_pole.replace("_", " "):
                way.reverse()
            lines += wrapped(" > ".join(way), "      ", "    ")
    return lines


def _states(circuit: Circuit, warned: Warned) -> list[str]:
    rows = [
        (
            state.id,
            state.words + (" (unless another is named)" if state.id == circuit.sheet.default_state else ""),
        )
        for state in circuit.sheet.states.values()
    ]
    cautions = [name for state in circuit.sheet.states.values() for name in state.cautions]
    return ["", "STATES", *table(rows), *warned.new(caution.words for caution in in_order(circuit, cautions))]


def _parts(circuit: Circuit, place: str) -> list[str]:
    rows = []
    for part in circuit.sheet.parts.values():
        value = part_value(circuit, part)
        if part.place == place:
            figure = ""
            if value and value.high < JOINT_OHMS:
                figure = f"at most {value.high:.2g} ohm"
            elif value:
                ends = f" ({quantity_range(value.low, value.high, 'ohm')})"
                figure = quantity(value.ohms, "ohm") + (ends if part.tolerance else "")
            rows.append((part.words, figure, part.id))
    return ["  parts", *table(rows, "    ")] if rows else []


def _readings(circuit: Circuit, watched: SoundReading, readings: Sequence[SoundReading]) -> list[str]:
    """Checks with what they show; those that show the same stand together."""
    groups: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for entry in readings:
        texts = _texts(circuit, entry, _moved(circuit, watched, entry))
        groups.setdefault(texts, []).append(entry.check.id)
    lines = [line for texts, checks in groups.items() for line in _line(checks, texts)]
    return ["  a sound circuit shows", *lines] if lines else []


def _beware(
    circuit: Circuit, readings: Sequence[SoundReading], states: Sequence[str], warned: Warned
) -> list[str]:
    """Cautions of the checks at a place, beside the place's own and the states', under whose they are."""
    said = {name for entry in readings for name in circuit.sheet.places[entry.place].cautions}
    said |= {name for state in states for name in circuit.sheet.states[state].cautions}
    carried: dict[str, dict[str, None]] = {}
    for entry, state in product(readings, states):
        for caution in check_cautions(circuit, entry.check, state):
            if caution.id not in said:
                carried.setdefault(caution.id, {})[entry.check.id] = None
    together: dict[str, list[str]] = {}
    for caution in in_order(circuit, carried):
        together.setdefault(_kinds(carried[caution.id], readings), []).append(caution.words)
    lines = ["  careful with"] if together else []
    for names, words in together.items():
        lines += [*wrapped(f"{names}:", "        ", "    "), *warned.lines(circuit, words, "      ")]
    return lines


def _kinds(checks: Collection[str], readings: Sequence[SoundReading]) -> str:
    """Checks by their ids, or by their kind where all of it at a place are meant."""
    every: dict[str, set[str]] = {}
    for entry in readings:
        every.setdefault(entry.check.kind.id, set()).add(entry.check.id)
    meant = {*checks}
    named = ([kind] if ids <= meant else sorted(ids & meant) for kind, ids in every.items())
    return ", ".join(name for names in named for name in names)


def _moved(circuit: Circuit, watched: SoundReading, entry: SoundReading) -> list[str]:
    """Gauges of interest at a check: its own, or those whose needles it moves."""
    check, gauges = entry.check, circuit.sheet.gauges
    if check.reads != "needle" and not check.kind.needle_too:
        return []
    if check.kind.takes_gauge:
        return [check.gauge]
    moved = []
    for name, gauge in gauges.items():
        pairs = ((entry.seen[state].needles[name], watched.seen[state].needles[name]) for state in entry.seen)
        if any(_needle(gauge, now) != _needle(gauge, before) for now, before in pairs):
            moved.append(name)
    return moved


def _texts(circuit: Circuit, entry: SoundReading, gauges: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """What is read at a check in each state, in a few words."""
    front = len(circuit.sheet.gauges) > 1 and entry.check.id
    result = []
    for state, seen in entry.seen.items():
        parts = [reading_band(seen.reading)] if seen.reading else []
        for name in gauges:
            text = _needle(circuit.sheet.gauges[name], seen.needles[name])
            parts.append(f"{words_of(name)} {text}" if front else text)
        result.append((state, ", ".join(parts) or "no needle moves"))
    return tuple(result)


def _line(names: Sequence[str], texts: tuple[tuple[str, str], ...]) -> list[str]:
    """Names with what the most states have in common first, then the states that differ."""
    by_text: dict[str, list[str]] = {}
    for state, text in texts:
        by_text.setdefault(text, []).append(state)
    usual = max(by_text, key=lambda text: len(by_text[text]))
    if len(by_text[usual]) == 1 and len(by_text) > 1:
        shown = [f"{state}: {text}" for state, text in texts]
    else:
        shown = [usual, *(f"{', '.join(among)}: {text}" for text, among in by_text.items() if text != usual)]
    return wrapped(f"{', '.join(names)}: {'; '.join(shown)}", "        ", "    ")


def _needle(gauge: Gauge, needle: Needle) -> str:
    if needle.position is None or needle.low is None or needle.high is None:
        return "undriven"
    low, high = gauge.stops
    if needle.position in (low, high):
        return "low stop" if needle.position == low else "high stop"
    return to_a_tenth(needle.low, needle.high)
