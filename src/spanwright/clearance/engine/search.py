"""Branch and bound over (piece of a triangle, interval of pose stations, convex piece of the body).

Each entry of the pool stands for one triangle (or a part of one, made by bisection), one convex piece
of the body and one interval of pose stations. Seen from the body the piece rests and the triangle moves
(:mod:`spanwright.clearance.engine.motion`). At the interval's middle the exact distance is taken: it is an
upper bound of the least gap of that part. Its direction n gives a lower bound for the whole interval:
the least of ``n . q`` over the triangle's corners at both ends of the interval, less the piece's reach
along n, less the bound on the deviation from the chord. Entries that cannot beat what is known by more
than the tolerance go; the others are split, by station or by triangle, whichever loosens the bound.

Every round takes the most promising entries of each part, all in one batch.
Read :func:`search` first.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from spanwright.clearance.engine import motion
from spanwright.clearance.engine.motion import Grid
from spanwright.clearance.vehicles import Piece
from spanwright.errors import NotConvergedError
from spanwright.geometry import distance as ds
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray
IntArray = np.ndarray
BoolArray = np.ndarray

CLUSTER = 12  # triangles in a row that are looked at together first: a box has as many
_BATCH = 48, 768  # entries in one round: of each part at least, and of all parts if there are so many
_ROUNDS = 2000
_EXTRA_ROUNDS = 150  # after these only the least gap itself is pursued
_START_LEVEL = 4  # the first intervals have 2**4 cells
_PRUNE = 0.6  # of the tolerance: what an entry must gain to be kept
CELL_SHARE = 0.2  # of the tolerance: what the motion inside a cell may deviate


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Targets:
    """Triangles of all parts, in clusters.

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
    centre : ndarray, shape (c, 3)
        Centre of each cluster. [mm]
    radius : ndarray, shape (c,)
        Radius of its bounding sphere. [mm]
    parts : int
        Number of parts.
    """

    corners: FloatArray
    part: IntArray
    triangle: IntArray
    first: IntArray
    centre: FloatArray
    radius: FloatArray
    parts: int


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
    runs = [np.arange(a, b, CLUSTER) for a, b in pairwise(starts)]
    first = np.concatenate([*runs, starts[-1:]])
    every = np.concatenate(corners) if corners else np.zeros((0, 3, 3))
    low = np.minimum.reduceat(every.min(axis=1), first[:-1], axis=0) if len(every) else np.zeros((0, 3))
    high = np.maximum.reduceat(every.max(axis=1), first[:-1], axis=0) if len(every) else np.zeros((0, 3))
    return Targets(
        corners=every,
        part=np.repeat(np.arange(len(shapes)), counts),
        triangle=np.concatenate([np.arange(n) for n in counts]) if len(counts) else np.zeros(0, dtype=int),
        first=first,
        centre=0.5 * (low + high),
        radius=0.5 * np.sqrt(np.sum((high - low) ** 2, axis=1)),
        parts=len(shapes),
    )


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


@dataclass(slots=True, eq=False)
class _Pool:
    """Entries, one a row; the only arrays here that grow and shrink."""

    corners: FloatArray
    owner: IntArray  # triangle in Targets
    piece: IntArray
    low: FloatArray  # cell coordinate of the interval's start
    level: IntArray  # its number of cells is 2**level; POINT for a single pose
    least: FloatArray  # lower bound of the distance

    def take(self, rows: FloatArray) -> _Pool:
        return _Pool(
            self.corners[rows],
            self.owner[rows],
            self.piece[rows],
            self.low[rows],
            self.level[rows],
            self.least[rows],
        )


_POINT = -1000


def _join(pools: list[_Pool]) -> _Pool:
    return _Pool(*(np.concatenate([getattr(p, name) for p in pools]) for name in _Pool.__slots__))


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


class _Best:
    """Least upper bound of each key and where it was found."""

    def __init__(self, start: FloatArray) -> None:
        self.distance = start.copy()
        self.owner = np.full(len(start), -1)
        self.piece = np.zeros(len(start), dtype=int)
        self.middle = np.zeros(len(start))

    def update(self, key: IntArray, upper: FloatArray, pool: _Pool, middle: FloatArray) -> None:
        order = np.lexsort((upper, key))
        keys, first = np.unique(key[order], return_index=True)
        rows = order[first]
        better = upper[rows] < self.distance[keys]
        keys, rows = keys[better], rows[better]
        self.distance[keys] = upper[rows]
        self.owner[keys] = pool.owner[rows]
        self.piece[keys] = pool.piece[rows]
        self.middle[keys] = middle[rows]


def _box_gap(prism: ds.ConvexPrism, low: FloatArray, high: FloatArray) -> FloatArray:
    """Distance between boxes and the bounding box of a prism, shape (n,)."""
    own_low = np.array([prism.rear, *prism.polygon.min(axis=0)])
    own_high = np.array([prism.front, *prism.polygon.max(axis=0)])
    apart = np.maximum(np.maximum(low - own_high, own_low - high), 0.0)
    return np.sqrt(np.sum(apart**2, axis=-1))


def _seen(grid: Grid, c: FloatArray, points: FloatArray) -> FloatArray:
    """Points (m, k, 3) in the body frame at cell coordinates (m,)."""
    turn, shift = motion.between(grid, c)
    return points @ turn.transpose(0, 2, 1) - shift[:, None]


def _ends(grid: Grid, pool: _Pool) -> tuple[FloatArray, FloatArray]:
    """Middle and end of each entry's interval."""
    last = len(grid.nodes) - 1
    width = np.where(pool.level == _POINT, 0.0, 2.0 ** np.maximum(pool.level, -60))
    high = np.minimum(pool.low + width, last)
    middle = np.where(pool.level > 0, np.minimum(pool.low + 0.5 * width, high), 0.5 * (pool.low + high))
    return middle, high


def _near_clusters(
    grid: Grid, solids: list[ds.ConvexPrism], targets: Targets, limit: FloatArray
) -> tuple[IntArray, FloatArray]:
    """Clusters and interval starts that may be nearer than the limit of their part."""
    width = 2**_START_LEVEL
    low = np.arange(0, len(grid.nodes) - 1, width)
    high = np.minimum(low + width, len(grid.nodes) - 1)
    turn = grid.turn[np.concatenate([low, high])]
    seen = np.einsum("nij,mj->nmi", turn, targets.centre) - grid.shift[np.concatenate([low, high])][:, None]
    a, b = seen[: len(low)], seen[len(low) :]
    radius = targets.radius + 0.5 * np.sqrt(np.sum((b - a) ** 2, axis=2))
    middle = 0.5 * (a + b)
    far = np.sqrt(np.sum(middle**2, axis=2)) + radius
    off = grid.constant[_START_LEVEL][:, None] + grid.growth[_START_LEVEL][:, None] * far
    apart = np.min([_box_gap(s, middle, middle) for s in solids], axis=0) - radius - off
    interval, cluster = np.nonzero(apart < limit[targets.part[targets.first[:-1]]])
    return cluster, low[interval].astype(float)


def _start(grid: Grid, solids: list[ds.ConvexPrism], targets: Targets, limit: FloatArray) -> _Pool:
    """Make the first entries: triangles of near clusters, and all triangles at the run's two end poses."""
    cluster, low = _near_clusters(grid, solids, targets, limit)
    size = np.diff(targets.first)[cluster]
    offset = np.arange(size.sum()) - np.repeat(np.cumsum(size) - size, size)
    owner = np.repeat(targets.first[cluster], size) + offset
    low = np.repeat(low, size)
    level = np.full(len(owner), _START_LEVEL)
    last = len(grid.nodes) - 1
    every = np.arange(len(targets.corners))
    owner = np.concatenate([owner, every, every])
    low = np.concatenate([low, np.zeros(len(every)), np.full(len(every), float(last))])
    level = np.concatenate([level, np.full(2 * len(every), _POINT)])
    pool = _Pool(targets.corners[owner], owner, np.zeros_like(owner), low, level, np.zeros(len(owner)))
    _, high = _ends(grid, pool)
    seen = np.concatenate([_seen(grid, pool.low, pool.corners), _seen(grid, high, pool.corners)], axis=1)
    off = _off(grid, pool, high, seen)
    box_low, box_high = seen.min(axis=1), seen.max(axis=1)
    pools = []
    for k, solid in enumerate(solids):
        least = _box_gap(solid, box_low, box_high) - off
        rows = np.flatnonzero(least < limit[targets.part[owner]])
        part = pool.take(rows)
        part.piece = np.full(len(rows), k)
        part.least = least[rows]
        pools.append(part)
    return _join(pools)


def _off(grid: Grid, pool: _Pool, high: FloatArray, seen: FloatArray) -> FloatArray:
    """Bound of the deviation from the chord for the points given in the body frame, shape (m, k, 3)."""
    far = np.sqrt(np.max(np.sum(seen**2, axis=2), axis=1))
    length = motion.station(grid, high) - motion.station(grid, pool.low)
    off = motion.bound(grid, pool.low, np.maximum(pool.level, -1), far + length)
    return np.where(pool.level == _POINT, 0.0, off)


def _contacts(
    solids: list[ds.ConvexPrism], piece: IntArray, seen: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Exact distances, and directions from the body to the triangle (zero where they overlap)."""
    apart = np.empty(len(seen))
    direction = np.empty((len(seen), 3))
    for k, solid in enumerate(solids):
        rows = np.flatnonzero(piece == k)
        if len(rows):
            contact = ds.triangle_prism(solid, seen[rows])
            apart[rows] = contact.distance
            direction[rows] = np.einsum("nj,njc->nc", contact.weights, seen[rows]) - contact.on_prism
    return apart, direction / np.where(apart > 0, apart, 1.0)[:, None]


@dataclass(slots=True, eq=False)
class _Judged:
    upper: FloatArray
    middle: FloatArray
    high: FloatArray
    by_triangle: BoolArray


def _judge(grid: Grid, solids: list[ds.ConvexPrism], pool: _Pool, fine: float) -> _Judged:
    """Take the distance at the middle pose, raise the lower bounds, choose how to split."""
    middle, high = _ends(grid, pool)
    at = _seen(grid, middle, pool.corners)
    start, end = _seen(grid, pool.low, pool.corners), _seen(grid, high, pool.corners)
    apart, n = _contacts(solids, pool.piece, at)
    off = _off(grid, pool, high, np.concatenate([start, at, end], axis=1))
    along = np.einsum("nkc,nc->nk", np.concatenate([start, end], axis=1), n)
    reach = np.empty(len(apart))
    for k, solid in enumerate(solids):
        rows = pool.piece == k
        reach[rows] = ds.support(solid, n[rows])
    least = np.where(apart > 0, np.min(along, axis=1) - reach - off, 0.0)
    pool.least = np.maximum(pool.least, least)
    on_node = (middle == np.floor(middle)) | (pool.level == _POINT)
    far = np.sqrt(np.max(np.sum(at**2, axis=2), axis=1))
    inside_cell = motion.bound(grid, np.floor(middle), np.zeros(len(apart), dtype=int), far)
    upper = apart + np.where(on_node | (apart == 0), 0.0, inside_cell)
    moved = along[:, 3:] - along[:, :3]
    spread = np.ptp(moved, axis=1)
    edges = pool.corners[:, [1, 2, 0]] - pool.corners
    longest = np.sqrt(np.max(np.sum(edges**2, axis=2), axis=1))
    length = motion.station(grid, high) - motion.station(grid, pool.low)
    loose = apart - least
    by_triangle = ((spread > 0.5 * loose) & (longest > length)) | (
        (off > fine) & (pool.level <= 0) & (longest > 1.0)
    )
    return _Judged(upper, middle, high, by_triangle)


def _children(grid: Grid, pool: _Pool, by_triangle: BoolArray) -> _Pool:
    """Split entries: the triangle at the middle of its longest side, or the interval in two."""
    first = pool.take(np.flatnonzero(by_triangle))
    rows = np.arange(len(first.owner))
    edges = first.corners[:, [1, 2, 0]] - first.corners
    side = np.argmax(np.sum(edges**2, axis=2), axis=1)
    following = (side + 1) % 3
    half = first.corners[rows, side] + 0.5 * edges[rows, side]
    second = first.take(rows)
    first.corners[rows, following] = half
    second.corners[rows, side] = half
    early = pool.take(np.flatnonzero(~by_triangle & (pool.level != _POINT)))
    early.level = early.level - 1
    late = early.take(np.arange(len(early.owner)))
    late.low = late.low + 2.0**late.level
    late = late.take(np.flatnonzero(late.low < len(grid.nodes) - 1))
    return _join([first, second, early, late])


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    """What is searched, all of it fixed."""

    grid: Grid
    solids: list[ds.ConvexPrism]
    targets: Targets
    goal: Goal

    @property
    def bins(self) -> int:
        """Stretches of stations, each of which may give a witness of its own on each side of the body."""
        return int((self.grid.nodes[-1] - self.grid.nodes[0]) / self.goal.bin) + 1


def _bins(task: _Task, pool: _Pool, middle: FloatArray) -> IntArray:
    """Return the number of the (part, stretch of stations, side of the body) of each entry's middle."""
    at = ((motion.station(task.grid, middle) - task.grid.nodes[0]) / task.goal.bin).astype(int)
    seen = _seen(task.grid, middle, pool.corners.mean(axis=1, keepdims=True))[:, 0]
    low = min(float(s.polygon[:, 1].min()) for s in task.solids)
    high = max(float(s.polygon[:, 1].max()) for s in task.solids)
    side = np.where(seen[:, 2] > high, 2, np.where(seen[:, 2] < low, 3, seen[:, 1] > 0))
    return (task.targets.part[pool.owner] * task.bins + np.minimum(at, task.bins - 1)) * 4 + side


def _alive(task: _Task, pool: _Pool, best: tuple[_Best, _Best | None]) -> BoolArray:
    """Which entries may still improve on what is known."""
    by_part, by_bin = best
    grid, goal = task.grid, task.goal
    known = by_part.distance[task.targets.part[pool.owner]]
    alive = pool.least < known - _PRUNE * goal.tolerance
    if by_bin is None:
        return alive
    middle, high = _ends(grid, pool)
    long = motion.station(grid, high) - motion.station(grid, pool.low) > goal.bin
    key = _bins(task, pool, middle)
    loose = max(4.0 * goal.tolerance, 0.1 * goal.also_within)
    improves = pool.least < np.minimum(by_bin.distance[key], goal.reach) - loose
    near = (known > 0) & (pool.least < known + goal.also_within - loose)
    return alive | (near & (long | improves))


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
    task = _Task(grid, [p.solid for p in pieces], targets, goal)
    by_part = _Best(known)
    by_bin = _Best(np.full(4 * targets.parts * task.bins if goal.also_within > 0 else 0, np.inf))
    pool = _start(grid, task.solids, targets, np.minimum(known + goal.also_within, goal.reach))
    for turn in range(_ROUNDS):
        # with even gaps all along the track there are more near-equal witnesses than anyone needs
        best = by_part, by_bin if goal.also_within > 0 and turn < _EXTRA_ROUNDS else None
        pool = pool.take(np.flatnonzero(_alive(task, pool, best)))
        if len(pool.owner) == 0:
            break
        chosen = _most_promising(pool, targets)
        batch = pool.take(np.flatnonzero(chosen))
        judged = _judge(grid, task.solids, batch, goal.tolerance * CELL_SHARE)
        by_part.update(targets.part[batch.owner], judged.upper, batch, judged.middle)
        if best[1] is not None:
            by_bin.update(_bins(task, batch, judged.middle), judged.upper, batch, judged.middle)
        keep = np.flatnonzero(_alive(task, batch, best))
        split = _children(grid, batch.take(keep), judged.by_triangle[keep])
        pool = _join([pool.take(np.flatnonzero(~chosen)), split])
    else:
        raise NotConvergedError(
            "the bounds of the gap do not close",
            code="CL022",
            value=len(pool.owner),
            limit="no entry left",
            hint="Is the wanted tolerance too small?",
        )
    return _gather(grid, targets, goal, (by_part, by_bin))


def _most_promising(pool: _Pool, targets: Targets) -> BoolArray:
    """Choose the entries of each part with the least lower bounds."""
    part = targets.part[pool.owner]
    order = np.lexsort((pool.least, part))
    ordered = part[order]
    rank = np.arange(len(order)) - np.searchsorted(ordered, ordered)
    each = max(_BATCH[0], _BATCH[1] // len(np.unique(part)))
    chosen = np.zeros(len(order), dtype=bool)
    chosen[order[rank < each]] = True
    return chosen


def _gather(grid: Grid, targets: Targets, goal: Goal, best: tuple[_Best, _Best]) -> Candidates:
    by_part, by_bin = best
    tables = [(by_part, by_part.owner >= 0)]
    if goal.also_within > 0:
        limit = by_part.distance[targets.part[by_bin.owner]] + goal.also_within
        tables.append((by_bin, (by_bin.owner >= 0) & (by_bin.distance < np.minimum(limit, goal.reach))))
    return Candidates(
        distance=np.concatenate([t.distance[rows] for t, rows in tables]),
        owner=np.concatenate([t.owner[rows] for t, rows in tables]),
        piece=np.concatenate([t.piece[rows] for t, rows in tables]),
        station=np.concatenate([motion.station(grid, t.middle[rows]) for t, rows in tables]),
    )
