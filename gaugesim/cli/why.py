"""Why the needles stand where they stand, for a person."""

from __future__ import annotations

from gaugesim.cli.output import wrapped
from gaugesim.reading.reason_words import in_short, steps
from gaugesim.reading.reasons import Why


def why_lines(reasons: Why, gauges: list[str]) -> list[str]:
    """Steps from the supply to each needle, for a person."""
    lines: list[str] = []
    for gauge in gauges:
        lines += ["", *wrapped(f"WHY: {reasons.gauges[gauge].gauge.words}".upper())]
        short = in_short(reasons, gauge)
        lines += wrapped(f"In short: {short}.", "  ") if short else []
        for number, step in enumerate(steps(reasons, gauge), start=1):
            lines.append(f"{number}. {step.title}")
            for text in step.lines:
                lines += wrapped(text, "     ", "   ")
    return lines
