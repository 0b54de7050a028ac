"""The swept envelope in one plane square to a track, and finished parts cut by that plane.

The plane stands square to the track at one station; in it, y counts to the left in the plane of the rail
heads and z square to them, from midway between the rail heads. So a card that stands on both rails has
these coordinates, and the lean of the cant is in them.

A vehicle is a few convex prisms (play included). At each pose a prism meets the plane in a convex
polygon; between two neighbouring poses the hull of their two polygons stands for the sweep. Besides an
even grid, every pose at which a corner of a prism's end lies right in the plane is taken, for there the
sweep has its outer corners. What is left is the bow of a smooth path between poses:
``step^2 / 8 R``, under 0.003 mm for 2 mm on R 200.

Read :func:`section_envelope` first, then :func:`half_profile` and :func:`shape_section`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from spanwright.alignment import line as al
from spanwright.alignment.line import Line
from spanwright.clearance.gauges.track_frame import frames
from spanwright.clearance.sweep import Poses, poses
from spanwright.clearance.vehicles import Body, Vehicle, pieces
from spanwright.errors import InputError
from spanwright.geometry.distance import ConvexPrism
from spanwright.geometry.mesh_cut import cut_mesh
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray

SIDES = {"left": 1.0, "right": -1.0}
#: Corners this near to the plane lie in it. [mm]
_IN_PLANE = 1e-7
#: A drawn outline may leave the reckoned one by so much. [mm]
_SMOOTH = 0.0005


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plane:
    """The plane square to a track at a station.

    Parameters
    ----------
    station : float
        Where, along the line. [mm]
    origin : ndarray, shape (3,)
        Midway between the rail heads, at railhead level. [mm]
    axes : ndarray, shape (3, 3)
        Rows: forward along the track, left in the plane of the rail heads, square to them. [1]
    roll : float
        Lean of the rail heads, positive when the left is up. [rad]
    """

    station: float
    origin: FloatArray
    axes: FloatArray
    roll: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """What one vehicle sweeps in a plane.

    Parameters
    ----------
    vehicle : str
        The vehicle's id.
    name : str
        Its name in the builder's words.
    region : BaseGeometry
        The area, in (left, up) of the plane.
    surveyed : bool
        False where a truck stands beyond the surveyed line in any pose that counts.
    """

    vehicle: str
    name: str
    region: BaseGeometry
    surveyed: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Band:
    """A band of heights with one outermost vehicle.

    Parameters
    ----------
    low : float
        Its lower end above the railhead. [mm]
    high : float
        Its upper end. [mm]
    vehicle : str
        The outermost vehicle's id.
    name : str
        Its name.
    """

    low: float
    high: float
    vehicle: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Envelope:
    """What all vehicles sweep in a plane.

    Parameters
    ----------
    plane : Plane
        The plane.
    outlines : tuple of Outline
        One a vehicle.
    region : BaseGeometry
        All together.
    """

    plane: Plane
    outlines: tuple[Outline, ...]
    region: BaseGeometry

    @property
    def surveyed(self) -> bool:
        """Whether all poses that count stand on surveyed track."""
        return all(o.surveyed for o in self.outlines)


def track_plane(line: Line, station: float) -> Plane:
    """Return the plane square to a track.

    Parameters
    ----------
    line : Line
        The line.
    station : float
        Where. [mm]

    Returns
    -------
    Plane
        Its origin and axes.
    """
    s = np.array([station])
    at = frames(line, s)
    return Plane(station=station, origin=at.origin[0], axes=at.axes[0], roll=float(al.roll_at(line, s)[0]))


def in_plane(plane: Plane, points: FloatArray) -> FloatArray:
    """Return points in the frame of a plane.

    Parameters
    ----------
    plane : Plane
        The plane.
    points : ndarray, shape (..., 3)
        Points in the layout frame. [mm]

    Returns
    -------
    ndarray, shape (..., 3)
        Ahead of the plane, to the left, up. [mm]
    """
    return (points - plane.origin) @ plane.axes.T


def section_envelope(
    line: Line, vehicles: tuple[Vehicle, ...], station: float, *, step: float = 2.0
) -> Envelope:
    """Return what vehicles sweep in the plane square to their track.

    Parameters
    ----------
    line : Line
        Their line; it runs on straight beyond its ends.
    vehicles : tuple of Vehicle
        The vehicles; their play is worst case and included.
    station : float
        Where the plane stands. [mm]
    step : float
        Distance of the poses, besides those that are taken exactly. [mm]

    Returns
    -------
    Envelope
        The area of each vehicle and of all.

    Raises
    ------
    InputError
        If there is no vehicle.
    NotConvergedError
        If a vehicle's trucks find no place on the line.
    """
    if not vehicles:
        raise InputError(
            "no train runs on this line, so nothing is swept",
            code="PA020",
            where=line.name,
            value=0,
            hint="List a vehicle that runs on it",
        )
    plane = track_plane(line, station)
    outlines = tuple(_outline(line, vehicle, plane, step) for vehicle in vehicles)
    region = shapely.union_all([o.region for o in outlines])
    return Envelope(plane=plane, outlines=outlines, region=region)


def _outline(line: Line, vehicle: Vehicle, plane: Plane, step: float) -> Outline:
    parts: list[BaseGeometry] = []
    surveyed = True
    for body in vehicle.bodies:
        solids = [piece.solid for piece in pieces(body, vehicle.play)]
        at = poses(line, body, _pose_stations(line, body, solids, plane, step))
        reach = at.half + 0.5 * body.truck_wheelbase
        beyond = (at.station - reach < line.surveyed[0]) | (at.station + reach > line.surveyed[1])
        for solid in solids:
            swept, counts = _swept(solid, at, plane)
            parts += swept
            surveyed = surveyed and not bool(np.any(beyond & counts))
    region = shapely.simplify(shapely.union_all(parts), _SMOOTH)
    return Outline(vehicle=vehicle.id, name=vehicle.name, region=region, surveyed=surveyed)


def _pose_stations(
    line: Line, body: Body, solids: list[ConvexPrism], plane: Plane, step: float
) -> FloatArray:
    """Return an even grid, and each pose at which a corner of a prism's end lies in the plane."""
    corners = np.vstack(
        [
            np.column_stack([np.full(len(solid.polygon), end), solid.polygon])
            for solid in solids
            for end in (solid.rear, solid.front)
        ]
    )
    s = plane.station - corners[:, 0]
    before, far = s - 1.0, _ahead(line, body, s - 1.0, corners, plane)
    for _ in range(12):  # the secant rule: the distance grows nearly by 1 a mm
        near = _ahead(line, body, s, corners, plane)
        if np.max(np.abs(near)) < 0.1 * _IN_PLANE:
            break
        slope = np.where(s != before, (near - far) / np.where(s != before, s - before, 1.0), 1.0)
        before, far = s, near
        s = s - near / np.where(np.abs(slope) > 0.2, slope, 1.0)
    low, high = s.min(), s.max()
    grid = np.linspace(low, high, max(2, int(np.ceil((high - low) / step)) + 1))
    return np.unique(np.concatenate([grid, s]))


def _ahead(line: Line, body: Body, s: FloatArray, corners: FloatArray, plane: Plane) -> FloatArray:
    at = poses(line, body, s)
    world = at.origin + np.einsum("nj,njc->nc", corners, at.axes)
    return (world - plane.origin) @ plane.axes[0]


def _swept(solid: ConvexPrism, at: Poses, plane: Plane) -> tuple[list[BaseGeometry], np.ndarray]:
    """Return hulls of the sections at neighbouring poses, and which poses meet the plane."""
    m = len(solid.polygon)
    ends = [
        in_plane(
            plane,
            at.origin[:, None]
            + np.einsum("mj,njc->nmc", np.column_stack([np.full(m, x), solid.polygon]), at.axes),
        )
        for x in (solid.rear, solid.front)
    ]
    rear, front = ends
    starts = np.concatenate([rear, rear, front], axis=1)
    stops = np.concatenate([front, np.roll(rear, -1, axis=1), np.roll(front, -1, axis=1)], axis=1)
    a, b = starts[..., 0], stops[..., 0]
    crosses = (a < -_IN_PLANE) & (b > _IN_PLANE) | (a > _IN_PLANE) & (b < -_IN_PLANE)
    share = np.where(crosses, a / np.where(crosses, a - b, 1.0), 0.0)
    met = starts[..., 1:] + share[..., None] * (stops[..., 1:] - starts[..., 1:])
    points = np.concatenate([met, rear[..., 1:], front[..., 1:]], axis=1)
    lies = [np.abs(end[..., 0]) <= _IN_PLANE for end in ends]
    taken = np.concatenate([crosses, *lies], axis=1)
    counts: np.ndarray = np.any(taken, axis=1)
    both = np.concatenate([points[:-1], points[1:]], axis=1)
    used = np.concatenate([taken[:-1], taken[1:]], axis=1)
    used &= (counts[:-1] & counts[1:])[:, None]
    which = np.nonzero(used)[0]
    if not len(which):
        return [], counts
    clouds = shapely.multipoints(both[used], indices=np.unique(which, return_inverse=True)[1])
    hulls = shapely.convex_hull(clouds)
    return [hull for hull in hulls if hull.geom_type == "Polygon"], counts


def outermost(region: BaseGeometry, heights: FloatArray, side: str) -> FloatArray:
    """Return how far an area reaches to one side at given heights.

    Parameters
    ----------
    region : BaseGeometry
        An area in (left, up) of a plane.
    heights : ndarray, shape (n,)
        Heights above the railhead. [mm]
    side : str
        ``left`` or ``right``.

    Returns
    -------
    ndarray, shape (n,)
        Outward from the track's centre; minus infinity where the area has nothing. [mm]
    """
    (y1, z1), (y2, z2) = _edges(region, side)
    h = heights[:, None]
    spans = (np.minimum(z1, z2) <= h) & (h <= np.maximum(z1, z2))
    rise = np.where(z2 == z1, 1.0, z2 - z1)
    reach = np.where(z2 == z1, np.maximum(y1, y2), y1 + (h - z1) / rise * (y2 - y1))
    return np.max(np.where(spans, reach, -np.inf), axis=1, initial=-np.inf)


def _edges(region: BaseGeometry, side: str) -> tuple[FloatArray, FloatArray]:
    """Return both ends of every edge of an area, outward positive, each of shape (2, edges)."""
    rings = shapely.get_rings(shapely.get_parts(region))
    sense = np.array([SIDES[side], 1.0])
    corners = [shapely.get_coordinates(ring) * sense for ring in rings]
    if not corners:
        return np.zeros((2, 0)), np.zeros((2, 0))
    return np.vstack([c[:-1] for c in corners]).T, np.vstack([c[1:] for c in corners]).T


def half_profile(region: BaseGeometry, side: str) -> FloatArray:
    """Return the outline of an area on one side, from its lowest point up.

    What slides along the track may have hollows in its edge, so they stay; where the area is empty
    between two heights the outline goes in to the centre.

    Parameters
    ----------
    region : BaseGeometry
        An area in (left, up) of a plane.
    side : str
        ``left`` or ``right``.

    Returns
    -------
    ndarray, shape (n, 2)
        Outward from the track's centre, and height above the railhead. [mm]
    """
    levels = np.unique(shapely.get_coordinates(region)[:, 1])
    low, high = levels[:-1], levels[1:]
    (y1, z1), (y2, z2) = _edges(region, side)
    middle = (0.5 * (low + high))[:, None]
    spans = (np.minimum(z1, z2) < middle) & (middle < np.maximum(z1, z2))
    slope = (y2 - y1) / np.where(z2 == z1, 1.0, z2 - z1)
    reach = np.where(spans, y1 + (middle - z1) * slope, -np.inf)
    edge = np.argmax(reach, axis=1)  # edges of an area do not cross, so one is outermost in the whole band
    empty = ~spans.any(axis=1)
    ends = [np.where(empty, 0.0, y1[edge] + (z - z1[edge]) * slope[edge]) for z in (low, high)]
    points = np.stack([np.column_stack([ends[0], low]), np.column_stack([ends[1], high])], axis=1)
    line = shapely.LineString(np.maximum(points.reshape(-1, 2), [0.0, -np.inf]))
    return shapely.get_coordinates(shapely.simplify(line, _SMOOTH))


def bands(envelope: Envelope, side: str, *, step: float = 0.5) -> tuple[Band, ...]:
    """Return which vehicle is outermost at which heights.

    Parameters
    ----------
    envelope : Envelope
        The envelope.
    side : str
        ``left`` or ``right``.
    step : float
        Heights that are looked at. [mm]

    Returns
    -------
    tuple of Band
        From the lowest up.
    """
    _, low, _, high = envelope.region.bounds
    heights = np.arange(low + 0.5 * step, high, step)
    reach = np.array([outermost(o.region, heights, side) for o in envelope.outlines])
    first = np.argmax(reach, axis=0)
    there = np.isfinite(reach.max(axis=0))
    found: list[Band] = []
    for height, k, filled in zip(heights, first, there, strict=True):
        if not filled:
            continue
        outline = envelope.outlines[k]
        bottom, top = float(height - 0.5 * step), float(min(height + 0.5 * step, high))
        if found and found[-1].vehicle == outline.vehicle and bottom - found[-1].high < 1e-9:
            bottom = found.pop().low
        found.append(Band(low=bottom, high=top, vehicle=outline.vehicle, name=outline.name))
    return tuple(found)


def shape_section(shape: Shape, plane: Plane) -> BaseGeometry:
    """Return a finished part cut by a plane.

    Parameters
    ----------
    shape : Shape
        The part.
    plane : Plane
        The plane.

    Returns
    -------
    BaseGeometry
        The cut area in (left, up) of the plane; empty where it misses the part.
    """
    return cut_mesh(in_plane(plane, shape.vertices), shape.triangles)


def grown(region: BaseGeometry, side: float, above: float) -> BaseGeometry:
    """Return an area with margins: all that it covers when moved sideways and upward by up to so much.

    Parameters
    ----------
    region : BaseGeometry
        An area in (left, up) of a plane.
    side : float
        Margin to each side. [mm]
    above : float
        Margin upward. [mm]

    Returns
    -------
    BaseGeometry
        The larger area.
    """
    (y1, z1), (y2, z2) = _edges(region, "left")
    ends = np.stack([np.column_stack([y1, z1]), np.column_stack([y2, z2])], axis=1)
    moves = np.array([[-side, 0.0], [side, 0.0], [-side, above], [side, above]])
    corners = (ends[:, :, None] + moves).reshape(len(ends), -1, 2)
    moved = shapely.convex_hull(shapely.multipoints(corners))
    return shapely.simplify(shapely.union_all([region, *moved]), _SMOOTH)
