"""System volts and earth: what shared sheets say for 12 V and negative earth, as another vehicle has it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from copy import deepcopy
from functools import lru_cache
from typing import Any

from gaugesim.compose.earth import other_pole
from gaugesim.paths import shipped_netlists

Tables = dict[str, dict[str, Any]]
# what the shared sheets are written for [V]
SHARED_VOLTS = 12.0
# parameters in volts, and those of consumers that keep their power, so that their ohms go as the square
_IN_VOLTS = ("battery_volts", "charging_volts")
_IN_SQUARE = ("panel_lamps", "loads")
# an x that sets volts has numbers of volts; one that multiplies them stays below this
_LEAST_VOLTS = 4.0
_OPEN = 1e6
# where a meter is led to the earthed pole: to read what is above zero its leads change places
_METER = re.compile(r"(voltmeter from .+? to battery positive)")


@lru_cache(maxsize=32)
def _read(name: str) -> dict[str, Any]:
    return tomllib.loads((shipped_netlists() / name).read_text(encoding="utf-8"))


def piece(name: str) -> dict[str, Any]:
    """A shared sheet as it stands. The caller's own.

    Parameters
    ----------
    name : str
        Its path below ``netlists``.
    """
    return deepcopy(_read(name))


def included(names: tuple[str, ...]) -> Tables:
    """Tables of several shared sheets, a later entry in place of an earlier one.

    From table to entry to its content.
    """
    tables: Tables = {}
    for name in names:
        for table, entries in piece(name).items():
            if isinstance(entries, dict) and table != "regulator":
                tables.setdefault(table, {}).update(entries)
    return tables


def adapted(tables: Tables, volts: float, earth: str) -> Tables:
    """Tables as a vehicle of these volts and this earth has them.

    Parameters
    ----------
    volts : float
        Of the system [V].
    earth : str
        ``negative`` or ``positive``.
    """
    result = deepcopy(tables)
    share = volts / SHARED_VOLTS
    if share != 1.0:
        _scale(result, share, volts)
    if earth == "positive":
        result = other_pole(result)
        for consumer in result["consumers"].values():  # its looks are volts from the first to the second
            consumer["node_a"], consumer["node_b"] = consumer["node_b"], consumer["node_a"]
        for rule in result["checks"].values():
            rule["words"] = _METER.sub(r"\1, its red lead there", rule["words"])
    return result


def _scale(tables: Tables, share: float, volts: float) -> None:
    for state in tables.get("states", {}).values():
        for name, value in state["set"].items():
            if name in _IN_VOLTS:
                state["set"][name] = _tidy(value * share)
            elif name in _IN_SQUARE and value < _OPEN:
                state["set"][name] = _tidy(value * share**2)
    for consumer in tables.get("consumers", {}).values():
        consumer["rated_volts"] = _tidy(consumer["rated_volts"] * share)
    battery = tables["process"]["battery_volts"]
    battery |= {key: _tidy(battery[key] * share) for key in ("low", "high")}
    battery["source"] = f"assumed: what ISO 16750-2 has for 12 V, at {volts:g} V"
    values = tables["values"]
    values["charging_volts"]["source"] = f"assumed: 14.2 V of a 12 V system, at {volts:g} V"
    lamps, loads = _tidy(8 * share**2), _tidy(share**2)
    values["panel_lamps"]["words"] = f"panel lamps' filaments: {lamps:g} ohm lit, a tenth of it cold"
    values["panel_lamps"]["source"] = (
        "assumed: 18 W in all; a filament's resistance rises about tenfold when lit"
    )
    values["loads"]["words"] = f"other loads: {loads:g} ohm with everything on, 1e9 off"
    for kind in tables["kinds"].values():
        for mode in kind.get("modes", {}).values():
            if mode.get("x", [0, 0])[0] > _LEAST_VOLTS and any(
                name in mode.get("set", {}) for name in _IN_VOLTS
            ):
                mode["x"] = [_tidy(end * share) for end in mode["x"]]
                mode["typical"] = _tidy(mode["typical"] * share)


def _tidy(value: float) -> float:
    return float(f"{value:.6g}")


def differing(new: Tables, old: Tables) -> Tables:
    """Entries that are new or say something else: what a sheet has to write beside what it includes."""
    missing: Mapping[str, Any] = {}
    changed = {
        table: {name: entry for name, entry in entries.items() if old.get(table, missing).get(name) != entry}
        for table, entries in new.items()
    }
    return {table: entries for table, entries in changed.items() if entries}
