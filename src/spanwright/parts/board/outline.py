"""The opening in the board in plan: the finished line, and the saw line in the waste inside it.

Each side is cut straight from support to support, parallel to the span beside it, so far out that all of
the bridge that rises to the board has the room that was asked. Two cuts meet on the line square to the
bridge at their support; where they do not quite meet there, the outer one is taken. The ends are cut at
the approach side of the end supports. All corners are derived numbers in the layout frame.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import Line, TrackPoint, height_at, nearest_station, position_at, track_point
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, size
from spanwright.parts.given import Subroadbed
from spanwright.structures.given import StructuresInput
from spanwright.structures.shapes import Shape
from spanwright.structures.spans import SpanAxis, beside
from spanwright.structures.stage import Structures
from spanwright.structures.supports import FittedSupport
from spanwright.survey.readings import Rail

FloatArray = np.ndarray

#: The saw runs out so far beyond the board's edge. [mm]
RUN_OUT = 3.0
_STEP = 1.0  # straight cuts are looked at so often to find where they leave the board


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RailMark:
    """A survey mark on a rail of the line.

    Parameters
    ----------
    name : str
        The builder's name.
    rail : Rail
        Which rail, or both.
    x : Derived
        Adjusted place, first coordinate.
    y : Derived
        Adjusted place, second coordinate.
    z : Derived
        Railhead height there.
    station : Derived
        Its station on the line.
    """

    name: str
    rail: Rail
    x: Derived
    y: Derived
    z: Derived
    station: Derived


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """The track that a pattern is laid on.

    Parameters
    ----------
    line : Line
        The line.
    inputs : Inputs
        The base inputs.
    head : Derived
        Width of a rail head.
    marks : tuple of RailMark
        Survey marks on it, in station order.
    bridge : StructuresInput
        Rail, tie and coverage factor.
    """

    line: Line
    inputs: Inputs
    head: Derived
    marks: tuple[RailMark, ...]
    bridge: StructuresInput

    @property
    def edge(self) -> Derived:
        """From the track's centre to the outer edge of a rail head."""
        return (self.line.head_distance + self.head) * 0.5

    @property
    def side(self) -> float:
        """1 if most marks stand on the left rail, else -1."""
        left = sum(m.rail is Rail.LEFT for m in self.marks)
        return 1.0 if left > sum(m.rail is Rail.RIGHT for m in self.marks) else -1.0

    def board_top(self, z: Derived) -> Derived:
        """Return the height of the board's top under a railhead.

        Parameters
        ----------
        z : Derived
            Height of the railhead.

        Returns
        -------
        Derived
            Lower by rail and tie.
        """
        return z - size(self.inputs, self.bridge.rail) - size(self.inputs, self.bridge.tie)

    def off(self, station: Derived, left: Derived) -> tuple[Derived, Derived, Derived]:
        """Return a plan point square off the track, and the railhead height at its foot.

        Parameters
        ----------
        station : Derived
            Station of its foot.
        left : Derived
            How far to the left of the track's centre.

        Returns
        -------
        tuple of Derived
            x, y and z.
        """
        at = self.at(station)
        x = at.x[0] - dv.sin(at.heading)[0] * left
        y = at.y[0] + dv.cos(at.heading)[0] * left
        return x, y, at.z[0]

    def at(self, station: Derived) -> TrackPoint:
        """Return the track at one station.

        Parameters
        ----------
        station : Derived
            The station.

        Returns
        -------
        TrackPoint
            Arrays of shape (1,).
        """
        return track_point(self.line, Derived(station.value.reshape(1), station.jac.reshape(1, -1)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """The finished opening.

    Parameters
    ----------
    supports : tuple of str
        The supports at its corners, in station order.
    corners : Derived
        First the left side in growing station, then the right side back, shape (2 n, 2).
    ends : tuple of Derived
        Stations of the two end cuts on the upper line.
    joints : tuple of float
        Stations of the supports between. [mm]
    """

    supports: tuple[str, ...]
    corners: Derived
    ends: tuple[Derived, Derived]
    joints: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Ray:
    """The line square to the bridge at a support, on which corners lie."""

    x: Derived
    y: Derived
    left: tuple[Derived, Derived]


def outline(
    given: Subroadbed, inputs: Inputs, line: Line, structures: Structures, bridge: StructuresInput
) -> Outline:
    """Return the finished line of the opening.

    Parameters
    ----------
    given : Subroadbed
        The board and the room wanted.
    inputs : Inputs
        The base inputs.
    line : Line
        The line on the board.
    structures : Structures
        The bridge.
    bridge : StructuresInput
        Layers between railhead and board.

    Returns
    -------
    Outline
        Its corners.
    """
    axes = [s.axis for s in structures.spans]
    rising = _rising(given, inputs, line, structures, bridge)
    rays = [_end(line, structures, structures.supports[0], -1.0)]
    rays += [
        _joint(line, support.station, (a, b))
        for support, a, b in zip(structures.supports[1:-1], axes[:-1], axes[1:], strict=True)
    ]
    rays.append(_end(line, structures, structures.supports[-1], 1.0))
    sides = []
    for sign in (1.0, -1.0):
        reach = [_reach(axis, rising, sign) + given.room for axis in axes]
        corners = []
        for k, ray in enumerate(rays):
            met = [_meet(ray, axes[j], reach[j] * sign) for j in (k - 1, k) if 0 <= j < len(axes)]
            out = max(met, key=lambda m: sign * float(m.value))
            corners.append(dv.stack([ray.x + ray.left[0] * out, ray.y + ray.left[1] * out]))
        sides.append(corners)
    stations = tuple(beside(line, r.x, r.y)[0] for r in (rays[0], rays[-1]))
    return Outline(
        supports=tuple(s.given.name for s in structures.supports),
        corners=dv.stack([*sides[0], *reversed(sides[1])]),
        ends=(stations[0], stations[1]),
        joints=tuple(s.station for s in structures.supports[1:-1]),
    )


def underside_at(
    given: Subroadbed, inputs: Inputs, line: Line, bridge: StructuresInput, stations: FloatArray
) -> FloatArray:
    """Return the height of the board's underside below the track's centre.

    Parameters
    ----------
    given : Subroadbed
        The board.
    inputs : Inputs
        The base inputs.
    line : Line
        The line on the board.
    bridge : StructuresInput
        Rail and tie.
    stations : ndarray, shape (n,)
        Where. [mm]

    Returns
    -------
    ndarray, shape (n,)
        Heights. [mm]
    """
    layers = (bridge.rail, bridge.tie, given.thickness)
    return height_at(line, stations) - sum(float(size(inputs, layer).value) for layer in layers)


def _rising(
    given: Subroadbed, inputs: Inputs, line: Line, structures: Structures, bridge: StructuresInput
) -> tuple[Shape, ...]:
    """Return the shapes whose top comes as near to the board as the room that is wanted, or higher."""
    tops = np.array([s.vertices[np.argmax(s.vertices[:, 2])] for s in structures.shapes])
    under = underside_at(given, inputs, line, bridge, nearest_station(line, tops[:, :2]))
    return tuple(
        s for s, z, u in zip(structures.shapes, tops[:, 2], under, strict=True) if z > u - given.room
    )


def corner_point(shape: Shape, number: int) -> tuple[Derived, Derived]:
    """Return a corner of a shape in plan.

    Parameters
    ----------
    shape : Shape
        The part.
    number : int
        Which corner.

    Returns
    -------
    tuple of Derived
        x and y.
    """
    found = Derived(shape.vertices[number], shape.sensitivity[number] @ shape.controls.jac)
    return found[0], found[1]


def _reach(axis: SpanAxis, shapes: Iterable[Shape], sign: float) -> Derived:
    """How far the bridge reaches from a span's axis to one side: its own parts and its supports'."""
    own = {axis.given.name, axis.given.start, axis.given.end}
    middle, left = axis.middle.value, axis.across.value
    found = []
    for shape in shapes:  # the span's ties are always among them
        if shape.part.partition("/")[0] in own:
            out = sign * ((shape.vertices[:, :2] - middle) @ left)
            k = int(np.argmax(out))
            found.append((float(out[k]), shape, k))
    _, shape, k = max(found, key=lambda f: f[0])
    x, y = corner_point(shape, k)
    return ((x - axis.middle[0]) * axis.across[0] + (y - axis.middle[1]) * axis.across[1]) * sign


def _end(line: Line, structures: Structures, support: FittedSupport, outward: float) -> _Ray:
    """Place the end cut: square to the track at the support, at the approach side of its backwall or cap."""
    track = track_point(line, np.array([support.station]))
    ahead = (dv.cos(track.heading)[0], dv.sin(track.heading)[0])
    at = np.array([float(track.x.value[0]), float(track.y.value[0])])
    way = outward * np.array([float(a.value) for a in ahead])
    parts = {s.part: s for s in structures.shapes}
    name = support.given.name
    shape = parts.get(f"{name}/backwall", parts[f"{name}/cap"])
    k = int(np.argmax((shape.vertices[:, :2] - at) @ way))
    x, y = corner_point(shape, k)
    beyond = (x - track.x[0]) * ahead[0] + (y - track.y[0]) * ahead[1]
    return _Ray(
        x=track.x[0] + ahead[0] * beyond, y=track.y[0] + ahead[1] * beyond, left=(-ahead[1], ahead[0])
    )


def _joint(line: Line, station: float, axes: tuple[SpanAxis, SpanAxis]) -> _Ray:
    """Return the line through a support that halves the angle of its two spans."""
    track = track_point(line, np.array([station]))
    nx, ny = (axes[0].across[k] + axes[1].across[k] for k in (0, 1))
    norm = dv.sqrt(nx * nx + ny * ny)
    return _Ray(x=track.x[0], y=track.y[0], left=(nx / norm, ny / norm))


def _meet(ray: _Ray, axis: SpanAxis, left: Derived) -> Derived:
    """How far along the ray the cut lies that is parallel to the axis and so far to its left."""
    own = (ray.x - axis.middle[0]) * axis.across[0] + (ray.y - axis.middle[1]) * axis.across[1]
    return (left - own) / (ray.left[0] * axis.across[0] + ray.left[1] * axis.across[1])


def inset(corners: Derived, by: Derived) -> Derived:
    """Move every edge of an outline inward by the same distance.

    Parameters
    ----------
    corners : Derived
        Corners, clockwise seen from above, shape (n, 2).
    by : Derived
        How far.

    Returns
    -------
    Derived
        The corners of the smaller outline, shape (n, 2).

    Notes
    -----
    A corner with the inward normals a and b of its two edges moves by ``d (a + b) / (1 + a.b)``, which
    holds for edges in one line too.
    """
    n = len(corners)
    normals = []
    for k in range(n):
        edge = corners[(k + 1) % n] - corners[k]
        length = dv.sqrt(edge[0] * edge[0] + edge[1] * edge[1])
        normals.append((edge[1] / length, -edge[0] / length))
    moved = []
    for k in range(n):
        (ax, ay), (bx, by_) = normals[k - 1], normals[k]
        share = by / (ax * bx + ay * by_ + 1.0)
        moved.append(dv.stack([corners[k][0] + (ax + bx) * share, corners[k][1] + (ay + by_) * share]))
    return dv.stack(moved)


def off_centre(line: Line, points: FloatArray) -> FloatArray:
    """Return how far plan points lie to the left of the track's centre.

    Parameters
    ----------
    line : Line
        The line.
    points : ndarray, shape (n, 2)
        Plan points. [mm]

    Returns
    -------
    ndarray, shape (n,)
        Left positive. [mm]
    """
    foot, heading = position_at(line, nearest_station(line, points))
    gap = points - foot
    return gap[:, 1] * np.cos(heading) - gap[:, 0] * np.sin(heading)


def on_board(given: Subroadbed, line: Line, ring: FloatArray) -> tuple[tuple[FloatArray, bool], ...]:
    """Return what of a closed outline lies on the board, and a little beyond its edge where a cut runs out.

    Parameters
    ----------
    given : Subroadbed
        The board with its edges.
    line : Line
        The line on it.
    ring : ndarray, shape (n, 2)
        Corners of the outline. [mm]

    Returns
    -------
    tuple of (ndarray, bool)
        Each run of straight lines, shape (m, 2), and whether it is closed. [mm]
    """
    if np.isinf(given.edge_left) and np.isinf(given.edge_right):
        return ((ring, True),)
    points: list[FloatArray] = []
    corner: list[bool] = []
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        count = max(2, int(np.ceil(np.hypot(*(b - a)) / _STEP)))
        points += [a + (b - a) * (k / count) for k in range(count)]
        corner += [True] + [False] * (count - 1)
    path = np.array(points)
    left = off_centre(line, path)
    # how far inside the nearer limit; the cut is drawn while this is not negative
    inside = np.minimum(given.edge_left + RUN_OUT - left, given.edge_right + RUN_OUT + left)
    if np.all(inside >= 0.0):
        return ((ring, True),)
    first = int(np.argmin(inside))
    order = np.roll(np.arange(len(path)), -first)
    runs: list[list[FloatArray]] = []
    for i, j in zip(order, np.roll(order, -1), strict=True):
        a, b = inside[i], inside[j]
        if a < 0.0 <= b:
            runs.append([path[i] + (path[j] - path[i]) * (a / (a - b))])
        if b >= 0.0 and corner[j]:
            runs[-1].append(path[j])
        if a >= 0.0 > b:
            runs[-1].append(path[i] + (path[j] - path[i]) * (a / (a - b)))
    return tuple((np.array(run), False) for run in runs if len(run) > 1)
