"""Distances in the section: points and triangles against a profile that is widened by amounts of their own.

A profile widened by E has its corners moved outward by E on each side; corners on the centre line stay.
Outside is positive. Read :func:`signed_distance` first.
"""

from __future__ import annotations

import numpy as np

FloatArray = np.ndarray

_CHUNK = 400_000  # pairs of point and side that are held at a time


def widened(polygon: FloatArray, each_side: FloatArray) -> FloatArray:
    """Return a profile once for each widening.

    Parameters
    ----------
    polygon : ndarray, shape (m, 2)
        Corners, counter-clockwise. [mm]
    each_side : ndarray, shape (n,)
        Widenings on each side. [mm]

    Returns
    -------
    ndarray, shape (n, m, 2)
        The profiles. [mm]
    """
    result = np.repeat(polygon[None], len(each_side), axis=0)
    result[:, :, 0] += np.sign(polygon[:, 0])[None] * each_side[:, None]
    return result


def _to_sides(points: FloatArray, starts: FloatArray, ends: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Distances from points to segments that broadcast with them, and the nearest points."""
    along = ends - starts
    square = np.maximum(np.sum(along * along, axis=-1), 1e-300)
    share = np.clip(np.sum((points - starts) * along, axis=-1) / square, 0.0, 1.0)
    nearest = starts + share[..., None] * along
    return np.sqrt(np.sum((points - nearest) ** 2, axis=-1)), nearest


def _inside(points: FloatArray, starts: FloatArray, ends: FloatArray) -> FloatArray:
    """Whether points (n, 2) lie in polygons (n, m, 2), by counting crossed sides."""
    y, z = points[:, None, 0], points[:, None, 1]
    spans = (starts[..., 1] > z) != (ends[..., 1] > z)
    rise = np.where(spans, ends[..., 1] - starts[..., 1], 1.0)
    at = starts[..., 0] + (z - starts[..., 1]) * (ends[..., 0] - starts[..., 0]) / rise
    return np.sum(spans & (at > y), axis=1) % 2 == 1


def signed_distance(points: FloatArray, polygon: FloatArray, each_side: FloatArray) -> FloatArray:
    """Return how far points lie outside a widened profile; negative inside.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        (left of centre, height above railhead). [mm]
    polygon : ndarray, shape (m, 2)
        The profile on straight track, counter-clockwise. [mm]
    each_side : ndarray, shape (n,)
        Widening at each point. [mm]

    Returns
    -------
    ndarray, shape (n,)
        Distance to its outline, negative inside. [mm]
    """
    result = np.empty(len(points))
    step = max(1, _CHUNK // len(polygon))
    for first in range(0, len(points), step):
        part = slice(first, first + step)
        starts = widened(polygon, each_side[part])
        ends = np.roll(starts, -1, axis=1)
        far = np.min(_to_sides(points[part, None], starts, ends)[0], axis=1)
        result[part] = np.where(_inside(points[part], starts, ends), -far, far)
    return result


def outward(point: FloatArray, polygon: FloatArray, each_side: float) -> tuple[FloatArray, FloatArray]:
    """Return the direction in which the signed distance of a point grows fastest.

    Parameters
    ----------
    point : ndarray, shape (2,)
        (left of centre, height above railhead). [mm]
    polygon : ndarray, shape (m, 2)
        The profile on straight track, counter-clockwise. [mm]
    each_side : float
        Widening on each side. [mm]

    Returns
    -------
    direction : ndarray, shape (2,)
        Of length 1. [1]
    nearest : ndarray, shape (2,)
        Nearest point of the outline. [mm]
    """
    starts = widened(polygon, np.array([each_side]))[0]
    ends = np.roll(starts, -1, axis=0)
    far, nearest = _to_sides(point[None], starts, ends)
    k = int(np.argmin(far))
    away = point - nearest[k]
    if far[k] > 1e-6:
        sign = -1.0 if _inside(point[None], starts[None], ends[None])[0] else 1.0
        return sign * away / far[k], nearest[k]
    side = ends[k] - starts[k]
    return np.array([side[1], -side[0]]) / np.hypot(*side), nearest[k]


def _crossed(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray) -> FloatArray:
    """Whether segments a-b and c-d, which broadcast, properly cross."""

    def turn(p: FloatArray, q: FloatArray, r: FloatArray) -> FloatArray:
        return (q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1]) - (q[..., 1] - p[..., 1]) * (
            r[..., 0] - p[..., 0]
        )

    return (turn(a, b, c) * turn(a, b, d) < 0) & (turn(c, d, a) * turn(c, d, b) < 0)


def triangle_bound(triangles: FloatArray, polygon: FloatArray, each_side: FloatArray) -> FloatArray:
    """Return the least signed distance of flat triangles, or a bound below it where they reach inside.

    Parameters
    ----------
    triangles : ndarray, shape (n, 3, 2)
        Corners in the section. [mm]
    polygon : ndarray, shape (m, 2)
        The profile on straight track, counter-clockwise. [mm]
    each_side : ndarray, shape (n,)
        Widening for each triangle. [mm]

    Returns
    -------
    ndarray, shape (n,)
        Outside: the exact distance. Otherwise no point of the triangle lies deeper. [mm]
    """
    result = np.empty(len(triangles))
    step = max(1, _CHUNK // (6 * len(polygon)))
    for first in range(0, len(triangles), step):
        part = slice(first, first + step)
        result[part] = _bound(triangles[part], widened(polygon, each_side[part]))
    return result


def _bound(triangles: FloatArray, starts: FloatArray) -> FloatArray:
    n = len(triangles)
    ends = np.roll(starts, -1, axis=1)
    onward = np.roll(triangles, -1, axis=1)
    by_corner, _ = _to_sides(triangles[:, :, None], starts[:, None], ends[:, None])  # (n, 3, m)
    by_side, _ = _to_sides(starts[:, None], triangles[:, :, None], onward[:, :, None])
    apart = np.minimum(by_corner.reshape(n, -1).min(axis=1), by_side.reshape(n, -1).min(axis=1))
    deepest = by_corner.max(axis=1).min(axis=1)
    crosses = _crossed(triangles[:, :, None], onward[:, :, None], starts[:, None], ends[:, None])
    reaches = crosses.reshape(n, -1).any(axis=1) | (apart < 1e-9)  # a touch may be the rim of a cut
    for k in range(3):
        reaches |= _inside(triangles[:, k], starts, ends)
    reaches |= _inside(starts[:, 0], triangles, onward)
    return np.where(reaches, -deepest, apart)
