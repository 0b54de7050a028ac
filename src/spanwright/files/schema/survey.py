"""Tools, marks, datum and readings as they are written."""

from __future__ import annotations

from typing import Literal

from pydantic import ConfigDict, Field, StrictBool

from spanwright.files.schema.base import Names, Quantity, Table, Values


class Tool(Table):
    """A tool and how far it can be off."""

    sd: Quantity
    scale: Quantity | None = None
    zero: Quantity | None = None
    note: str = ""


class MarkGroup(Table):
    """Marks on one rail of one line."""

    line: str
    rail: str
    face: str | None = None
    reach: Quantity | None = None
    reach_to: str | None = None
    names: Names


class Marks(Table):
    """All marks: pegs, marks on the ground, and a group a line and rail."""

    model_config = ConfigDict(extra="allow", frozen=True)
    __pydantic_extra__: dict[str, MarkGroup]

    pegs: Names = ()
    ground: Names = ()
    rough: dict[str, tuple[Quantity, Quantity]] = Field(default_factory=dict)


class Datum(Table):
    """How the frame is tied down: minimal, fixed or free."""

    at: str | None = None
    towards: str | None = None
    height: str | None = None
    fixed: dict[str, dict[Literal["x", "y", "z"], Quantity]] | None = None
    free: StrictBool = False


class Reading(Table):
    """What every reading says."""

    id: str
    by: str
    sd: Quantity | None = None
    note: str = ""


class One(Reading):
    """A reading of one number, read once or twice."""

    readings: Values = Field(alias="is")


class Distance(One):
    """Tape distance between two marks."""

    start: str = Field(alias="from")
    end: str = Field(alias="to")
    held: Literal["straight", "level"] = "straight"


class Angle(One):
    """Angle at a mark, clockwise from one mark to another."""

    at: str
    start: str = Field(alias="from")
    end: str = Field(alias="to")


class Between(One):
    """Bearing, or slope, from one mark to another."""

    start: str = Field(alias="from")
    end: str = Field(alias="to")


class Height(One):
    """Height of a surface at one mark above a surface at another."""

    of: str
    above: str
    to_surface: str | None = Field(default=None, alias="to")
    from_surface: str | None = Field(default=None, alias="from")


class Offset(One):
    """Offset of a mark, square off a string."""

    of: str
    string: tuple[str, str]
    side: str


class Along(One):
    """Distance along a string to the foot of a mark."""

    of: str
    string: tuple[str, str]


class Plumb(Reading):
    """A mark plumb over another, but for what is said."""

    upper: str
    over: str
    dx: Quantity = 0
    dy: Quantity = 0


class PlumbPastEdge(Reading):
    """A plumb line past the edge of a board, between a rail above and a rail below."""

    above: str
    below: str
    edge: tuple[str, str]
    edge_to_rail: Values
    line_to_rail: Values
    side: str


class Versine(One):
    """Middle ordinate of a chord."""

    chord: tuple[str, str]
    at: str
    towards: str


class CrossLevel(One):
    """Cant at a mark, by an angle or by a feeler under the end of a level."""

    at: str
    high: str | None = None
    reach: Quantity | None = None


class Coordinate(Reading):
    """Coordinates read directly."""

    of: str
    x: Values | None = None
    y: Values | None = None
    z: Values | None = None
    to_surface: str | None = Field(default=None, alias="to")


class Survey(Table):
    """All readings, a list a kind."""

    set_aside: Names = ()
    distances: tuple[Distance, ...] = ()
    angles: tuple[Angle, ...] = ()
    bearings: tuple[Between, ...] = ()
    level_angles: tuple[Between, ...] = ()
    heights: tuple[Height, ...] = ()
    blocks: tuple[Height, ...] = ()
    offsets: tuple[Offset, ...] = ()
    along: tuple[Along, ...] = ()
    plumbs: tuple[Plumb, ...] = ()
    plumb_past_edge: tuple[PlumbPastEdge, ...] = ()
    versines: tuple[Versine, ...] = ()
    cross_levels: tuple[CrossLevel, ...] = ()
    coordinates: tuple[Coordinate, ...] = ()
