"""Readings as people type them: a number with or without its unit, a fraction, a range."""

from __future__ import annotations

import re
from dataclasses import dataclass

from gaugesim.vocabulary.topics import TOPICS

# a number, or the two ends of a range
Value = float | tuple[float, float]


@dataclass(frozen=True)
class DialFigure:
    """What the dial's own figures say: 10.5 V, 80 to 90 °C.

    Attributes
    ----------
    low, high : float
        The same unless a range was told, in ``unit``.
    unit : str
        ``V``, ``celsius`` or ``bar``, as the sheets have it.
    """

    low: float
    high: float
    unit: str

    def __str__(self) -> str:
        unit = {"celsius": "°C"}.get(self.unit, self.unit)
        ends = f"{self.low:g}" if self.low == self.high else f"{self.low:g} to {self.high:g}"
        return f"{ends} {unit}"


@dataclass(frozen=True)
class Limits:
    """What a kind of reading may be.

    Attributes
    ----------
    factors : dict
        From a unit as it is typed to its size.
    """

    low: float
    high: float
    unit: str
    factors: dict[str, float]


LIMITS = {
    "position": Limits(
        -0.5, 1.5, "the scale's length", {"": 1.0, "%": 0.01, "percent": 0.01, "of the scale": 1.0}
    ),
    "volts": Limits(
        -60.0,
        60.0,
        "volts",
        {"": 1.0, "v": 1.0, "vdc": 1.0, "volt": 1.0, "volts": 1.0, "mv": 1e-3, "millivolts": 1e-3},
    ),
    "ohms": Limits(
        0.0,
        float("inf"),
        "ohms",
        {
            **dict.fromkeys(("", "ohm", "ohms", "r", "o", "ω"), 1.0),
            **dict.fromkeys(("k", "kohm", "kohms", "kω", "kiloohm", "kilohm"), 1e3),
            **dict.fromkeys(("meg", "megohm", "megohms", "megaohm"), 1e6),
            **dict.fromkeys(("milliohm", "milliohms"), 1e-3),
        },
    ),
}
# from a unit as it stands on a dial to that of the sheets: its size there, and where its zero lies
_ON_DIALS: dict[str, tuple[str, float, float]] = {
    **dict.fromkeys(("v", "volt", "volts"), ("V", 1.0, 0.0)),
    **dict.fromkeys(("c", "°c", "celsius", "degrees c", "deg c"), ("celsius", 1.0, 0.0)),
    **dict.fromkeys(("f", "°f", "fahrenheit", "degrees f", "deg f"), ("celsius", 1 / 1.8, -32 / 1.8)),
    "bar": ("bar", 1.0, 0.0),
    "kpa": ("bar", 0.01, 0.0),
    # a pound-force per square inch is 6894.757 Pa: NIST Special Publication 811 (2008), appendix B.8
    "psi": ("bar", 0.06894757, 0.0),
}
# small letters do not say whether mega or milli is meant
_UNSURE = ("m", "mohm", "mohms", "mω")
# what an ohmmeter shows beyond its range, and what people call it
_OPEN = ("inf", "infinite", "infinity", "ol", "o.l", "o.l.", "0l", "open line", "overload")
_NUMBER = r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)"
_ONE = re.compile(rf"({_NUMBER}(?:/\d+)?)\s*([^\d]*)")
_RANGE = re.compile(rf"({_NUMBER})\s*([^\d\s]*?)\s*(?:-|–|to|\.\.)\s*({_NUMBER})\s*([^\d]*)")
_ABOUT = re.compile(r"^(?:about|around|roughly|approx\.?|ca\.?|~|≈|=|>|<)\s*")


def limits_of(kind: str) -> Limits:
    """What a kind of reading may be; anything in its own unit where nothing more is known of it."""
    if kind in LIMITS:
        return LIMITS[kind]
    topic = TOPICS[kind]
    unit = topic.unit.casefold()
    return Limits(*topic.span, kind, {"": 1.0, unit: 1.0, kind: 1.0, f"m{unit}": 1e-3})


def typed_quantity(typed: str, kind: str) -> Value | None:
    """Read a number.

    Parameters
    ----------
    kind : str
        See `limits_of`.

    Returns
    -------
    float, (float, float) or None
        In the unit of the case file [scale's length, V or ohm]; None if it is no number at all.

    Raises
    ------
    ValueError
        For a number that cannot be meant, with what is wrong.

    Examples
    --------
    >>> typed_quantity("12,4 V", "volts"), typed_quantity("400mv", "volts"), typed_quantity("3/4", "position")
    (12.4, 0.4, 0.75)
    >>> typed_quantity("1k2", "ohms"), typed_quantity("13.8 - 14.2", "volts")
    (1200.0, (13.8, 14.2))
    >>> typed_quantity("half", "position") is None
    True
    >>> typed_quantity("12.4 ohm", "volts")
    Traceback (most recent call last):
    ...
    ValueError: 'ohm' is no unit for volts.
    """
    said = _ABOUT.sub("", typed.strip().casefold().rstrip(";:!) ")).strip()
    if kind == "ohms" and said in _OPEN:
        return float("inf")
    # 1k2 and 4r7 as they stand on resistors
    said = re.sub(r"^(\d+)([kr])(\d+)$", r"\1.\3\2", said)
    limits = limits_of(kind)
    if match := _RANGE.fullmatch(said):
        first, unit, last, last_unit = match.groups()
        low, high = _scaled(first, unit or last_unit, limits), _scaled(last, last_unit or unit, limits)
        return (min(low, high), max(low, high))
    if match := _ONE.fullmatch(said):
        return _scaled(match[1], match[2], limits)
    return None


def typed_figure(typed: str) -> DialFigure | None:
    """Read a figure of a dial with its unit; None if it is none.

    Examples
    --------
    >>> typed_figure("10,5 V"), typed_figure("180-200 °F"), typed_figure("half")
    (DialFigure(low=10.5, high=10.5, unit='V'), DialFigure(low=82.2, high=93.3, unit='celsius'), None)
    """
    said = _ABOUT.sub("", typed.strip().casefold().rstrip(";:!). ")).strip()
    if match := _RANGE.fullmatch(said):
        first, unit, last, last_unit = match.groups()
        figures, named = (first, last), last_unit or unit
    elif match := _ONE.fullmatch(said):
        figures, named = (match[1], match[1]), match[2]
    else:
        return None
    if named.strip() not in _ON_DIALS or "/" in figures[0]:
        return None
    unit, size, zero = _ON_DIALS[named.strip()]
    low, high = sorted(
        round(float(figure.replace(",", ".")) * size + zero, 1 if zero else 6) for figure in figures
    )
    return DialFigure(low, high, unit)


def _scaled(figure: str, unit: str, limits: Limits) -> float:
    unit = unit.strip().rstrip(".,")
    name = limits.unit.partition(",")[0]
    if unit in _UNSURE and limits is LIMITS["ohms"]:
        raise ValueError(f"Is that {figure} megohm or {figure} milliohm? Write it out.")
    if unit not in limits.factors:
        raise ValueError(f"'{unit}' is no unit for {name}.")
    number, _, parts = figure.replace(",", ".").partition("/")
    if parts and int(parts) == 0:
        raise ValueError(f"{figure} is no number.")
    value = round(float(number) / (int(parts) if parts else 1) * limits.factors[unit], 9)
    if not limits.low <= value <= limits.high:
        raise ValueError(f"{figure} is out of reach: give {limits.low:g} to {limits.high:g} of {name}.")
    return value
