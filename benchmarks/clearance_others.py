"""What a user would otherwise write: a mesh-distance library pose by pose, and polygons swept in plan.

The mesh-distance library is ``coal`` (BSD licence, ``pip install coal``); without it its rows are left out.
Both get their poses for nothing: they are reckoned before the clock starts.
"""

from __future__ import annotations

import time
from typing import Any

import numpy as np
from manifold3d import CrossSection
from shapely import polygons, union_all
from shapely.geometry import MultiPoint

from spanwright.alignment.line import Line
from spanwright.clearance.least_gap import run_of
from spanwright.clearance.sweep import Poses, poses
from spanwright.clearance.vehicles import Vehicle
from spanwright.structures.shapes import Shape

try:
    import coal
except ImportError:  # not one of the project's own dependencies
    coal = None


def has_mesh_library() -> bool:
    """Tell whether the mesh-distance library is there."""
    return coal is not None


def every_mm(line: Line, vehicle: Vehicle) -> Poses:
    """Poses at 1 mm of station over the whole run."""
    low, high = run_of(line, vehicle)
    return poses(line, vehicle.bodies[0], np.arange(low, high, 1.0))


def _tree(vertices: np.ndarray, triangles: np.ndarray) -> Any:
    model = coal.BVHModelOBBRSS()
    model.beginModel(len(triangles), len(vertices))
    points = coal.StdVec_Vec3s()
    points.extend([np.asarray(v, dtype=float) for v in vertices])
    corners = coal.StdVec_Triangle()
    corners.extend([coal.Triangle(*map(int, t)) for t in triangles])
    model.addSubModel(points, corners)
    model.endModel()
    return model


def _body_trees(vehicle: Vehicle) -> list[Any]:
    trees = []
    for prism in vehicle.bodies[0].prisms:
        mesh = CrossSection([prism.section]).extrude(prism.front - prism.rear).to_mesh64()
        drawn = np.asarray(mesh.vert_properties)[:, :3]
        trees.append(_tree(drawn[:, [2, 0, 1]] + [prism.rear, 0.0, 0.0], np.asarray(mesh.tri_verts)))
    return trees


def part_trees(shapes: tuple[Shape, ...]) -> list[Any]:
    """Return the library's models of the parts; not part of what is timed."""
    return [_tree(s.vertices, s.triangles) for s in shapes]


def pose_by_pose(line: Line, vehicle: Vehicle, trees: list[Any], *, every: int) -> tuple[float, np.ndarray]:
    """Seconds for all 1 mm poses, from each ``every``-th of them, and the least gaps of those looked at."""
    at = every_mm(line, vehicle)
    bodies = _body_trees(vehicle)
    request, result = coal.DistanceRequest(), coal.DistanceResult()
    rest = coal.Transform3s()
    least = np.full(len(trees), np.inf)
    looked = np.arange(0, len(at.station), every)
    places = [coal.Transform3s(at.axes[k].T.copy(), at.origin[k].copy()) for k in looked]
    start = time.perf_counter()
    for place in places:
        for number, tree in enumerate(trees):
            for body in bodies:
                result.clear()
                least[number] = min(least[number], coal.distance(body, place, tree, rest, request, result))
    seconds = time.perf_counter() - start
    return seconds * len(at.station) / len(looked), np.maximum(least, 0.0)


def footprints(shapes: tuple[Shape, ...]) -> list[Any]:
    """Hulls of the parts in plan; not part of what is timed."""
    return [MultiPoint(s.vertices[:, :2]).convex_hull for s in shapes]


def swept_in_plan(line: Line, vehicle: Vehicle, plans: list[Any]) -> tuple[float, np.ndarray]:
    """Seconds for the union of all 1 mm outlines in plan and its distances to the parts; and these."""
    at = every_mm(line, vehicle)
    body = vehicle.bodies[0]
    half = max(float(np.abs(p.section[:, 0]).max()) for p in body.prisms)
    outline = np.array([[body.rear, half], [body.front, half], [body.front, -half], [body.rear, -half]])
    start = time.perf_counter()
    rings = at.origin[:, None, :2] + np.einsum("kj,njc->nkc", outline, at.axes[:, :2, :2])
    swept = union_all(polygons(rings))
    gaps = np.array([swept.distance(plan) for plan in plans])
    return time.perf_counter() - start, gaps
