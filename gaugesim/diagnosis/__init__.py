"""Rank the faults that could be behind a complaint, and say why."""

from gaugesim.diagnosis.candidate_circuits import candidates, complained_of, gauges_wrong, named_gauges
from gaugesim.diagnosis.rank import caution_texts, diagnose, fault_name
from gaugesim.diagnosis.result import Conflict, Diagnosis, Reason, Suspect

__all__ = [
    "Conflict",
    "Diagnosis",
    "Reason",
    "Suspect",
    "candidates",
    "caution_texts",
    "complained_of",
    "diagnose",
    "fault_name",
    "gauges_wrong",
    "named_gauges",
]
