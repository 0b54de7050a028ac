"""Branch and bound over (piece of a triangle, interval of pose stations, convex piece of the body).

The search itself is compiled (``geometry/kernel.c``); here is what it takes and gives. It goes best first,
one heap for each part, down a tree to clusters of a dozen triangles. An entry stands for a node of the
tree, or for one triangle (or a part of one, made by bisection) and one convex piece of the body, over one
interval of pose stations. Seen from the body the piece rests and the triangle moves
(:mod:`spanwright.clearance.engine.motion`). At the interval's middle the exact distance is taken: it is an
upper bound of the least gap of that part. Its direction n gives a lower bound for the whole interval: the
least of ``n . q`` over the triangle's corners at both ends of the interval, less the piece's reach along n,
less the bound on the deviation from the chord. For a node it is the distance between the piece's box and
the box round the chords of its segment's ends, less its radius and that deviation. Entries that cannot beat
what is known by more than the tolerance go; the others are split, by station or by triangle, whichever
loosens the bound.

Read :func:`search` first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np

from spanwright.clearance.engine.motion import Grid
from spanwright.clearance.vehicles import Piece
from spanwright.errors import NotConvergedError
from spanwright.geometry import kernel
from spanwright.geometry.distance import ConvexPrism
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray
IntArray = np.ndarray

CLUSTER = 12  # triangles in a row that are looked at together first: a box has as many
_ROUNDING = 1e-7  # of a radius from a difference of squares, per mm of coordinates
_FANOUT = 8  # nodes under a node
_CAPACITY = 100_000  # entries that find room at first
_MOST_JUDGED = 20_000_000  # pairs of one part, after which the search is given up
_MOST_EXTRA = 60_000  # pairs of one part, after which only the least gap itself is pursued
_TOO_MANY = -2  # what the compiled search returns then
_PRUNE = 0.6  # of the tolerance: what an entry must gain to be kept
CELL_SHARE = 0.2  # of the tolerance: what the motion inside a cell may deviate


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Targets:
    """Triangles of all parts, in clusters, and a tree over the clusters of each part.

    Parameters
    ----------
    corners : ndarray, shape (t, 3, 3)
        Corners of the triangles. [mm]
    part : ndarray, shape (t,)
        Number of the part. [1]
    triangle : ndarray, shape (t,)
        Number of the triangle in its part. [1]
    first : ndarray, shape (c + 1,)
        First triangle of each cluster, and the end. [1]
    below : ndarray, shape (n, 2)
        First and end of what is under each node: triangles for the first c nodes, which are the clusters,
        nodes for the others. [1]
    stick : ndarray, shape (n, 2, 3)
        A segment for each node. [mm]
    radius : ndarray, shape (n,)
        All of the node is so near its segment. [mm]
    roots : ndarray, shape (parts,)
        Node that holds all of a part; -1 for a part without triangles. [1]
    parts : int
        Number of parts.
    """

    corners: FloatArray
    part: IntArray
    triangle: IntArray
    first: IntArray
    below: IntArray
    stick: FloatArray
    radius: FloatArray
    roots: IntArray
    parts: int


@lru_cache(maxsize=2)  # many vehicles are held against the same parts
def collect(shapes: tuple[Shape, ...]) -> Targets:
    """Put the triangles of all parts into one table.

    Parameters
    ----------
    shapes : tuple of Shape
        The parts.

    Returns
    -------
    Targets
        Clusters of up to a dozen triangles in a row, none across two parts.
    """
    corners = [s.vertices[s.triangles] for s in shapes]
    counts = np.array([len(c) for c in corners], dtype=int)
    starts = np.concatenate([[0], np.cumsum(counts)]).astype(int)
    first = np.concatenate([*(np.arange(a, b, CLUSTER) for a, b in pairwise(starts)), starts[-1:]])
    every = np.concatenate(corners) if corners else np.zeros((0, 3, 3))
    part = np.repeat(np.arange(len(shapes)), counts)
    triangle = np.arange(len(every)) - starts[part]
    if not len(every):
        nothing = np.zeros((0, 2), dtype=int), np.zeros((0, 2, 3)), np.zeros(0)
        below, stick, radius = nothing
        roots = np.full(len(shapes), -1)
    else:
        rows, first = _neighbours_together(every, part, first)
        every, part, triangle = every[rows], part[rows], triangle[rows]
        below, stick, radius, roots = _tree(every, part, first, len(shapes))
    return Targets(
        corners=every,
        part=part,
        triangle=triangle,
        first=first,
        below=below,
        stick=stick,
        radius=radius,
        roots=roots,
        parts=len(shapes),
    )


def only(targets: Targets, wanted: list[bool]) -> Targets:
    """Return targets of which some parts only are looked at.

    Parameters
    ----------
    targets : Targets
        All parts.
    wanted : list of bool
        For each part, whether it is looked at.

    Returns
    -------
    Targets
        The same table; numbers of parts and triangles stay.
    """
    return targets if all(wanted) else replace(targets, roots=np.where(wanted, targets.roots, -1))


def copies(targets: Targets, by: FloatArray) -> Targets:
    """Return copies of one part, each moved: no tree is made again.

    Parameters
    ----------
    targets : Targets
        The part alone.
    by : ndarray, shape (m, 3)
        Where each copy is moved. [mm]

    Returns
    -------
    Targets
        As many parts.
    """
    m, c, t = len(by), len(targets.first) - 1, len(targets.corners)
    nodes = len(targets.below)
    copy = np.arange(m)[:, None]
    node = np.arange(nodes)[None]
    place = np.where(node < c, copy * c + node, m * c + copy * (nodes - c) + node - c)  # all clusters first
    upper = targets.below[c:]  # nodes are cut out one after another: what is under one stays together
    below = np.empty((m * nodes, 2), dtype=int)
    below[place[:, :c]] = targets.below[:c] + t * copy[:, :, None]
    below[place[:, c:], 0] = place[:, upper[:, 0]]
    below[place[:, c:], 1] = place[:, upper[:, 1] - 1] + 1
    stick, radius = np.empty((m * nodes, 2, 3)), np.empty(m * nodes)
    stick[place] = targets.stick + by[:, None, None]
    radius[place] = targets.radius
    return Targets(
        corners=(targets.corners + by[:, None, None, None]).reshape(-1, 3, 3),
        part=np.repeat(np.arange(m), t),
        triangle=np.tile(targets.triangle, m),
        first=np.append((targets.first[:-1] + t * copy).ravel(), m * t),
        below=below,
        stick=stick,
        radius=radius,
        roots=place[:, targets.roots[0]] if nodes else np.full(m, -1),
        parts=m,
    )


def _boxes(every: FloatArray, first: IntArray) -> tuple[FloatArray, FloatArray]:
    """Bounding boxes of the clusters."""
    a, b, c = every[:, 0], every[:, 1], every[:, 2]  # much faster than over the middle axis
    low = np.minimum.reduceat(np.minimum(np.minimum(a, b), c), first[:-1], axis=0)
    return low, np.maximum.reduceat(np.maximum(np.maximum(a, b), c), first[:-1], axis=0)


def _neighbours_together(every: FloatArray, part: IntArray, first: IntArray) -> tuple[IntArray, IntArray]:
    """Order triangles so that clusters of each part follow a Z-shaped path; with the clusters' starts."""
    low, high = _boxes(every, first)
    owner = part[first[:-1]]
    centre = 0.5 * (low + high)
    # told within each part: how its triangles lie in the table depends on no other part
    heads = np.searchsorted(owner, np.unique(owner))
    least = np.minimum.reduceat(centre, heads, axis=0)
    size = np.maximum(np.maximum.reduceat(centre, heads, axis=0) - least, 1e-9)
    own = np.repeat(np.arange(len(heads)), np.diff(np.append(heads, len(owner))))
    cell = ((centre - least[own]) / size[own] * 1023.0).astype(np.int64)
    path = np.zeros(len(cell), dtype=np.int64)
    for bit in range(10):
        for axis in range(3):
            path |= ((cell[:, axis] >> bit) & 1) << (3 * bit + axis)
    order = np.lexsort([path, owner])
    length = np.diff(first)[order]
    start = np.concatenate([[0], np.cumsum(length)])
    return np.repeat(first[order] - start[:-1], length) + np.arange(len(every)), start


def _tree(
    every: FloatArray, part: IntArray, first: IntArray, parts: int
) -> tuple[IntArray, FloatArray, FloatArray, IntArray]:
    """Nodes over the clusters of each part, a few under each, up to one a part; a part's own tree alone."""
    low, high = _boxes(every, first)
    owner = part[first[:-1]]
    below = [np.column_stack([first[:-1], first[1:]])]
    boxes = [(low, high)]
    roots = np.full(parts, -1)
    node, count = np.arange(len(owner)), len(owner)
    while True:
        start = np.searchsorted(owner, owner)
        single = np.searchsorted(owner, owner, side="right") - start == 1
        roots[owner[single]] = node[single]
        if np.all(single):
            break
        low, high, owner, node = low[~single], high[~single], owner[~single], node[~single]
        within = np.arange(len(owner)) - np.searchsorted(owner, owner)
        heads = np.flatnonzero(within % _FANOUT == 0)
        ends = np.append(heads[1:], len(owner)) - 1
        below.append(np.column_stack([node[heads], node[ends] + 1]))
        low, high = np.minimum.reduceat(low, heads, axis=0), np.maximum.reduceat(high, heads, axis=0)
        boxes.append((low, high))
        owner, node = owner[heads], count + np.arange(len(heads))
        count += len(heads)
    lows, highs = (np.concatenate(side) for side in zip(*boxes, strict=True))
    radius = 0.5 * np.sqrt(np.sum((highs - lows) ** 2, axis=1))
    stick = np.repeat(0.5 * (lows + highs)[:, None], 2, axis=1)
    clusters = len(first) - 1
    stick[:clusters], radius[:clusters] = _sticks(every, first)
    return np.concatenate(below), stick, radius, roots


def _sticks(every: FloatArray, first: IntArray) -> tuple[FloatArray, FloatArray]:
    """Segments along the length of each cluster, and how far its corners are from them.

    A slender bar is told much better so than by a ball.
    """
    starts, count = first[:-1], np.diff(first)
    corners = 3 * starts
    points = every.reshape(-1, 3).T.copy()  # one row a coordinate: quick to go through
    middle = np.add.reduceat(points, corners, axis=1) / (3.0 * count)
    off = points - np.repeat(middle, 3 * count, axis=1)
    spread = np.empty((len(starts), 3, 3))
    for i in range(3):
        for j in range(i + 1):
            spread[:, i, j] = spread[:, j, i] = np.add.reduceat(off[i] * off[j], corners)
    length = np.linalg.eigh(spread)[1][:, :, 2]
    along = sum(off[i] * np.repeat(length[:, i], 3 * count) for i in range(3))
    square = off[0] ** 2 + off[1] ** 2 + off[2] ** 2 - along**2
    ends = np.stack([np.minimum.reduceat(along, corners), np.maximum.reduceat(along, corners)], axis=-1)
    stick = middle.T[:, None] + ends[:, :, None] * length[:, None]
    apart = np.sqrt(np.maximum(np.maximum.reduceat(square, corners), 0.0))
    return stick, apart + _ROUNDING * (1.0 + np.abs(stick).max(axis=(1, 2)))


def cluster_of(targets: Targets, owner: IntArray) -> IntArray:
    """Return the cluster of each triangle.

    Parameters
    ----------
    targets : Targets
        The parts.
    owner : ndarray of int, shape (n,)
        Triangles in the targets.

    Returns
    -------
    ndarray of int, shape (n,)
        Clusters.
    """
    return np.searchsorted(targets.first, owner, side="right") - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """What a search is after.

    Parameters
    ----------
    tolerance : float
        The gap reported is never larger than the true one by more than this. [mm]
    reach : float
        Gaps beyond this are not looked for. [mm]
    also_within : float
        Further witnesses are wanted up to this above the least gap. [mm]
    bin : float
        Length of track that gives one further witness on each side of the body. [mm]
    """

    tolerance: float
    reach: float
    also_within: float = 0.0
    bin: float = 20.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidates:
    """The best pair found for each part, and for each bin of stations and side if wanted.

    Parameters
    ----------
    distance : ndarray, shape (m,)
        Upper bounds of the distance, some mm at most from exact. [mm]
    owner : ndarray, shape (m,)
        Triangles in the targets. [1]
    piece : ndarray, shape (m,)
        Pieces of the body. [1]
    station : ndarray, shape (m,)
        Pose stations. [mm]
    """

    distance: FloatArray
    owner: IntArray
    piece: IntArray
    station: FloatArray


def search(
    grid: Grid, pieces: tuple[Piece, ...], targets: Targets, *, goal: Goal, known: FloatArray
) -> Candidates:
    """Find the least distance of one body to each part over all poses of the grid.

    Parameters
    ----------
    grid : Grid
        Poses, with cells good to ``CELL_SHARE`` of the tolerance.
    pieces : tuple of Piece
        Convex pieces of the body.
    targets : Targets
        The parts.
    goal : Goal
        Tolerance and reach.
    known : ndarray, shape (parts,)
        Gaps already found by other bodies, at most the reach. [mm]

    Returns
    -------
    Candidates
        Only what is below the known gaps (plus ``also_within``).

    Raises
    ------
    NotConvergedError
        If the bounds do not close.
    """
    if not len(targets.corners):
        return Candidates(distance=np.zeros(0), owner=_none(0), piece=_none(0), station=np.zeros(0))
    bins = int((grid.nodes[-1] - grid.nodes[0]) / goal.bin) + 1 if goal.also_within > 0 else 0
    by_part = _Best(distance=kernel.floats(known).copy(), found=targets.parts)
    by_bin = _Best(distance=np.full(4 * targets.parts * bins, np.inf), found=4 * targets.parts * bins)
    capacity = _CAPACITY
    while (judged := _run(grid, pieces, targets, goal, best=(by_part, by_bin), sizes=(bins, capacity))) < 0:
        if judged == _TOO_MANY:
            raise NotConvergedError(
                "the bounds of the gap do not close",
                code="CL022",
                value=_MOST_JUDGED,
                limit="no entry left",
                hint="Is the wanted tolerance too small?",
            )
        capacity *= 4  # what was found so far stays: it is found again, and sooner
    return _gather(targets, goal, by_part, by_bin)


class _Best:
    """Least upper bound of each key and where it was found."""

    def __init__(self, *, distance: FloatArray, found: int) -> None:
        self.distance = distance
        self.owner = np.full(found, -1, dtype=np.int64)
        self.piece = _none(found)
        self.station = np.zeros(found)

    def arrays(self) -> tuple[np.ndarray, ...]:
        return self.distance, self.owner, self.piece, self.station


def _none(count: int) -> IntArray:
    return np.zeros(count, dtype=np.int64)


def prism_arrays(solids: list[ConvexPrism]) -> tuple[np.ndarray, ...]:
    """Return prisms as the compiled functions want them.

    Parameters
    ----------
    solids : list of ConvexPrism
        The pieces of a body.

    Returns
    -------
    tuple of ndarray
        Rear and front ends, corners of all sections, and where each section starts among them. [mixed]
    """
    return (
        kernel.floats([[s.rear, s.front] for s in solids]),
        kernel.floats(np.concatenate([s.polygon for s in solids])),
        kernel.whole(np.cumsum([0, *(len(s.polygon) for s in solids)])),
    )


def _run(
    grid: Grid,
    pieces: tuple[Piece, ...],
    targets: Targets,
    goal: Goal,
    *,
    best: tuple[_Best, _Best],
    sizes: tuple[int, int],
) -> int:
    """Call the compiled search; return how many pairs it looked at, or what stopped it."""
    library = kernel.library()
    solids = [p.solid for p in pieces]
    bins, capacity = sizes
    counts = [
        *(len(grid.nodes) - 1, len(solids), targets.parts, len(targets.first) - 1, bins, capacity),
        *(_MOST_JUDGED, _MOST_EXTRA),
    ]
    loose = max(4.0 * goal.tolerance, 0.1 * goal.also_within)
    tolerances = [goal.tolerance, _PRUNE, goal.tolerance * CELL_SHARE]
    arrays = [
        kernel.whole(counts),
        kernel.floats([*tolerances, goal.reach, goal.also_within, loose, goal.bin]),
        *(kernel.floats(a) for a in (grid.nodes, grid.turn, grid.shift)),
        *(kernel.floats(np.concatenate(levels)) for levels in (grid.constant, grid.growth)),
        kernel.whole(np.cumsum([0, *(len(level) for level in grid.constant)])[:-1]),
        *prism_arrays(solids),
        kernel.floats(targets.corners),
        kernel.whole(targets.roots),
        kernel.whole(targets.below),
        *(kernel.floats(a) for a in (targets.stick, targets.radius)),
        *best[0].arrays(),
        *best[1].arrays(),
        np.empty(capacity * library.entry_bytes(), dtype=np.uint8),
        np.empty(capacity * library.head_bytes(), dtype=np.uint8),
        np.empty(capacity, dtype=np.int64),
        np.empty(len(solids) * library.prism_bytes(), dtype=np.uint8),
    ]
    return int(library.search(*(kernel.address(a) for a in arrays)))


def _gather(targets: Targets, goal: Goal, by_part: _Best, by_bin: _Best) -> Candidates:
    """Join the least of each part and the further ones that are near enough to it."""
    tables = [(by_part, by_part.owner >= 0)]
    if goal.also_within > 0:
        limit = by_part.distance[targets.part[by_bin.owner]] + goal.also_within
        tables.append((by_bin, (by_bin.owner >= 0) & (by_bin.distance < np.minimum(limit, goal.reach))))
    return Candidates(
        distance=np.concatenate([t.distance[rows] for t, rows in tables]),
        owner=np.concatenate([t.owner[rows] for t, rows in tables]),
        piece=np.concatenate([t.piece[rows] for t, rows in tables]),
        station=np.concatenate([t.station[rows] for t, rows in tables]),
    )
