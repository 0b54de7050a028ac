"""The gap along the line, pose by pose, and what a train sweeps in plan: for pictures, not for verdicts."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from spanwright.alignment.line import Line
from spanwright.clearance.sweep import poses
from spanwright.clearance.vehicles import Vehicle, pieces
from spanwright.geometry import distance as ds
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray


def gap_along(line: Line, vehicle: Vehicle, shape: Shape, stations: FloatArray) -> FloatArray:
    """Return the least distance of a vehicle and a part at each pose station.

    Parameters
    ----------
    line : Line
        The line that the vehicle runs on.
    vehicle : Vehicle
        The vehicle; its play is part of it.
    shape : Shape
        The part.
    stations : ndarray, shape (n,)
        Pose stations. [mm]

    Returns
    -------
    ndarray, shape (n,)
        Exact at these poses; 0 where they overlap. [mm]
    """
    least = np.full(len(stations), np.inf)
    corners = shape.vertices[shape.triangles]
    for body in vehicle.bodies:
        at = poses(line, body, stations)
        solids = [piece.solid for piece in pieces(body, vehicle.play)]
        for k in range(len(stations)):
            seen = (corners - at.origin[k]) @ at.axes[k].T
            for solid in solids:
                least[k] = min(least[k], float(ds.triangle_prism(solid, seen).distance.min()))
    return least


def swept_plan(line: Line, vehicle: Vehicle, stations: FloatArray) -> BaseGeometry:
    """Return what a vehicle sweeps in plan between its outermost poses.

    Parameters
    ----------
    line : Line
        The line that the vehicle runs on.
    vehicle : Vehicle
        The vehicle; its play is part of it.
    stations : ndarray, shape (n,)
        Pose stations, close to one another. [mm]

    Returns
    -------
    BaseGeometry
        An area in plan: the union over neighbouring poses of the hull of both. [mm]
    """
    areas = []
    for body in vehicle.bodies:
        at = poses(line, body, stations)
        corners = np.vstack([ds.corners(piece.solid) for piece in pieces(body, vehicle.play)])
        plan = at.origin[:, None, :2] + np.einsum("kc,ncj->nkj", corners, at.axes[..., :2])
        pairs = np.concatenate([plan[:-1], plan[1:]], axis=1)
        areas += list(shapely.convex_hull(shapely.multipoints(list(pairs))))
    return shapely.union_all(areas)
