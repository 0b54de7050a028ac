"""The least gap by an independent road: own integration of the line, own poses, solids of another library."""

import numpy as np
from manifold3d import CrossSection, Manifold, Mesh
from scipy.optimize import brentq

STEP = 0.05


class Track:
    """The line by plain definition: heading is the integral of curvature, position that of direction."""

    def __init__(self, line, low, high):
        self.line = line
        s = np.arange(low, high + STEP, 0.5 * STEP)
        knots, kappa = line.chain.knots, line.chain.curvature
        heading = np.zeros(len(s))
        for a, b, ka, kb in zip(knots[:-1], knots[1:], kappa[:-1], kappa[1:], strict=True):
            t = np.clip(s, a, b) - a
            heading += ka * t + 0.5 * (kb - ka) / (b - a) * t * t
        self.s, self.heading = s, heading + line.chain.heading
        # Simpson's rule on double steps, from the first knot
        c, d = np.cos(self.heading), np.sin(self.heading)
        even = np.arange(0, len(s) - 2, 2)
        xy = np.zeros((len(even) + 1, 2))
        for k, f in enumerate((c, d)):
            xy[1:, k] = np.cumsum(STEP / 6.0 * (f[even] + 4 * f[even + 1] + f[even + 2]))
        self.at, self.xy = s[::2][: len(xy)], xy
        self.xy = self.xy + np.asarray(line.chain.start) - self.plan(knots[0])

    def plan(self, s):
        k = min(int((s - self.at[0]) / STEP), len(self.at) - 1)
        mid = np.interp(0.5 * (self.at[k] + s), self.s, self.heading)
        return self.xy[k] + (s - self.at[k]) * np.array([np.cos(mid), np.sin(mid)])

    def height(self, s):
        knots, grades = self.line.grade_knots, self.line.profile.value[1:]
        z = (
            self.line.profile.value[0]
            + min(s - knots[0], 0.0) * grades[0]
            + max(s - knots[-1], 0.0) * grades[-1]
        )
        for a, b, ga, gb in zip(knots[:-1], knots[1:], grades[:-1], grades[1:], strict=True):
            t = np.clip(s, a, b) - a
            z += ga * t + 0.5 * (gb - ga) / (b - a) * t * t
        return z

    def roll(self, s):
        return -np.arcsin(
            np.interp(s, self.line.cant_knots, self.line.cant.value) / self.line.head_distance.value
        )

    def truck(self, s, wheelbase):
        ends = (s + 0.5 * wheelbase, s - 0.5 * wheelbase)
        return (
            np.mean([[*self.plan(e), self.height(e)] for e in ends], axis=0),
            np.mean([self.roll(e) for e in ends]),
        )

    def pose(self, body, s):
        """Origin and matrix whose columns are forward, left, up."""
        spacing, wheelbase = body.truck_spacing, body.truck_wheelbase

        def miss(h):
            return np.linalg.norm(self.truck(s + h, wheelbase)[0] - self.truck(s - h, wheelbase)[0]) - spacing

        h = brentq(miss, 0.4 * spacing, 0.7 * spacing, xtol=1e-10)
        (ahead, roll_a), (behind, roll_b) = self.truck(s + h, wheelbase), self.truck(s - h, wheelbase)
        forward = (ahead - behind) / spacing
        left = np.cross([0.0, 0.0, 1.0], forward)
        left /= np.linalg.norm(left)
        up = np.cross(forward, left)
        r = 0.5 * (roll_a + roll_b)
        matrix = np.column_stack(
            [forward, np.cos(r) * left + np.sin(r) * up, np.cos(r) * up - np.sin(r) * left]
        )
        return 0.5 * (ahead + behind), matrix


def body_solid(body):
    """Sections drawn out along z by the library, then turned so that the drawing-out runs forward."""
    solids = []
    for prism in body.prisms:
        drawn = CrossSection([np.asarray(prism.section)]).extrude(prism.front - prism.rear)
        to_body = np.array([[0.0, 0.0, 1.0, prism.rear], [1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0]])
        solids.append(drawn.transform(to_body))
    return solids


def part_solid(shape):
    solid = Manifold(
        Mesh(vert_properties=shape.vertices.astype(np.float32), tri_verts=shape.triangles.astype(np.uint32))
    )
    assert not solid.is_empty()
    return solid


def least(line, vehicle, shape, low, high, reach=25.0):
    """Least gap over poses of all bodies."""
    track = Track(line, low - 400.0, high + 400.0)
    part = part_solid(shape)
    return min(least_of_body(track, body, part, low=low, high=high, reach=reach) for body in vehicle.bodies)


def least_of_body(track, body, part, *, low, high, reach):
    """Least gap over poses every 2 mm, then every 0.1 mm and 0.01 mm near the least ones."""
    solids = body_solid(body)

    def gap(s):
        origin, matrix = track.pose(body, s)
        placed = np.column_stack([matrix, origin])
        return min(solid.transform(placed).min_gap(part, reach) for solid in solids)

    stations = np.append(np.arange(low, high, 2.0), high)
    gaps = np.array([gap(s) for s in stations])
    for step, about, slack in ((0.1, 2.0, 0.3), (0.01, 0.1, 0.01)):
        if gaps.min() == 0 or gaps.min() >= reach:
            break
        near = stations[np.argsort(gaps)[: min(40, np.sum(gaps <= gaps.min() + slack))]]
        fine = np.unique(
            np.concatenate([np.arange(s - about, s + about + 1e-9, step) for s in near]).round(6)
        )
        stations = np.append(np.clip(fine, low, high), stations[np.argmin(gaps)])
        gaps = np.array([gap(s) for s in stations])
    return gaps.min()
