"""The least gap in space between a vehicle and each part, over all poses, with its witnesses.

The search (:mod:`spanwright.clearance.search`) finds the pair of triangle and piece, and the pose to
within a cell; the pose is then polished with exact poses, so that the witness is a true stationary
point and the derivatives with the witness held are those of the least gap (envelope theorem).

Read :func:`least_gap` first. :func:`prepare` makes what several searches of one vehicle share.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment.line import Line
from spanwright.clearance import motion
from spanwright.clearance.motion import Grid
from spanwright.clearance.search import CELL_SHARE, Candidates, Goal, Targets, collect, search
from spanwright.clearance.sweep import Poses, poses
from spanwright.clearance.vehicles import Body, Piece, Vehicle, pieces
from spanwright.errors import InputError
from spanwright.geometry import distance as ds
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray
BoolArray = np.ndarray

MOST_EXTRA = 4
_WINDOW = 2.0  # mm of station around a find that is polished
_POINTS = 17  # poses in each round of polishing
_APART = 20.0  # mm of station, and
_ELSEWHERE = 10.0  # mm between points of the part, that make two witnesses


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchSettings:
    """How exact and how far a search looks.

    Parameters
    ----------
    tolerance : float
        A gap reported is never larger than the true one by more than this. [mm]
    reach : float
        Gaps beyond this are only said to be beyond it. [mm]
    also_within : float
        Further distinct witnesses are kept up to this above the least gap; 0 keeps none. [mm]
    """

    tolerance: float = 0.005
    reach: float = 25.0
    also_within: float = 0.0

    def __post_init__(self) -> None:
        if not (self.tolerance > 0 and self.reach > 0 and self.also_within >= 0):
            raise InputError(
                "a setting of the search is not positive",
                code="CL011",
                where="search settings",
                value=(self.tolerance, self.reach, self.also_within),
                limit="more than 0",
                hint="0.005 mm and 25 mm do for most jobs",
            )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Witness:
    """Where a vehicle comes closest to a part.

    Parameters
    ----------
    part : str
        The part's id.
    vehicle : str
        The vehicle's id.
    body : int
        Number of the body in its vehicle.
    prism : int
        Number of the prism in its body.
    station : float
        Pose station. [mm]
    gap : float
        Least distance; 0 where they overlap; the reach where it is beyond it. [mm]
    body_point : ndarray, shape (3,)
        Closest point of the body (play included) in its frame. [mm]
    part_point : ndarray, shape (3,)
        Closest point of the part in the layout frame. [mm]
    triangle : int
        Triangle of the part; -1 when beyond reach.
    weights : ndarray, shape (3,)
        Barycentric weights of the point in it. [1]
    normal : ndarray, shape (3,)
        From the body to the part, unit length; zero where they overlap. [1]
    side : str
        Which side of the body: left, right, above, below, ahead or behind.
    surveyed : bool
        False if a truck or an end of the body is beyond the surveyed part of the line.
    beyond_reach : bool
        True if the gap is only known to be more than the reach.
    """

    part: str
    vehicle: str
    body: int
    prism: int
    station: float
    gap: float
    body_point: FloatArray
    part_point: FloatArray
    triangle: int
    weights: FloatArray
    normal: FloatArray
    side: str
    surveyed: bool
    beyond_reach: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prepared:
    """What all searches of one vehicle on one line share.

    Parameters
    ----------
    line : Line
        The line.
    vehicle : Vehicle
        The vehicle.
    pieces : tuple of tuple of Piece
        Convex pieces of each body, grown by play.
    grids : tuple of Grid
        Poses of each body.
    settings : SearchSettings
        How exact and how far.
    """

    line: Line
    vehicle: Vehicle
    pieces: tuple[tuple[Piece, ...], ...]
    grids: tuple[Grid, ...]
    settings: SearchSettings


def run_of(line: Line, vehicle: Vehicle) -> tuple[float, float]:
    """Return the first and last pose station: a body length beyond the surveyed line at both ends.

    Parameters
    ----------
    line : Line
        The line.
    vehicle : Vehicle
        The vehicle.

    Returns
    -------
    tuple of float
        Stations. [mm]
    """
    length = max(b.front - b.rear for b in vehicle.bodies)
    return line.surveyed[0] - length, line.surveyed[1] + length


def prepare(line: Line, vehicle: Vehicle, settings: SearchSettings) -> Prepared:
    """Reckon the poses of a vehicle along a line.

    Parameters
    ----------
    line : Line
        The line.
    vehicle : Vehicle
        The vehicle.
    settings : SearchSettings
        How exact and how far.

    Returns
    -------
    Prepared
        To be used for any number of searches.
    """
    run = run_of(line, vehicle)
    bodies = tuple(pieces(b, vehicle.play) for b in vehicle.bodies)
    grids = tuple(
        motion.build_grid(
            line,
            body,
            run,
            reach=_radius(solids) + settings.reach,
            allowed=CELL_SHARE * settings.tolerance,
        )
        for body, solids in zip(vehicle.bodies, bodies, strict=True)
    )
    return Prepared(line=line, vehicle=vehicle, pieces=bodies, grids=grids, settings=settings)


def _radius(solids: tuple[Piece, ...]) -> float:
    return max(float(np.max(np.linalg.norm(ds.corners(p.solid), axis=1))) for p in solids)


def with_body_of(prepared: Prepared, vehicle: Vehicle) -> Prepared:
    """Return the same poses for the same vehicle with other sections, as after growing by a margin.

    Parameters
    ----------
    prepared : Prepared
        Poses.
    vehicle : Vehicle
        Same bodies, truck spacings and lengths, other sections.

    Returns
    -------
    Prepared
        For searches with the new sections.
    """
    bodies = tuple(pieces(b, vehicle.play) for b in vehicle.bodies)
    return replace(prepared, vehicle=vehicle, pieces=bodies)


def least_gap(
    line: Line, vehicle: Vehicle, shapes: tuple[Shape, ...], settings: SearchSettings
) -> tuple[Witness, ...]:
    """Return the closest approach of a vehicle to each part over all poses.

    Poses run from a body length before the surveyed start to a body length past the surveyed end.

    Parameters
    ----------
    line : Line
        The line that the vehicle runs on.
    vehicle : Vehicle
        The vehicle; its play is part of it.
    shapes : tuple of Shape
        The parts.
    settings : SearchSettings
        How exact and how far.

    Returns
    -------
    tuple of Witness
        One for each part, in their order; the extra ones of a part, if wanted, follow its first.
    """
    return find(prepare(line, vehicle, settings), shapes)


def find(prepared: Prepared, shapes: tuple[Shape, ...]) -> tuple[Witness, ...]:
    """Return the closest approach to each part, with poses prepared before.

    Parameters
    ----------
    prepared : Prepared
        Poses and pieces of the vehicle.
    shapes : tuple of Shape
        The parts.

    Returns
    -------
    tuple of Witness
        As :func:`least_gap`.
    """
    settings = prepared.settings
    targets = collect(shapes)
    known = np.full(len(shapes), settings.reach)
    goal = Goal(tolerance=settings.tolerance, reach=settings.reach, also_within=settings.also_within)
    found: list[list[_Find]] = [[] for _ in shapes]
    for body in range(len(prepared.vehicle.bodies)):
        result = search(prepared.grids[body], prepared.pieces[body], targets, goal, known)
        chosen = _distinct(result, targets, prepared.grids[body])
        for one in _polish(prepared, body, targets, chosen):
            part = int(targets.part[one.owner])
            found[part].append(one)
            known[part] = min(known[part], one.contact.distance[0])
    witnesses: list[Witness] = []
    for part, shape in enumerate(shapes):
        picked = _pick(found[part], settings, targets)
        witnesses += [_witness(prepared, shape, targets, one) for one in picked] or [_beyond(prepared, shape)]
    return tuple(witnesses)


def rough_gaps(prepared: Prepared, shapes: tuple[Shape, ...]) -> FloatArray:
    """Return the least distance to each part within the tolerance, without witnesses.

    Parameters
    ----------
    prepared : Prepared
        Poses and pieces of the vehicle.
    shapes : tuple of Shape
        The parts.

    Returns
    -------
    ndarray, shape (parts,)
        0 where they overlap, the reach where it is more. [mm]
    """
    settings = prepared.settings
    targets = collect(shapes)
    known = np.full(len(shapes), settings.reach)
    goal = Goal(tolerance=settings.tolerance, reach=settings.reach)
    for grid, solids in zip(prepared.grids, prepared.pieces, strict=True):
        found = search(grid, solids, targets, goal, known)
        known[targets.part[found.owner]] = found.distance
    return known


@dataclass(frozen=True, slots=True, eq=False)
class _Find:
    body: int
    owner: int
    piece: int
    station: float
    contact: ds.Contact  # of one triangle
    at_edge: bool  # polishing ran into the end of its window: not a minimum of its own


def _centres(targets: Targets, owner: FloatArray) -> FloatArray:
    return targets.corners[owner].mean(axis=1)


def _distinct(found: Candidates, targets: Targets, grid: Grid) -> Candidates:
    """Thin out the candidates of each part: the best, and those elsewhere that are best around."""
    kept: dict[int, list[int]] = {}
    for row in np.argsort(found.distance, kind="stable"):
        same = kept.setdefault(int(targets.part[found.owner[row]]), [])
        if len(same) > 3 * MOST_EXTRA:
            continue
        if any(
            abs(found.station[row] - found.station[k]) < 0.25 * _APART and found.owner[row] == found.owner[k]
            for k in same
        ):
            continue
        same.append(int(row))
    rows = np.array(sorted(k for group in kept.values() for k in group), dtype=int)
    return Candidates(
        distance=found.distance[rows],
        owner=found.owner[rows],
        piece=found.piece[rows],
        station=np.clip(found.station[rows], grid.nodes[0], grid.nodes[-1]),
    )


def _polish(prepared: Prepared, body: int, targets: Targets, found: Candidates) -> list[_Find]:
    """Move each candidate's pose to where its pair is closest, with exact poses."""
    grid = prepared.grids[body]
    m = len(found.owner)
    if m == 0:
        return []
    middle, half = found.station.copy(), _WINDOW
    while half > 2e-5:
        s = np.clip(middle[:, None] + np.linspace(-half, half, _POINTS), grid.nodes[0], grid.nodes[-1])
        at = poses(prepared.line, prepared.vehicle.bodies[body], s.ravel())
        apart = _distances(prepared.pieces[body], np.repeat(found.piece, _POINTS), _in_body(at, np.repeat(found.owner, _POINTS), targets))
        best = np.argmin(apart.reshape(m, _POINTS), axis=1)
        middle = s[np.arange(m), best]
        half *= 2.0 / (_POINTS - 1)
    at_edge = (np.abs(middle - found.station) > 0.98 * _WINDOW) & (middle > grid.nodes[0]) & (middle < grid.nodes[-1])
    at = poses(prepared.line, prepared.vehicle.bodies[body], middle)
    seen = _in_body(at, found.owner, targets)
    finds = []
    for k in range(m):
        contact = ds.triangle_prism(prepared.pieces[body][found.piece[k]].solid, seen[k : k + 1])
        finds.append(_Find(body, int(found.owner[k]), int(found.piece[k]), float(middle[k]), contact, bool(at_edge[k])))
    return finds


def _in_body(at: Poses, owner: FloatArray, targets: Targets) -> FloatArray:
    return np.einsum("nij,nkj->nki", at.axes, targets.corners[owner] - at.origin[:, None])


def _distances(solids: tuple[Piece, ...], piece: FloatArray, seen: FloatArray) -> FloatArray:
    apart = np.empty(len(seen))
    for k, one in enumerate(solids):
        rows = np.flatnonzero(piece == k)
        if len(rows):
            apart[rows] = ds.triangle_prism(one.solid, seen[rows]).distance
    return apart


def _pick(found: list[_Find], settings: SearchSettings, targets: Targets) -> list[_Find]:
    """The least, and at most a few others that are minima of their own elsewhere."""
    ordered = sorted(found, key=lambda one: one.contact.distance[0])
    if not ordered or ordered[0].contact.distance[0] >= settings.reach:
        return []
    least = ordered[0].contact.distance[0]
    if settings.also_within <= 0 or least <= 0:
        return ordered[:1]
    picked: list[_Find] = ordered[:1]
    for one in ordered[1:]:
        if one.contact.distance[0] > least + settings.also_within or len(picked) > MOST_EXTRA:
            break
        if not one.at_edge and all(_is_elsewhere(one, other, targets) for other in picked):
            picked.append(one)
    return picked


def _is_elsewhere(one: _Find, other: _Find, targets: Targets) -> bool:
    apart = _part_point(one, targets) - _part_point(other, targets)
    return (
        one.body != other.body
        or abs(one.station - other.station) > _APART
        or float(np.sqrt(apart @ apart)) > _ELSEWHERE
    )


def _part_point(one: _Find, targets: Targets) -> FloatArray:
    return one.contact.weights[0] @ targets.corners[one.owner]


def _witness(prepared: Prepared, shape: Shape, targets: Targets, one: _Find) -> Witness:
    line, vehicle = prepared.line, prepared.vehicle
    body = vehicle.bodies[one.body]
    at = poses(line, body, np.array([one.station]))
    gap = float(one.contact.distance[0])
    on_body = one.contact.on_prism[0]
    on_part = _part_point(one, targets)
    toward = at.axes[0] @ (on_part - at.origin[0]) - on_body
    seen = toward / gap if gap > 0 else np.zeros(3)
    piece = prepared.pieces[one.body][one.piece]
    return Witness(
        part=shape.part,
        vehicle=vehicle.id,
        body=one.body,
        prism=piece.prism,
        station=one.station,
        gap=gap,
        body_point=on_body,
        part_point=on_part,
        triangle=int(targets.triangle[one.owner]),
        weights=one.contact.weights[0],
        normal=seen @ at.axes[0],
        side=side_of(seen) if gap > 0 else side_of(_from_middle(piece.solid, on_body)),
        surveyed=is_surveyed(line, body, at),
        beyond_reach=False,
    )


def _from_middle(solid: ds.ConvexPrism, point: FloatArray) -> FloatArray:
    """A point of a section as a direction from the section's middle, lengthwise left out."""
    low, high = solid.polygon.min(axis=0), solid.polygon.max(axis=0)
    return np.concatenate([[0.0], (2.0 * point[1:] - low - high) / (high - low)])


def side_of(direction: FloatArray) -> str:
    """Return the word for a direction in the body frame.

    Parameters
    ----------
    direction : ndarray, shape (3,)
        Forward, left, up. [1]

    Returns
    -------
    str
        left, right, above, below, ahead or behind: the largest component.
    """
    axis = int(np.argmax(np.abs(direction)))
    return (("behind", "ahead"), ("right", "left"), ("below", "above"))[axis][int(direction[axis] > 0)]


def is_surveyed(line: Line, body: Body, at: Poses) -> bool:
    """Return whether both trucks and both ends of a body are on the surveyed part of the line.

    Parameters
    ----------
    line : Line
        The line.
    body : Body
        The body.
    at : Poses
        Its pose; the first is looked at.

    Returns
    -------
    bool
        True if all of it is.
    """
    s = float(at.station[0])
    trucks = float(at.half[0]) + 0.5 * body.truck_wheelbase
    first = s + min(body.rear, -trucks)
    last = s + max(body.front, trucks)
    return first >= line.surveyed[0] and last <= line.surveyed[1]


def _beyond(prepared: Prepared, shape: Shape) -> Witness:
    nowhere = np.full(3, np.nan)
    return Witness(
        part=shape.part,
        vehicle=prepared.vehicle.id,
        body=0,
        prism=0,
        station=float("nan"),
        gap=prepared.settings.reach,
        body_point=nowhere,
        part_point=nowhere,
        triangle=-1,
        weights=nowhere,
        normal=np.zeros(3),
        side="",
        surveyed=True,
        beyond_reach=True,
    )
