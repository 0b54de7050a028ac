"""The least gap by brute force: every pose at 0.1 mm of station, solids of another library.

Written from the definitions in ``docs/clearance.md`` alone; of the engine's code nothing is used. The
distance of body and part at one pose is that of manifold3d (``min_gap``, in double precision).

A pose is left out only where it cannot be the least: between two poses no point of the body moves farther
than the farthest-moving corner of its bounding box (the displacement is an affine function of the point), so
the gap falls by no more than that. Around the least poses the station is then refined.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from manifold3d import CrossSection, Manifold, Mesh64
from scipy.optimize import minimize_scalar
from shapely.geometry import MultiPoint

STEP = 0.1  # mm of station between poses
COARSE = 64  # steps between the poses looked at first
FAR = 100.0  # mm: gaps are only said to be beyond it
REFINED = 10  # least poses around which the station is refined
_CELL = 0.25  # mm: cells of the integration of the line, cut at its knots


class Way:
    """A line by plain definition: direction is the integral of curvature, position that of direction."""

    def __init__(self, line, low, high):
        self.line = line
        self.knots, kappa = line.chain.knots, line.chain.curvature
        self.kappa = kappa
        self.slope = np.diff(kappa) / np.diff(self.knots)
        self.turned = np.concatenate([[0.0], np.cumsum(np.diff(self.knots) * (kappa[1:] + kappa[:-1]) / 2)])
        self.grades = line.profile.value[1:]
        rise = np.diff(line.grade_knots) * (self.grades[1:] + self.grades[:-1]) / 2
        self.risen = line.profile.value[0] + np.concatenate([[0.0], np.cumsum(rise)])
        cells = low + _CELL * np.arange(int((high - low) / _CELL) + 2)
        cells = np.union1d(cells, self.knots[(self.knots > low) & (self.knots < cells[-1])])
        self.cells = cells
        self.at = np.vstack([[0.0, 0.0], np.cumsum(self._run(cells[:-1], cells[1:]), axis=0)])
        self.at += np.asarray(line.chain.start) - self.plan(self.knots[:1])[0]

    def heading(self, s):
        t = np.clip(s, self.knots[0], self.knots[-1])
        k = np.clip(np.searchsorted(self.knots, t) - 1, 0, len(self.slope) - 1)
        t = t - self.knots[k]
        return self.line.chain.heading + self.turned[k] + t * (self.kappa[k] + t * self.slope[k] / 2)

    def _run(self, a, b):
        """Simpson's rule."""
        angles = [self.heading(s) for s in (a, (a + b) / 2, b)]
        weights = [((b - a) * w / 6.0) for w in (1.0, 4.0, 1.0)]
        turns = zip(weights, angles, strict=True)
        return sum(w[:, None] * np.column_stack([np.cos(t), np.sin(t)]) for w, t in turns)

    def plan(self, s):
        k = np.searchsorted(self.cells, s, side="right") - 1
        return self.at[k] + self._run(self.cells[k], s)

    def height(self, s):
        knots = self.line.grade_knots
        t = np.clip(s, knots[0], knots[-1])
        k = np.clip(np.searchsorted(knots, t) - 1, 0, len(knots) - 2)
        t = t - knots[k]
        bend = (self.grades[k + 1] - self.grades[k]) / (knots[k + 1] - knots[k])
        beyond = np.minimum(s - knots[0], 0.0) * self.grades[0]
        beyond = beyond + np.maximum(s - knots[-1], 0.0) * self.grades[-1]
        return self.risen[k] + t * (self.grades[k] + t * bend / 2) + beyond

    def truck(self, s, wheelbase):
        """Centre of a truck, and its roll."""
        axles = (s + wheelbase / 2, s - wheelbase / 2)
        centre = sum(np.column_stack([self.plan(a), self.height(a)]) for a in axles) / 2
        cants = [np.interp(a, self.line.cant_knots, self.line.cant.value) for a in axles]
        return centre, sum(-np.arcsin(c / self.line.head_distance.value) for c in cants) / 2

    def poses(self, body, s):
        """Origins, and matrices whose columns are forward, left, up."""
        spacing, wheelbase = body.truck_spacing, body.truck_wheelbase

        def miss(half):
            ahead, behind = self.truck(s + half, wheelbase)[0], self.truck(s - half, wheelbase)[0]
            return np.linalg.norm(ahead - behind, axis=1) - spacing

        half, step = np.full(len(s), spacing / 2), np.full(len(s), 0.01)
        was = miss(half)
        for _ in range(40):  # the secant rule
            now = miss(half + step)
            if np.max(np.abs(now)) < 1e-10:
                break
            half = half + step
            slope = np.where(np.abs(now - was) > 1e-13, (now - was) / np.where(step == 0, 1.0, step), 2.0)
            step, was = -now / slope, now
        half = half + step
        assert np.max(np.abs(miss(half))) < 1e-8
        ahead, roll_ahead = self.truck(s + half, wheelbase)
        behind, roll_behind = self.truck(s - half, wheelbase)
        forward = (ahead - behind) / np.linalg.norm(ahead - behind, axis=1)[:, None]
        level = np.cross([0.0, 0.0, 1.0], forward)
        level /= np.linalg.norm(level, axis=1)[:, None]
        square = np.cross(forward, level)
        roll = ((roll_ahead + roll_behind) / 2)[:, None]
        left = np.cos(roll) * level + np.sin(roll) * square
        up = np.cos(roll) * square - np.sin(roll) * level
        return (ahead + behind) / 2, np.stack([forward, left, up], axis=2)


def sections_of(prism, play):
    """Return a section with its play: the hull of itself and itself rocked both ways, moved to both sides.

    A concave section is only taken without play here.
    """
    section = np.asarray(prism.section)
    if play.lateral == 0 and play.roll == 0:
        return section
    rocked = [section]
    for angle in (play.roll, -play.roll):
        c, s = np.cos(angle), np.sin(angle)
        rocked.append(section @ np.array([[c, s], [-s, c]]))
    points = np.vstack([p + np.array([side * play.lateral, 0.0]) for p in rocked for side in (1, -1)])
    return np.array(MultiPoint(points).convex_hull.exterior.coords)[-1:0:-1]


def body_solids(body, play):
    """Sections drawn out upwards by the library, then turned so that the drawing-out runs forward."""
    solids = []
    for prism in body.prisms:
        drawn = CrossSection([sections_of(prism, play)]).extrude(prism.front - prism.rear)
        assert drawn.volume() > 0
        turn = np.array([[0.0, 0.0, 1.0, prism.rear], [1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0]])
        solids.append(drawn.transform(turn))
    return solids


def part_solids(shapes):
    """Return each piece of a part as a solid."""
    solids = [
        Manifold(Mesh64(vert_properties=s.vertices, tri_verts=s.triangles.astype(np.uint64))) for s in shapes
    ]
    assert all(s.volume() > 0 for s in solids)
    return solids


@dataclass
class Scene:
    """One body beside one part on a line."""

    way: Way
    body: object
    solids: list
    parts: list
    looked_at: int = 0

    def gaps(self, s):
        """Exact gaps at stations."""
        return np.array(
            [self.gap(*pose) for pose in zip(*self.way.poses(self.body, np.atleast_1d(s)), strict=True)]
        )

    def gap(self, origin, turn):
        """Exact gap at one pose; past ``FAR`` only that it is so."""
        self.looked_at += 1
        back = np.column_stack([turn.T, -turn.T @ origin])  # the part comes to the body
        least = FAR
        for part in self.parts:
            moved = part.transform(back)
            for solid in self.solids:
                least = solid.min_gap(moved, least)
                if least == 0.0:
                    return 0.0
        return least

    def box(self):
        """Corners of the body's bounding box, least and greatest."""
        boxes = np.array([solid.bounding_box() for solid in self.solids])
        return boxes[:, :3].min(axis=0), boxes[:, 3:].max(axis=0)


def corners_along(scene, origins, turns):
    """Corners of the body's bounding box at each pose, shape (n, 8, 3)."""
    ends = scene.box()
    corners = np.array([[ends[(k >> i) & 1][i] for i in range(3)] for k in range(8)])
    return origins[:, None] + np.einsum("nij,kj->nki", turns, corners)


def bounds_along(scene, origins, turns):
    """Lower bounds of the gap at each pose: from the body's box to the ball round each piece of the part."""
    low, high = scene.box()
    least = np.full(len(origins), np.inf)
    for part in scene.parts:
        box = np.array(part.bounding_box())
        centre, radius = (box[:3] + box[3:]) / 2, np.linalg.norm(box[3:] - box[:3]) / 2
        seen = np.einsum("nij,ni->nj", turns, centre - origins)
        out = np.linalg.norm(np.maximum(np.maximum(low - seen, seen - high), 0.0), axis=1)
        least = np.minimum(least, out - radius)
    return least


def least_of_body(scene, low, high, reach):
    """Least gap and its station over the poses of one body; the reach if it is more."""
    stations = np.append(np.arange(low, high, STEP), high)
    poses = scene.way.poses(scene.body, stations)
    floor = bounds_along(scene, *poses)
    near = np.flatnonzero(floor < reach)
    if len(near) == 0:
        return reach, stations[0]
    corners = corners_along(scene, *poses)
    gaps = np.full(len(stations), np.nan)

    def look(k):
        gaps[k] = scene.gap(poses[0][k], poses[1][k])
        return gaps[k]

    first = np.unique([*range(near[0], near[-1], COARSE), near[-1]])
    best = min(reach, min(look(k) for k in first))
    pending = list(pairwise(first))
    while pending and best > 0:
        pending.sort(key=lambda ends: -min(gaps[ends[0]], gaps[ends[1]]))
        a, b = pending.pop()
        if b - a < 2:
            continue
        falls = [np.linalg.norm(corners[a + 1 : b] - corners[k], axis=2).max(axis=1) for k in (a, b)]
        bound = np.maximum(floor[a + 1 : b], np.maximum(gaps[a] - falls[0], gaps[b] - falls[1]))
        if np.all(bound >= best):
            continue
        middle = (a + b) // 2
        best = min(best, look(middle))
        pending += [(a, middle), (middle, b)]
    return refined(scene, stations, gaps, reach)


def refined(scene, stations, gaps, reach):
    """Least gap around the least poses."""
    order = np.argsort(gaps)  # those left out are last
    best, where = gaps[order[0]], stations[order[0]]
    if best == 0 or best >= reach:
        return min(best, reach), where
    tried = []
    for k in order:
        if len(tried) == REFINED or not gaps[k] < best + STEP:
            break
        if any(abs(stations[k] - s) < 1.5 * STEP for s in tried):
            continue
        tried.append(stations[k])
        ends = np.clip([stations[k] - STEP, stations[k] + STEP], stations[0], stations[-1])
        found = minimize_scalar(
            lambda s: scene.gaps(s)[0], bounds=ends, method="bounded", options={"xatol": 2e-4}
        )
        if found.fun < best:
            best, where = float(found.fun), float(found.x)
    return best, where


def least(line, vehicle, pieces, *, reach=25.0):
    """Return the least gap over all poses and bodies, its body and station, and how many poses were tried.

    Poses run from a body length before the surveyed line to a body length past it.
    """
    length = max(b.front - b.rear for b in vehicle.bodies)
    low, high = line.surveyed[0] - length, line.surveyed[1] + length
    far = max(b.truck_spacing for b in vehicle.bodies) + 60.0
    way = Way(line, low - far, high + far)
    parts = part_solids(pieces)
    found = []
    tried = 0
    for number, body in enumerate(vehicle.bodies):
        scene = Scene(way, body, body_solids(body, vehicle.play), parts)
        found.append((*least_of_body(scene, low, high, reach), number))
        tried += scene.looked_at
    gap, station, number = min(found)
    return float(gap), number, float(station), tried


def gap_at(line, vehicle, pieces, *, body, station):
    """Return the exact gap of one body at one pose."""
    far = vehicle.bodies[body].truck_spacing + 60.0
    way = Way(line, *_stretch(line, station, far))
    body = vehicle.bodies[body]
    scene = Scene(way, body, body_solids(body, vehicle.play), part_solids(pieces))
    return float(scene.gaps(station)[0])


def _stretch(line, station, far):
    """The first knot must lie in it, as the line starts there."""
    return min(station - far, line.chain.knots[0] - 1.0), max(station + far, line.chain.knots[0] + 1.0)
