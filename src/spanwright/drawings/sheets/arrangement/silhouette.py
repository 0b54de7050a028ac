"""Parts as seen from one side: outlines of a mesh, nearer before farther, and the scale to draw at.

A finished part is a mesh of convex pieces (boxes and studs). Seen from one side, a convex piece is the
hull of its corners. Drawn from the farthest to the nearest with a white inside, nearer pieces hide
farther ones. Read :func:`outlines`, then :func:`painted`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from spanwright.drawings.display import Path, Role, Sheet, path
from spanwright.drawings.draughting import bounds
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray

#: Reductions of ISO 5455. [1]
SCALES = (1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)
#: Room for a drawing on an A4 page, upright and lying, beside title, legend and notes. [mm]
ROOM = ((176.0, 205.0), (260.0, 136.0))
#: What is narrower than this on paper is drawn as one line: two would run together. [mm]
NARROW = 0.45
#: What is smaller than this on paper (rivets, bolts) is left out: it would be a blot. [mm]
SMALLEST = 0.6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """One convex piece as seen.

    Parameters
    ----------
    part : str
        Id of the part it belongs to.
    corners : ndarray, shape (n, 2)
        In the plane of the view, on paper. [mm]
    depth : float
        How far away it is; the larger, the farther. [mm]
    role : Role
        How its edge is drawn.
    fill : float
        Grey of its inside. [1]
    """

    part: str
    corners: FloatArray
    depth: float
    role: Role = Role.OUTLINE
    fill: float = 1.0


def pieces(shape: Shape) -> tuple[FloatArray, ...]:
    """Return the corners of each connected piece of a mesh.

    Parameters
    ----------
    shape : Shape
        The part.

    Returns
    -------
    tuple of ndarray, shape (n, 3)
        Corners of each piece, in the order of the mesh. [mm]
    """
    label = np.arange(len(shape.vertices))
    while True:
        least = label[shape.triangles].min(axis=1)
        spread = label.copy()
        np.minimum.at(spread, shape.triangles.ravel(), np.repeat(least, 3))
        if np.array_equal(spread, label):
            return tuple(shape.vertices[label == name] for name in np.unique(label))
        label = spread


def outlines(
    shape: Shape,
    view: Callable[[FloatArray], FloatArray],
    *,
    role: Role = Role.OUTLINE,
    fine: Role | None = None,
) -> tuple[Outline, ...]:
    """Return the pieces of a part as seen.

    Parameters
    ----------
    shape : Shape
        The part.
    view : callable
        Takes corners, shape (n, 3), and returns x and y on paper and the depth, shape (n, 3).
    role : Role
        How edges are drawn.
    fine : Role or None
        How the edges of narrow pieces are drawn; as the others if None.

    Returns
    -------
    tuple of Outline
        One a piece; those too small to be seen on paper are left out.
    """
    found = []
    for corners in pieces(shape):
        seen = view(corners)
        wide = np.ptp(seen[:, :2], axis=0)
        if wide.max() < SMALLEST:
            continue
        hull = MultiPoint(seen[:, :2]).convex_hull
        if not isinstance(hull, Polygon):
            continue
        narrow = fine is not None and wide.min() < NARROW
        found.append(
            Outline(
                part=shape.part,
                corners=np.array(hull.exterior.coords)[:-1],
                depth=float(seen[:, 2].mean()),
                role=fine if narrow and fine is not None else role,
            )
        )
    return tuple(found)


def painted(seen: Iterable[Outline]) -> tuple[Path, ...]:
    """Return outlines as paths, the farthest first, so that nearer ones hide them.

    Parameters
    ----------
    seen : iterable of Outline
        Pieces.

    Returns
    -------
    tuple of Path
        Closed and filled; a piece too narrow for two lines is one line along its middle.
    """
    return tuple(_drawn(o) for o in sorted(seen, key=lambda o: -o.depth))


def _drawn(outline: Outline) -> Path:
    line = middle_line(outline.corners)
    if line is not None:
        return path(line, outline.role)
    return path(outline.corners, outline.role, closed=True, fill=outline.fill)


def middle_line(corners: FloatArray) -> FloatArray | None:
    """Return the long middle line of a piece too narrow to be drawn by its two edges.

    Parameters
    ----------
    corners : ndarray, shape (n, 2)
        The piece. [mm]

    Returns
    -------
    ndarray, shape (2, 2), or None
        Its two ends; None where the piece is wide enough. [mm]
    """
    frame = shapely.minimum_rotated_rectangle(Polygon(corners))
    if not isinstance(frame, Polygon):
        return None
    c = np.array(frame.exterior.coords)[:4]
    sides = np.hypot(*(np.roll(c, -1, axis=0) - c).T)
    if sides.min() >= NARROW:
        return None
    k = int(np.argmin(sides[:2]))
    return np.array([0.5 * (c[k] + c[k + 1]), 0.5 * (c[k + 2] + c[(k + 3) % 4])])


def split(line: BaseGeometry, cover: BaseGeometry) -> tuple[tuple[FloatArray, ...], tuple[FloatArray, ...]]:
    """Part lines into what can be seen and what lies beneath a cover.

    Parameters
    ----------
    line : shapely geometry
        Line or lines.
    cover : shapely geometry
        What lies above.

    Returns
    -------
    seen : tuple of ndarray, shape (n, 2)
        Runs outside the cover. [mm]
    hidden : tuple of ndarray, shape (n, 2)
        Runs beneath it. [mm]
    """
    return _runs(line.difference(cover)), _runs(line.intersection(cover))


def _runs(geometry: BaseGeometry) -> tuple[FloatArray, ...]:
    if geometry.is_empty:
        return ()
    merged = shapely.line_merge(geometry)
    parts = getattr(merged, "geoms", [merged])
    return tuple(np.array(p.coords) for p in parts if p.geom_type == "LineString" and p.length > 0.05)


def fits(sheet: Sheet) -> bool:
    """Tell whether a drawing finds room on a page, upright or lying.

    Parameters
    ----------
    sheet : Sheet
        The drawing.

    Returns
    -------
    bool
        True if it does.
    """
    left, bottom, right, top = bounds(sheet.items)
    return any(right - left <= w and top - bottom <= h for w, h in ROOM)


def largest(make: Callable[[float], Sheet]) -> Sheet:
    """Draw at the largest scale of the series that fits a page.

    Parameters
    ----------
    make : callable
        Takes the scale and returns the drawing.

    Returns
    -------
    Sheet
        The drawing; at the smallest scale if none fits.
    """
    sheet = make(SCALES[0])
    for scale in SCALES[1:]:
        if fits(sheet):
            break
        sheet = make(scale)
    return sheet
