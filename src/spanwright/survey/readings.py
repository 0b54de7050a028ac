"""What a builder measures: marks, readings and the datum, as frozen data.

A *mark* is a physical point. A mark on track says its line, its rail and the face of that rail, since
nobody can measure a centre line. A *reading* names its marks in the order that its kind asks for:

=================  =========================  ====================================================
kind               marks                      what was read
=================  =========================  ====================================================
distance           a, b                       straight through the air, as a tape lies [mm]
level distance     a, b                       in plan, the tape held level [mm]
angle              at, from, to               clockwise in plan, from the first to the second [rad]
bearing            a, b                       clockwise from the y axis [rad]
level angle        a, b                       slope from a up to b [rad]
height             of, above                  height of the first above the second [mm]
stepped block      of, above                  the same, by a block between two surfaces [mm]
offset             of, a, b                   square off the string a-b, left positive [mm]
versine            of, a, b                   the same, a and b being the ends of a chord [mm]
along              of, a, b                   along the string from a to the foot [mm]
plumb              upper, lower               how far apart in plan along x, and along y [mm]
plumb past edge    above, below, e1, e2       below from above, square to e1-e2, left positive [mm]
cross level        at                         right rail above left, by angle [rad] or feeler [mm]
coordinate         of                         x, y or z [mm]
=================  =========================  ====================================================
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum


class Rail(Enum):
    """Which rail a mark on track is on, seen along growing station."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"


class Face(Enum):
    """Which face of the rail."""

    INNER = "inner"
    HEAD_CENTRE = "head centre"
    OUTER = "outer"


class Kind(Enum):
    """Kinds of reading."""

    DISTANCE = "distance"
    LEVEL_DISTANCE = "level distance"
    ANGLE = "angle"
    BEARING = "bearing"
    LEVEL_ANGLE = "level angle"
    HEIGHT = "height"
    STEPPED_BLOCK = "stepped block"
    OFFSET = "offset"
    VERSINE = "versine"
    ALONG = "along"
    PLUMB_X = "plumb x"
    PLUMB_Y = "plumb y"
    PLUMB_PAST_EDGE = "plumb past edge"
    CROSS_LEVEL_ANGLE = "cross level angle"
    CROSS_LEVEL_FEELER = "cross level feeler"
    COORDINATE_X = "coordinate x"
    COORDINATE_Y = "coordinate y"
    COORDINATE_Z = "coordinate z"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A named point.

    Parameters
    ----------
    name : str
        The builder's name for it.
    line : str
        Name of the line of track it is on; empty for pegs and ground.
    rail : Rail or None
        Which rail; None off the track.
    face : Face or None
        Which face; None off the track, or with a bar across both rails.
    reach : float
        With a bar across both rails: how far the marked point of the bar lies to the left of the
        middle between the rails. [mm]
    rough : tuple of float or None
        A rough place in plan, good to a few hand widths, where the readings leave two. [mm]
    """

    name: str
    line: str = ""
    rail: Rail | None = None
    face: Face | None = None
    reach: float = 0.0
    rough: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading; its value and doubt are the base input of the same id.

    Parameters
    ----------
    id : str
        Stable id, also of the base input.
    kind : Kind
        What was read.
    marks : tuple of str
        Mark names in the order that the kind asks for.
    scale : str
        Base input of the tool's own scale error, shared by its readings; empty for none.
    zero : str
        Base input of the tool's own zero error; empty for none.
    drops : tuple of (str, float)
        Sizes (base input ids) and factors that lead from the surface that was touched to the mark's
        own surface: ``reading + sum(factor * size)`` is the height between the marks.
    reach : float
        Cross level by feeler: the reach of the block; by angle: the distance of the rail heads. [mm]
    rail_distance : float
        Cross level: distance of the rail-head centres. [mm]
    """

    id: str
    kind: Kind
    marks: tuple[str, ...]
    scale: str = ""
    zero: str = ""
    drops: tuple[tuple[str, float], ...] = ()
    reach: float = 0.0
    rail_distance: float = 0.0


class DatumKind(Enum):
    """How the frame is tied down."""

    MINIMAL = "minimal"
    FIXED = "fixed"
    FREE = "free"


@dataclass(frozen=True, slots=True, kw_only=True)
class Datum:
    """The frame in which positions and heights are given.

    Parameters
    ----------
    kind : DatumKind
        Minimal: one mark at the origin, x towards another, one height. Fixed: given coordinates are
        held. Free: the whole net floats on its rough shape (inner constraints).
    at : str
        Minimal: the mark at x = y = 0.
    towards : str
        Minimal: the mark on the x axis.
    height : str
        Minimal and free: the mark at height 0 (free: of the rough shape only).
    fixed : tuple of (str, str, float)
        Fixed: mark, ``x``, ``y`` or ``z``, and the held value.
    """

    kind: DatumKind = DatumKind.MINIMAL
    at: str = ""
    towards: str = ""
    height: str = ""
    fixed: tuple[tuple[str, str, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyInput:
    """All that the survey stage takes.

    Parameters
    ----------
    marks : tuple of Mark
        Every mark, in the order of the file.
    readings : tuple of Reading
        Every reading, in the order of the file.
    datum : Datum
        The frame.
    shared : tuple of str
        Base inputs of the tools' shared errors.
    set_aside : frozenset of str
        Readings that the builder has decided to leave out.
    """

    marks: tuple[Mark, ...]
    readings: tuple[Reading, ...]
    datum: Datum
    shared: tuple[str, ...] = ()
    set_aside: frozenset[str] = field(default_factory=frozenset)
