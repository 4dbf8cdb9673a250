"""Why the needles stand where they stand, as plain data."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from gaugesim.reading.reason_words import in_short, steps
from gaugesim.reading.reasons import Why


def why_data(reasons: Why, words: bool = True) -> dict[str, Any]:
    """Why the needles stand where they stand, for a program.

    Runs of parts with one current, then for each gauge the arrows of its coils with their sum, or its heat,
    or its current; and the sound circuit's where there is a fault.
    """
    gauges = {}
    for name, own in reasons.gauges.items():
        entry: dict[str, Any] = {
            "position": own.position,
            "arrows": [asdict(arrow) for arrow in own.arrows],
            "rest": list(own.gauge.rest),
            "total": {"x": own.total[0], "y": own.total[1], "degrees": own.degrees} if own.arrows else None,
            "heat": asdict(own.heat) if own.heat else None,
            "turn": asdict(own.turn) if own.turn else None,
            "stuck": own.stuck,
            "runs": list(own.runs),
        }
        if words:
            entry |= {
                "in_short": in_short(reasons, name) or None,
                "steps": [asdict(step) for step in steps(reasons, name)],
            }
        gauges[name] = entry
    return {
        "runs": [asdict(run) for run in reasons.runs],
        "gauges": gauges,
        "sound": why_data(reasons.sound, words=False) if reasons.sound else None,
    }
