"""What a person says of a vehicle's gauges: a few words, all of which may be left out."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from gaugesim.compose.kinds import Kinds, load_kinds
from gaugesim.errors import UnsolvableError
from gaugesim.table import Table

VOLTS = (6.0, 12.0, 24.0)
EARTHS = ("negative", "positive")
WIRINGS = ("vehicle", "boat")
REGULATORS = (0.0, 5.0, 7.0, 10.0)
REGULATOR_KINDS = ("points", "electronic")
SHARED = ("feed", "ground")
QUANTITIES = ("temperature", "fuel", "oil_pressure", "voltmeter")
SENDER_GROUNDS = ("thread", "wire")
ENDS = ("top", "bottom")
# what a sender can have: below, a wiper's own contact; above, no gauge's coil could tell it from an open lead
LEAST_OHMS, MOST_OHMS = 0.1, 5000.0
# the ends of a scale differ by this factor at least, or no needle moves between them
LEAST_RATIO = 1.3
_DASH = re.compile(r"\s*(?:-|\u2013|\bto\b|,)\s*")


@dataclass(frozen=True)
class Said:
    """What is said of one gauge; None where nothing is.

    Attributes
    ----------
    quantity : str
        ``temperature``, ``fuel``, ``oil_pressure`` or ``voltmeter``.
    ohms : tuple of float or None
        The sender's at the low mark, perhaps between, and at the top mark: two, three or five [ohm].
    scale : (float, float) or None
        True values at the low and the top mark, in the unit of the quantity.
    normal : float or None
        True value when the engine is warm and all is well.
    sender_ground : str or None
        ``thread`` or ``wire``.
    regulator : float or None
        What the regulator in front of this gauge holds, 0 for none [V].
    """

    quantity: str
    movement: str | None = None
    ohms: tuple[float, ...] | None = None
    scale: tuple[float, float] | None = None
    normal: float | None = None
    studs: int | None = None
    sender_ground: str | None = None
    regulator: float | None = None
    low_ohms: str | None = None


@dataclass(frozen=True)
class Vehicle:
    """What is said of a vehicle.

    Attributes
    ----------
    where : str
        File and key, for errors.
    volts : float
        Of the system [V].
    earth : str
        Which pole of the battery is on the body: ``negative`` or ``positive``.
    wiring : str
        ``vehicle`` (printed foil and a panel connector) or ``boat`` (wires and an engine harness plug); empty
        where nothing is said: laid out as a vehicle, with what is to be known of either.
    regulator : float or None
        What the instrument regulator holds, 0 for none [V]; None if nothing is said.
    regulator_kind : str
        ``points``, which pulse, or ``electronic``, which is steady.
    shares : tuple of str
        What the gauges have in common: ``feed``, ``ground``.
    stations : int
        1, or 2 for a second temperature gauge on the same sender.
    """

    where: str
    volts: float
    earth: str
    wiring: str
    regulator: float | None
    regulator_kind: str
    shares: tuple[str, ...]
    stations: int
    gauges: tuple[Said, ...]


def read_vehicle(table: Table, gauge: str | None = None) -> Vehicle:
    """Read the table ``[vehicle]``.

    Parameters
    ----------
    gauge : str, optional
        The gauge complained of, which need not be described again.

    Raises
    ------
    GaugesimError
        Of the table's type, by key: what is wrong and what would be right.
    UnsolvableError
        If the gauge is driven by more than its sender: what can still be checked.

    Examples
    --------
    >>> from gaugesim.errors import CaseError
    >>> said = {"volts": 24, "fuel": {"ohms": "240-33"}}
    >>> read_vehicle(Table(said, "lorry.toml: vehicle", CaseError)).gauges[0].ohms
    (240.0, 33.0)
    """
    kinds = load_kinds()
    table.allow(
        {
            *("volts", "earth", "wiring", "regulator", "regulator_kind", "shares", "stations", "driven_by"),
            *("gauges", *QUANTITIES),
        }
    )
    driven_by = table.choice("driven_by", kinds.driven_by, "sender")
    if error := declined(driven_by, table.place("driven_by")):
        raise error
    named = table.texts("gauges", (), QUANTITIES)
    asked = (gauge,) if gauge in QUANTITIES else ("temperature",) if gauge == "temperature_second" else ()
    chosen = [
        name
        for name in QUANTITIES
        if table.has(name) or name in named or name in asked  # in their order
    ]
    if not chosen:
        raise table.fail("gauges", "is missing", f"name one or more of {', '.join(QUANTITIES)}")
    volts = _volts(table)
    stations = table.number("stations", 2.0 if gauge == "temperature_second" else 1.0)
    if stations not in (1, 2) or (stations == 2 and chosen != ["temperature"]):
        remedy = "one station, or two for a temperature gauge alone; describe other gauges without stations"
        raise table.fail("stations", f"is {stations:g} with {' and '.join(chosen)}", remedy)
    vehicle = Vehicle(
        where=table.where,
        volts=volts,
        earth=table.choice("earth", EARTHS, "negative"),
        wiring=table.choice("wiring", WIRINGS, "boat" if stations == 2 else ""),
        regulator=_regulator(table, volts),
        regulator_kind=table.choice("regulator_kind", REGULATOR_KINDS, "points"),
        shares=table.texts("shares", SHARED, (*SHARED, "regulator")),
        stations=int(stations),
        gauges=tuple(_said(name, table.table(name, {}), kinds, volts) for name in chosen),
    )
    if stations == 2 and vehicle.wiring != "boat":
        raise table.fail("stations", "is 2 without a boat", 'say wiring = "boat", or leave stations out')
    return vehicle


def from_words(words: list[str]) -> dict[str, Any]:
    """The table ``[vehicle]`` from words of a command line.

    Parameters
    ----------
    words : list of str
        A gauge's name alone, ``KEY=VALUE``, or ``GAUGE.KEY=VALUE``.

    Examples
    --------
    >>> from_words(["fuel", "volts=24", "temperature.movement=three_coil"])
    {'fuel': {}, 'volts': 24.0, 'temperature': {'movement': 'three_coil'}}
    """
    data: dict[str, Any] = {}
    for word in words:
        key, sign, value = word.partition("=")
        gauge, dot, inner = key.strip().partition(".")
        if not sign and not dot:
            data.setdefault(gauge, {})
        elif dot and isinstance(data.setdefault(gauge, {}), dict):
            data[gauge][inner] = _plain(inner, value.strip())
        else:
            data[gauge] = _plain(gauge, value.strip())
    return data


def _plain(key: str, text: str) -> Any:
    if key in ("gauges", "shares"):
        return [entry.strip() for entry in text.split(",") if entry.strip()]
    try:
        return float(text)
    except ValueError:
        return text


def declined(driven_by: str, where: str = "") -> UnsolvableError | None:
    """Why a gauge is not worked out here, and what can still be checked.

    None where the needle follows the sender's current, or may.

    Parameters
    ----------
    driven_by : str
        A key of ``driven_by`` in ``kinds/gauges.toml``, or empty where that is not known.
    where : str, optional
        File and key.

    Examples
    --------
    >>> print(declined("stepper").problem)
    a gauge driven by a stepper motor does not follow its sender's current and is not solved here
    """
    entry = load_kinds().driven_by.get(driven_by)
    if entry is None or not entry.still:
        return None
    return UnsolvableError(
        f"a gauge driven by {entry.words} does not follow its sender's current and is not solved here",
        where,
        f"what can still be checked: {entry.still}",
    )


def _volts(table: Table) -> float:
    volts = table.number("volts", 12.0)
    if volts not in VOLTS:
        fits = min(VOLTS, key=lambda nominal: abs(volts / nominal - 1.1))
        raise table.fail(
            "volts", f"is {volts:g}", f"give the system's name, 6, 12 or 24 ({fits:g} comes nearest)"
        )
    return volts


def _regulator(table: Table, volts: float) -> float | None:
    wanted = "none, 5, 7 or 10"

    def convert(value: Any) -> float:
        if value == "none":
            return 0.0
        if isinstance(value, bool) or float(value) not in REGULATORS:
            raise ValueError
        return float(value)

    held = table.any("regulator", convert, wanted, None)
    if held is not None and held > 0.9 * volts:
        remedy = f"a regulator holds less than the supply; give {wanted}"
        raise table.fail("regulator", f"is {held:g} V on a {volts:g} V system", remedy)
    return held  # type: ignore[no-any-return]


def _said(name: str, table: Table, kinds: Kinds, volts: float) -> Said:
    table.allow(
        {
            *("movement", "ohms", "points", "scale", "normal", "studs", "sender_ground", "regulator"),
            "low_ohms",
        }
    )
    movement = table.text("movement", None)
    if movement is not None:
        movement = movement.strip().lower().replace("-", "_").replace(" ", "_")
        fitting = [key for key in kinds.movements if (key == "moving_coil") == (name == "voltmeter")]
        if movement not in fitting:
            raise table.unknown(
                "movement", f"movement of a {name.replace('_', ' ')} gauge", movement, fitting
            )
    if name == "voltmeter":
        for key in ("ohms", "points", "sender_ground", "low_ohms"):
            if table.has(key):
                raise table.fail(key, "is given of a voltmeter", "leave it out: a voltmeter has no sender")
    if table.has("points") and (name != "temperature" or table.has("ohms")):
        raise table.fail(
            "points",
            "stands where it does not belong",
            "a temperature sender has points, or ohms at the ends",
        )
    scale = table.pair("scale", None)
    if scale is not None and scale[0] == scale[1]:
        raise table.fail("scale", f"is {list(scale)}", "give the true values at the low and at the top mark")
    if name == "fuel" and scale is not None:
        raise table.fail("scale", "is given of a fuel gauge", "leave it out: it runs from empty to full")
    if name == "oil_pressure" and scale is not None and scale[0] != 0:
        raise table.fail("scale", f"starts at {scale[0]:g}", "an oil pressure scale starts at 0: [0, bar]")
    ohms = table.any("ohms", _ohms, "two ohms, at the low and at the top mark: [240, 33]", None)
    if ohms is None and table.has("points"):
        ohms, scale = _from_points(table, scale)
    if ohms is not None:
        _check_ohms(table, name, ohms)
    studs = table.number("studs", None, low=2, high=4)
    if studs is not None and studs != int(studs):
        raise table.fail("studs", f"is {studs:g}", "count them: 2, 3 or 4")
    said = Said(
        quantity=name,
        movement=movement,
        ohms=ohms,
        scale=scale,
        normal=table.number("normal", None, low=-40, high=200),
        studs=None if studs is None else int(studs),
        sender_ground=table.choice("sender_ground", SENDER_GROUNDS, None),
        regulator=_regulator(table, volts),
        low_ohms=table.choice("low_ohms", ENDS, None),
    )
    if said.low_ohms and ohms and (ohms[0] > ohms[-1]) != (said.low_ohms == "top"):
        low, top = f"{ohms[0]:g}", f"{ohms[-1]:g}"
        raise table.fail(
            "low_ohms", f"is {said.low_ohms}, and ohms are [{low}, {top}]", "exchange the two ohms"
        )
    return said


def _ohms(value: Any) -> tuple[float, ...]:
    """Ohms as a list, or as people write them: 240-33."""
    parts = _DASH.split(value.strip()) if isinstance(value, str) else list(value)
    if any(isinstance(part, bool) for part in parts) or len(parts) not in (2, 3, 5):
        raise ValueError
    return tuple(float(part) for part in parts)


def _check_ohms(table: Table, name: str, ohms: tuple[float, ...]) -> None:
    text = " to ".join(f"{entry:g}" for entry in ohms)
    if not all(0 <= entry <= MOST_OHMS for entry in ohms):
        raise table.fail("ohms", f"is {text}", f"a sender has from 0 to {MOST_OHMS:g} ohms")
    step = [b - a for a, b in pairwise(ohms)]
    if not (all(entry > 0 for entry in step) or all(entry < 0 for entry in step)):
        raise table.fail(
            "ohms", f"is {text}", "give them from the low mark to the top mark, rising or falling"
        )
    if max(ohms) < LEAST_RATIO * max(min(ohms), LEAST_OHMS):
        raise table.fail("ohms", f"is {text}", "the two ends lie too near together for a needle to move")
    if name == "temperature" and (ohms[0] < ohms[-1] or len(ohms) != 2 or min(ohms) < LEAST_OHMS):
        remedy = "it falls as it warms: two ohms, the larger first, or points = [[celsius, ohms], ...]"
        raise table.fail("ohms", f"is {text} of a temperature sender", remedy)


def _from_points(
    table: Table, scale: tuple[float, float] | None
) -> tuple[tuple[float, ...], tuple[float, float]]:
    """Ohms at the ends of the scale from two measured points of a thermistor."""
    from gaugesim.physics.thermistor import beta_from_points, beta_ohms

    def convert(value: Any) -> tuple[tuple[float, float], ...]:
        pairs = [part.split(":") for part in value.split(",")] if isinstance(value, str) else value
        first, second = ((float(celsius), float(ohms)) for celsius, ohms in pairs)
        return tuple(sorted((first, second)))

    wanted = "two points, [[celsius, ohms], [celsius, ohms]]"
    (cold, high), (warm, low) = table.any("points", convert, wanted)
    if not (-40 <= cold < warm <= 200 and 0 < low < high):
        raise table.fail(
            "points",
            f"are {cold:g} degC {high:g} ohm and {warm:g} degC {low:g} ohm",
            "two temperatures from -40 to 200, fewer ohms at the warmer one",
        )
    beta = float(beta_from_points(cold, high, warm, low))
    ends = scale or (40.0, 120.0)
    return tuple(float(f"{float(beta_ohms(at, high, cold, beta)):.4g}") for at in ends), ends
