"""What the alignment stage takes: one entry a line, laid or designed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from spanwright.estimation.inputs import Size


class TrackKind(Enum):
    """How the track was laid; sets the waviness that is believed (common practice, no source)."""

    SECTIONAL = "sectional"
    FLEXIBLE = "flexible"
    HAND_LAID = "hand-laid"


class ElementKind(Enum):
    """Kinds of designed element."""

    TANGENT = "tangent"
    EASEMENT = "easement"
    ARC = "arc"


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """One element of a designed line.

    Parameters
    ----------
    kind : ElementKind
        Tangent, easement or arc.
    length : float
        Length along the line. [mm]
    radius : float
        Arc: signed radius, left turn positive; infinite otherwise. An easement joins its neighbours. [mm]
    """

    kind: ElementKind
    length: float
    radius: float = float("inf")


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """A line given by its elements instead of by marks.

    Parameters
    ----------
    x : float
        Start, first coordinate. [mm]
    y : float
        Start, second coordinate. [mm]
    heading : float
        Direction at the start, from the x axis to the left. [rad]
    elements : tuple of Element
        In order; at least one.
    heights : tuple of (float, float)
        Station and low-rail height of each point where two grades meet. [mm]
    vertical_curve : float
        Length of the vertical curve centred on each inner point. [mm]
    cants : tuple of (float, float)
        Station and cant (right above left) of the corners of the cant diagram. [mm]
    plan_doubt : str
        Base input of how far the laid track may stray sideways from the design, as it starts; empty for none.
    along_doubt : str
        Base input of how far it may stray along the direction in which it starts, which is sideways where
        the line has turned; empty for none.
    height_doubt : str
        Base input of how far it may stray in height; empty for none.
    """

    x: float
    y: float
    heading: float
    elements: tuple[Element, ...]
    heights: tuple[tuple[float, float], ...]
    vertical_curve: float = 0.0
    cants: tuple[tuple[float, float], ...] = ()
    plan_doubt: str = ""
    along_doubt: str = ""
    height_doubt: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineInput:
    """One line of track.

    Parameters
    ----------
    name : str
        The line's name.
    marks : tuple of str
        Marks along the line in growing station; empty for a designed line.
    track : TrackKind
        How it was laid.
    curves : int
        How many separate curves the surveyed stretch holds, 0 for a straight.
    gauge : Size
        Track gauge as measured between the inner faces.
    rail_head : Size
        Width of the rail head.
    design : Design or None
        The elements of a line that is not laid yet.
    cant_assumed : str
        Base input (value 0) that stands for a cant that was not measured; empty where it was.
    raised : str
        Base input (may move, no doubt): how far the whole line is to be raised; empty if it may not be.
    canted : str
        Base input (may move, no doubt): what is to be added to its cant, right rail above left.
    """

    name: str
    marks: tuple[str, ...]
    track: TrackKind
    gauge: Size
    rail_head: Size
    curves: int = 1
    design: Design | None = None
    cant_assumed: str = ""
    raised: str = ""
    canted: str = ""
