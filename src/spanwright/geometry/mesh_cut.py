"""Closed triangle meshes cut by a plane.

Each connected mesh is cut by itself, so that meshes may overlap and touch. A corner that lies in the
plane counts as ahead of it by less than any length that matters, so the cut edges always close.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

FloatArray = np.ndarray
IntArray = np.ndarray

_NEAR = 1e-7


def cut_mesh(corners: FloatArray, triangles: IntArray) -> BaseGeometry:
    """Return the area in which the plane ``first coordinate = 0`` cuts closed meshes.

    Parameters
    ----------
    corners : ndarray, shape (v, 3)
        Ahead of the plane, then two coordinates in it. [any]
    triangles : ndarray, shape (t, 3)
        Corner numbers of one or several closed meshes. [1]

    Returns
    -------
    BaseGeometry
        The cut area in the plane's two coordinates; empty where the plane misses them.
    """
    ahead = corners[:, 0].copy()
    ahead[np.abs(ahead) < _NEAR] = _NEAR
    in_front = (ahead[triangles] > 0.0).sum(axis=1)
    cut = (in_front > 0) & (in_front < 3)
    areas: list[BaseGeometry] = []
    if not cut.any():
        return shapely.Polygon()
    for member in _members(triangles, len(corners)):
        mine = triangles[cut & member[triangles[:, 0]]]
        if len(mine):
            segments = [_segment(corners, ahead, face) for face in mine]
            areas.append(_enclosed(shapely.MultiLineString(segments)))
    return shapely.union_all(areas)


def _enclosed(segments: BaseGeometry) -> BaseGeometry:
    """Return what the cut edges of one mesh enclose; a ring within a ring is a hollow."""
    area: BaseGeometry = shapely.Polygon()
    for ring in shapely.get_parts(shapely.line_merge(segments)):
        area = area.symmetric_difference(shapely.Polygon(shapely.get_coordinates(ring)))
    return area


def _segment(corners: FloatArray, ahead: FloatArray, face: IntArray) -> FloatArray:
    """Return where the plane cuts a triangle; an edge gives the same point for both its triangles."""
    points = []
    for a, b in ((0, 1), (1, 2), (2, 0)):
        i, j = sorted((int(face[a]), int(face[b])))
        if (ahead[i] > 0.0) != (ahead[j] > 0.0):
            share = ahead[i] / (ahead[i] - ahead[j])
            points.append(corners[i, 1:] + share * (corners[j, 1:] - corners[i, 1:]))
    return np.array(points)


def _members(faces: IntArray, count: int) -> list[np.ndarray]:
    """Return the connected meshes of a part, each as a mask of its corners."""
    label = np.arange(count)
    while True:
        least = label[faces].min(axis=1)
        fresh = label.copy()
        for k in range(3):
            np.minimum.at(fresh, faces[:, k], least)
        if np.array_equal(fresh, label):
            break
        label = fresh
    return [label == k for k in np.unique(label[faces])]
