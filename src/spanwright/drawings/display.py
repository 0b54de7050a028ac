"""The display list: what is drawn, in mm, and nothing of how a file is written.

A :class:`Sheet` holds paths, circles and texts in one plane, x to the right and y up. A sheet that is
*true* is printed at full size and cut or gauged from; any other is drawn to its scale. The writers
(``pdf``, ``svg``, ``dxf``) know nothing of bridges, and what draws bridges knows nothing of files.

A line's role is its meaning. Each role has its own weight and dash pattern, so that roles can be told
apart in black and white.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import Enum

import numpy as np

Point = tuple[float, float]


class Role(Enum):
    """What a line means."""

    CUT = "cut"
    FOLD = "fold"
    CENTRE = "centre"
    REFERENCE = "reference"
    OUTLINE = "outline"
    HIDDEN = "hidden"
    DIMENSION = "dimension"
    FINE = "fine"
    JOIN = "join"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """How a role is drawn.

    Parameters
    ----------
    width : float
        Line width. [mm]
    dash : tuple of float
        Lengths drawn and left out, in turn; empty for a full line. [mm]
    meaning : str
        What the legend says.
    """

    width: float
    dash: tuple[float, ...] = ()
    meaning: str = ""


#: Weights follow the series of ISO 128 (0.13, 0.18, 0.25, 0.35, 0.5 mm), patterns its line types.
STROKES: dict[Role, Stroke] = {
    Role.CUT: Stroke(width=0.35, meaning="cut here: the middle of the line is the edge"),
    Role.FOLD: Stroke(width=0.25, dash=(4.0, 1.0, 0.6, 1.0, 0.6, 1.0), meaning="fold"),
    Role.CENTRE: Stroke(width=0.18, dash=(6.0, 1.2, 1.2, 1.2), meaning="centre line"),
    Role.REFERENCE: Stroke(width=0.25, dash=(1.6, 0.9), meaning="for reference, not cut"),
    Role.OUTLINE: Stroke(width=0.25, meaning="outline of a part"),
    Role.HIDDEN: Stroke(width=0.18, dash=(2.4, 1.2), meaning="hidden edge"),
    Role.DIMENSION: Stroke(width=0.13, meaning="dimension"),
    Role.FINE: Stroke(width=0.13, meaning=""),
    Role.JOIN: Stroke(width=0.18, dash=(0.4, 1.4), meaning="two pages join here"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """A run of straight lines.

    Parameters
    ----------
    points : tuple of (float, float)
        Corners; two at least. [mm]
    role : Role
        What it means.
    closed : bool
        Whether the last corner is joined to the first.
    fill : float or None
        Grey of the inside, 0 black to 1 white; None leaves it open. [1]
    stroked : bool
        False for an area without an edge.
    """

    points: tuple[Point, ...]
    role: Role = Role.OUTLINE
    closed: bool = False
    fill: float | None = None
    stroked: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A circle.

    Parameters
    ----------
    centre : (float, float)
        Its middle. [mm]
    radius : float
        Its radius. [mm]
    role : Role
        What it means.
    fill : float or None
        Grey of the inside; None leaves it open. [1]
    """

    centre: Point
    radius: float
    role: Role = Role.OUTLINE
    fill: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """One line of text.

    Parameters
    ----------
    at : (float, float)
        Its anchor, on the base line. [mm]
    text : str
        What it says.
    size : float
        Font size; capitals are about 0.73 of it. [mm]
    anchor : str
        ``start``, ``middle`` or ``end`` of the text stands at the anchor.
    turn : float
        Turned about the anchor, left positive. [rad]
    bold : bool
        In the bold face.
    """

    at: Point
    text: str
    size: float = 2.6
    anchor: str = "start"
    turn: float = 0.0
    bold: bool = False


Item = Path | Circle | Text


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One drawing.

    Parameters
    ----------
    id : str
        Stable id, which makes the file name, such as ``pattern/opening top``.
    title : str
        What it shows.
    items : tuple of Path, Circle or Text
        What is drawn, in this order. [mm]
    true : bool
        Printed at full size, to cut or to gauge from.
    side_up : str
        Which side looks up, such as ``printed side up``.
    twin : str
        Title of the sheet that is its mirror image; empty if there is none.
    scale : float
        Drawn size over model size; 1 if true, 0 for what is not to scale. [1]
    notes : tuple of str
        What stands beneath it: how it is used, cautions.
    """

    id: str
    title: str
    items: tuple[Item, ...]
    true: bool = True
    side_up: str = ""
    twin: str = ""
    scale: float = 1.0
    notes: tuple[str, ...] = field(default=())


def path(
    points: Iterable[Iterable[float]],
    role: Role = Role.OUTLINE,
    *,
    closed: bool = False,
    fill: float | None = None,
) -> Path:
    """Return a path of any points, arrays too.

    Parameters
    ----------
    points : iterable of (float, float)
        Corners. [mm]
    role : Role
        What it means.
    closed : bool
        Whether it is closed.
    fill : float or None
        Grey of the inside. [1]

    Returns
    -------
    Path
        With plain numbers.
    """
    corners = tuple((float(x), float(y)) for x, y in points)
    return Path(points=corners, role=role, closed=closed, fill=fill)


def box(low: Point, high: Point, role: Role = Role.OUTLINE, *, fill: float | None = None) -> Path:
    """Return an upright rectangle.

    Parameters
    ----------
    low : (float, float)
        Lower left corner. [mm]
    high : (float, float)
        Upper right corner. [mm]
    role : Role
        What its edge means.
    fill : float or None
        Grey of the inside. [1]

    Returns
    -------
    Path
        Closed.
    """
    corners = (low, (high[0], low[1]), high, (low[0], high[1]))
    return Path(points=corners, role=role, closed=True, fill=fill)


def moved(items: Iterable[Item], *, by: Point = (0.0, 0.0), scale: float = 1.0) -> tuple[Item, ...]:
    """Return items scaled about the origin, then moved; texts keep their size.

    Parameters
    ----------
    items : iterable of Path, Circle or Text
        What is drawn. [mm]
    by : (float, float)
        How far. [mm]
    scale : float
        Factor. [1]

    Returns
    -------
    tuple of Path, Circle or Text
        The same in their new place.
    """

    def to(p: Point) -> Point:
        return (p[0] * scale + by[0], p[1] * scale + by[1])

    found: list[Item] = []
    for item in items:
        if isinstance(item, Path):
            found.append(
                Path(
                    points=tuple(to(p) for p in item.points),
                    role=item.role,
                    closed=item.closed,
                    fill=item.fill,
                    stroked=item.stroked,
                )
            )
        elif isinstance(item, Circle):
            found.append(
                Circle(centre=to(item.centre), radius=item.radius * scale, role=item.role, fill=item.fill)
            )
        else:
            found.append(
                Text(
                    at=to(item.at),
                    text=item.text,
                    size=item.size,
                    anchor=item.anchor,
                    turn=item.turn,
                    bold=item.bold,
                )
            )
    return tuple(found)


def mirrored(items: Iterable[Item], *, about: float) -> tuple[Item, ...]:
    """Return items mirrored left to right about an upright line; texts stay readable.

    Parameters
    ----------
    items : iterable of Path, Circle or Text
        What is drawn. [mm]
    about : float
        x of the line. [mm]

    Returns
    -------
    tuple of Path, Circle or Text
        The mirror image. A text's anchor is mirrored, its letters are not.
    """

    def to(p: Point) -> Point:
        return (2.0 * about - p[0], p[1])

    ends = {"start": "end", "end": "start", "middle": "middle"}
    found: list[Item] = []
    for item in items:
        if isinstance(item, Path):
            found.append(
                Path(
                    points=tuple(to(p) for p in item.points),
                    role=item.role,
                    closed=item.closed,
                    fill=item.fill,
                    stroked=item.stroked,
                )
            )
        elif isinstance(item, Circle):
            found.append(Circle(centre=to(item.centre), radius=item.radius, role=item.role, fill=item.fill))
        else:
            found.append(
                Text(
                    at=to(item.at),
                    text=item.text,
                    size=item.size,
                    anchor=ends[item.anchor],
                    turn=-item.turn,
                    bold=item.bold,
                )
            )
    return tuple(found)


def text_box(item: Text, width: float) -> tuple[Point, ...]:
    """Return the four corners of the box that a text fills.

    Parameters
    ----------
    item : Text
        The text.
    width : float
        Width of its letters. [mm]

    Returns
    -------
    tuple of (float, float)
        From below its start, round to the left: base line less a fifth of its size, up to 0.75. [mm]
    """
    start = {"start": 0.0, "middle": -0.5 * width, "end": -width}[item.anchor]
    c, s = np.cos(item.turn), np.sin(item.turn)
    low, high = -0.22 * item.size, 0.76 * item.size
    corners = ((start, low), (start + width, low), (start + width, high), (start, high))
    return tuple((float(item.at[0] + c * x - s * y), float(item.at[1] + s * x + c * y)) for x, y in corners)
