"""One thing that may move to mend a gap: an edit of the job file, by so much or as a whole."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

#: Moves are rounded up to this, away from nought. [mm]
STEP = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One thing that may move.

    Parameters
    ----------
    id : str
        Stable id.
    text : str
        What is done, with ``{by}`` for how far; in inner words, which the builder's take the place of.
    most : float
        Farthest that is tried, with its sign; 0 for a change that is whole or not at all. [mixed]
    edit : callable
        Takes the job file's text and how far, returns the edited text.
    cost : str
        What it costs elsewhere, with ``{by}``.
    rank : int
        How gladly it is done, 0 first: what is not made yet before what lies, trains last.
    unit : str
        Of how far: ``mm`` or ``deg``.
    step : float
        Grid of how far; the amount is rounded up to it, away from nought. [mixed]
    """

    id: str
    text: str
    most: float
    edit: Callable[[str, float], str]
    cost: str
    rank: int
    unit: str = "mm"
    step: float = STEP


def millimetres(value: float) -> str:
    """Write a length with its unit, so that it is right in a job of any unit.

    Parameters
    ----------
    value : float
        The length. [mm]

    Returns
    -------
    str
        Such as ``12.5 mm``.
    """
    return f"{round(value, 3) + 0.0:g} mm"
