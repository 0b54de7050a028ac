"""What is taken of the work done: readings of the plan's numbers, and the state of each part."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from math import hypot


class PartState(Enum):
    """How far a support's parts are made."""

    CUT = "cut"
    DRY_FITTED = "dry-fitted"
    BUILT = "built"
    TAKEN_OUT = "taken out"
    SPOILED = "spoiled"

    @property
    def stands(self) -> bool:
        """Whether the part is there: what it was cut to is no longer to be decided."""
        return self in (PartState.CUT, PartState.DRY_FITTED, PartState.BUILT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A support whose shafts have been cut.

    Parameters
    ----------
    part : str
        Name of the support.
    state : PartState
        How far it is.
    lengths : tuple of float
        What its shafts were to be cut to, left column before right. [mm]
    station : float or None
        Where on the upper line it was set out; None until it is. [mm]
    """

    part: str
    state: PartState
    lengths: tuple[float, ...]
    station: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One reading of a number of the plan.

    Parameters
    ----------
    id : str
        Stable id of the reading.
    number : str
        The number's id, or as the builder wrote it.
    above : str
        The mark or number that it was measured from; empty where the number stands for itself.
    value : float
        What was read. [any]
    sd : float
        Standard uncertainty of the reading by itself. [any]
    tool : str
        What it was read with.
    tool_errors : tuple of (str, float)
        Base inputs of the tool's own errors, the same in all its readings, and how much of each is in this.
    tool_sd : float
        Standard uncertainty of these together. [any]
    certain : bool
        The builder has read it twice and stands by it, even where it contradicts the plan.
    unit : str
        ``mm`` or ``rad``, after the tool.
    place : int
        Where it stands among the readings of the file, from 0.
    """

    id: str
    number: str
    above: str
    value: float
    sd: float
    tool: str
    tool_errors: tuple[tuple[str, float], ...] = ()
    tool_sd: float = 0.0
    certain: bool = False
    unit: str = "mm"
    place: int = 0

    @property
    def doubt(self) -> float:
        """Standard uncertainty of the reading, its tool's own errors included."""
        return hypot(self.sd, self.tool_sd)
