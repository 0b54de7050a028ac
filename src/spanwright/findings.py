"""Findings and verdicts: what a check says of a design. A finding is a result, not an error."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Severity(Enum):
    """How much a finding matters to the job."""

    NOTE = "note"
    WARNING = "warning"
    STOP = "stop"


class Verdict(Enum):
    """The word for a gap with its doubt (``docs/clearance.md`` has the table)."""

    CLEAR = "clear"
    TIGHT = "tight"
    FOUL = "foul"
    NOT_PROVEN = "not proven"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that a check noticed.

    Parameters
    ----------
    code : str
        Stable code by stage: SU survey, AL alignment, ST structures, CL clearance.
    severity : Severity
        Note, warning or stop.
    where : str
        Part, reading or place.
    text : str
        What was found, in the builder's words.
    value : float or None
        The number that was checked, in the unit that the text names. [any]
    limit : float or None
        What it was checked against. [any]
    remedy : str
        What would mend it.
    source : str
        Where the limit comes from; "common practice, no source" where there is none.
    """

    code: str
    severity: Severity
    where: str
    text: str
    value: float | None = None
    limit: float | None = None
    remedy: str = ""
    source: str = ""
