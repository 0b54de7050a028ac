"""The least gap in space between a vehicle and each part, over all poses, with its witnesses.

The search (:mod:`spanwright.clearance.engine.search`) finds the pair of triangle and piece, and the pose to
within a cell; the pose is then polished with exact poses, so that the witness is a true stationary
point and the derivatives with the witness held are those of the least gap (envelope theorem).

Read :func:`least_gap` first. :func:`prepare` makes what several searches of one vehicle share.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment.line import Line
from spanwright.clearance.engine import motion
from spanwright.clearance.engine.search import (
    CELL_SHARE,
    Candidates,
    Goal,
    Targets,
    cluster_of,
    collect,
    copies,
    only,
    prism_arrays,
    search,
)
from spanwright.clearance.engine.track import track_of
from spanwright.clearance.sweep import no_place
from spanwright.clearance.vehicles import Piece, Vehicle, pieces
from spanwright.clearance.witness import Prepared, SearchSettings, Witness, is_surveyed, side_of
from spanwright.geometry import convex, kernel
from spanwright.geometry import distance as ds
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray
IntArray = np.ndarray
BoolArray = np.ndarray

MOST_EXTRA = 4
_EACH = 3  # candidates of one cluster that are polished
_FLAT = 1e-5  # mm: what a gap must rise to both sides of a minimum of its own
_WINDOW = 2.0  # mm of station around a find that is polished
_FINEST = 2e-5  # mm of station: half a window that is fine enough
_APART = 20.0  # mm of station, and
_TOUCHING = 2.0  # tolerances: how far it is looked where only a touch matters
_ELSEWHERE = 10.0  # mm between points of the part, that make two witnesses


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


def half_of(prepared: Prepared, side: float) -> Prepared:
    """Return the same poses for one half of each body, left or right of its middle.

    A roof that is as near to a soffit on the left as on the right has two closest points whose doubts
    differ much, since a cant lowers one and lifts the other. Each half finds its own.

    Parameters
    ----------
    prepared : Prepared
        Poses.
    side : float
        1 for the left half, -1 for the right. [1]

    Returns
    -------
    Prepared
        For searches that look for nothing but the least gap of that half.
    """
    bodies = []
    for pieces_of in prepared.pieces:
        cut = [(piece, convex.half(piece.solid.polygon, side)) for piece in pieces_of]
        kept = tuple(
            replace(piece, solid=replace(piece.solid, polygon=convex.hull(polygon)))
            for piece, polygon in cut
            if len(polygon)
        )
        bodies.append(kept or pieces_of)
    settings = replace(prepared.settings, also_within=0.0)
    return replace(prepared, pieces=tuple(bodies), settings=settings)


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


def find(
    prepared: Prepared, shapes: tuple[Shape, ...], parts: tuple[Shape, ...] | None = None
) -> tuple[Witness, ...]:
    """Return the closest approach to each part, with poses prepared before.

    Parameters
    ----------
    prepared : Prepared
        Poses and pieces of the vehicle.
    shapes : tuple of Shape
        The parts.
    parts : tuple of Shape, optional
        All parts, of which those are some, in the same order: one table then serves many searches.

    Returns
    -------
    tuple of Witness
        As :func:`least_gap`.
    """
    if not shapes:
        return ()
    settings = prepared.settings
    every = shapes if parts is None else parts
    targets = only(collect(every), [shape in shapes for shape in every])
    known = np.full(len(every), settings.reach)
    goal = Goal(tolerance=settings.tolerance, reach=settings.reach, also_within=settings.also_within)
    found: list[list[_Find]] = [[] for _ in every]
    for body in range(len(prepared.vehicle.bodies)):
        result = search(prepared.grids[body], prepared.pieces[body], targets, goal=goal, known=known)
        chosen = _thin_out(result, targets, prepared, body)
        for one in _polish(prepared, body, targets, chosen):
            part = int(targets.part[one.owner])
            found[part].append(one)
            known[part] = min(known[part], one.contact.distance[0])
    witnesses: list[Witness] = []
    for part, shape in enumerate(every):
        if shape not in shapes:
            continue
        picked = _pick(found[part], prepared, targets)
        witnesses += [_witness(prepared, shape, targets, one) for one in picked] or [_beyond(prepared, shape)]
    return tuple(witnesses)


def are_free(prepared: Prepared, shape: Shape, by: FloatArray) -> BoolArray:
    """Tell which copies of a part, each moved, no pose of a vehicle touches.

    Parameters
    ----------
    prepared : Prepared
        Poses and pieces of the vehicle.
    shape : Shape
        The part where it stands.
    by : ndarray, shape (m, 3)
        Where each copy is moved. [mm]

    Returns
    -------
    ndarray of bool, shape (m,)
        True where the gap is more than nought; one that is less than the tolerance may be none at all.
    """
    tolerance = prepared.settings.tolerance
    targets = copies(collect((shape,)), by)
    known = np.full(len(by), _TOUCHING * tolerance)
    goal = Goal(tolerance=tolerance, reach=_TOUCHING * tolerance)
    for grid, solids in zip(prepared.grids, prepared.pieces, strict=True):
        found = search(grid, solids, targets, goal=goal, known=known)
        known[targets.part[found.owner]] = found.distance
    return np.asarray(known > 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class _Find:
    body: int
    owner: int
    piece: int
    station: float
    origin: FloatArray  # of the body at this station, and its axes
    axes: FloatArray
    contact: ds.Contact  # of one triangle
    is_minimum: bool  # the gap rises to both sides of the station


def _thin_out(found: Candidates, targets: Targets, prepared: Prepared, body: int) -> Candidates:
    """Thin out the candidates of each part: the least ones elsewhere, and the least one not surveyed."""
    surveyed = is_surveyed(prepared.line, prepared.vehicle.bodies[body], found.station)
    cluster = cluster_of(targets, found.owner)
    kept: dict[tuple[int, bool], list[int]] = {}
    for row in np.argsort(found.distance, kind="stable"):
        part = int(targets.part[found.owner[row]])
        same = kept.setdefault((part, bool(surveyed[row])), [])
        if not surveyed[row]:
            same.extend([int(row)] * (not same))
            continue
        beside = [k for k in same if cluster[k] == cluster[row]]
        full = len(beside) >= _EACH if beside else len({cluster[k] for k in same}) >= 2 * MOST_EXTRA
        if not full and all(abs(found.station[row] - found.station[k]) >= 0.25 * _APART for k in beside):
            same.append(int(row))
    rows = np.array(sorted(k for group in kept.values() for k in group), dtype=int)
    return Candidates(
        distance=found.distance[rows],
        owner=found.owner[rows],
        piece=found.piece[rows],
        station=found.station[rows],
    )


def _polish(prepared: Prepared, body: int, targets: Targets, found: Candidates) -> list[_Find]:
    """Move each candidate's pose to where its pair is closest, with exact poses."""
    line, solids = prepared.line, [p.solid for p in prepared.pieces[body]]
    track = track_of(line)
    one = prepared.vehicle.bodies[body]
    first, last = prepared.grids[body].nodes[[0, -1]]
    m = len(found.owner)
    rows = np.empty((m, 21))
    arrays = [
        kernel.whole([len(track.start), m, len(solids)]),
        kernel.floats([one.truck_spacing, one.truck_wheelbase, first, last, _WINDOW, _FINEST, _FLAT]),
        *(track.start, track.rows),
        *prism_arrays(solids),
        kernel.floats(targets.corners[found.owner]),
        *(kernel.whole(found.piece), kernel.floats(found.station), rows),
    ]
    if kernel.library().polish(*(kernel.address(a) for a in arrays)) < m:
        raise no_place(line, one, np.nan)
    contact = [
        ds.Contact(distance=r[13:14], on_prism=r[None, 14:17], weights=r[None, 17:20]) for r in rows.copy()
    ]
    return [
        _Find(body, int(o), int(p), float(r[0]), r[1:4], r[4:13].reshape(3, 3), c, bool(r[20]))
        for o, p, r, c in zip(found.owner, found.piece, rows, contact, strict=True)
    ]


def _pick(found: list[_Find], prepared: Prepared, targets: Targets) -> list[_Find]:
    """Pick the least, a few others that are minima elsewhere, and the least on ground not surveyed.

    On a stretch of even gap (a wall along the track) each place of the part counts once, not each pose.
    """
    settings = prepared.settings
    ordered = sorted(found, key=lambda one: one.contact.distance[0])
    if not ordered or ordered[0].contact.distance[0] >= settings.reach:
        return []
    least = ordered[0].contact.distance[0]
    picked: list[_Find] = ordered[:1]
    if settings.also_within <= 0 or least <= 0:
        return picked
    near = [one for one in ordered[1:] if one.contact.distance[0] <= least + settings.also_within]
    for one in near:
        if len(picked) <= MOST_EXTRA and all(_is_elsewhere(one, other, targets) for other in picked):
            picked.append(one)
    unknown = [one for one in near if not _stands_on_survey(prepared, one)]
    if unknown and all(_stands_on_survey(prepared, one) for one in picked):
        picked.append(unknown[0])
    return picked


def _stands_on_survey(prepared: Prepared, one: _Find) -> bool:
    body = prepared.vehicle.bodies[one.body]
    return bool(is_surveyed(prepared.line, body, np.array([one.station]))[0])


def _is_elsewhere(one: _Find, other: _Find, targets: Targets) -> bool:
    apart = _part_point(one, targets) - _part_point(other, targets)
    return (
        one.body != other.body
        or (one.is_minimum and abs(one.station - other.station) > _APART)
        or float(np.sqrt(apart @ apart)) > _ELSEWHERE
    )


def _part_point(one: _Find, targets: Targets) -> FloatArray:
    return one.contact.weights[0] @ targets.corners[one.owner]


def _witness(prepared: Prepared, shape: Shape, targets: Targets, one: _Find) -> Witness:
    line, vehicle = prepared.line, prepared.vehicle
    body = vehicle.bodies[one.body]
    gap = float(one.contact.distance[0])
    on_body = one.contact.on_prism[0]
    on_part = _part_point(one, targets)
    toward = one.axes @ (on_part - one.origin) - on_body
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
        normal=seen @ one.axes,
        side=side_of(seen) if gap > 0 else side_of(_from_middle(piece.solid, on_body)),
        surveyed=bool(is_surveyed(line, body, np.array([one.station]))[0]),
        beyond_reach=False,
    )


def _from_middle(solid: ds.ConvexPrism, point: FloatArray) -> FloatArray:
    """Return a point of a section as a direction from its middle, lengthwise left out."""
    low, high = solid.polygon.min(axis=0), solid.polygon.max(axis=0)
    return np.concatenate([[0.0], (2.0 * point[1:] - low - high) / (high - low)])


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
