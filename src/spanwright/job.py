"""START HERE. The whole job, top to bottom, one call a stage.

``derive(job)`` takes a frozen job and returns a complete plan: where both lines really are, the
bridge that fits them, the gap of every train to every part, and a verdict on each, all with their
derivatives to the base inputs. Data flows one way; a later reading enters with the other readings
and the plan is derived again.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from spanwright.alignment import stage as alignment
from spanwright.alignment.given import LineInput
from spanwright.clearance import stage as clearance
from spanwright.estimation.inputs import Inputs
from spanwright.findings import Finding
from spanwright.structures import stage as structures
from spanwright.structures.given import StructuresInput
from spanwright.survey import stage as survey
from spanwright.survey.readings import SurveyInput


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """The builder's own names for sides and ends, and how lengths are shown.

    Parameters
    ----------
    left : str
        Name of the left side of growing station.
    right : str
        Name of the right side.
    start : str
        Name of the end where stations start.
    finish : str
        Name of the other end.
    unit : str
        ``mm`` or ``inch``: how lengths are shown.
    """

    left: str
    right: str
    start: str
    finish: str
    unit: str = "mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Everything the builder has given, ready for the stages.

    Parameters
    ----------
    name : str
        The job's name.
    scale : Fraction
        Full size over model size, such as 160 for 1:160.
    gauge : float
        Nominal track gauge; scale and gauge are two facts. [mm]
    words : Words
        The builder's own words.
    inputs : Inputs
        Every base input with its doubt.
    survey : SurveyInput
        Marks, readings, datum.
    lines : tuple of LineInput
        The lines of track.
    structures : StructuresInput or None
        The bridge; None if only a survey is wanted.
    clearance : ClearanceInput or None
        Vehicles and margins; None if only a structure is wanted.
    """

    name: str
    scale: Fraction
    gauge: float
    words: Words
    inputs: Inputs
    survey: SurveyInput
    lines: tuple[LineInput, ...]
    structures: StructuresInput | None = None
    clearance: clearance.ClearanceInput | None = None
