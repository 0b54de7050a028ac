"""Exact distance between triangles and a convex prism, many triangles at once.

A prism is a convex polygon in (y, z) drawn out along x. The least distance between two convex solids
is reached between a corner and a face, or between two edges, so all such pairs are tried: the corners
of the triangle against the prism (closed form, as a prism is a product of a polygon and an interval),
edges against edges, and the corners of the prism against the face of the triangle. Where the two
overlap, an edge of one passes through the other.

Edge against edge uses the clamped form of Ericson [1]_. The arithmetic is compiled (``kernel.c``).

Read :func:`triangle_prism` first; :func:`separation` is the lower bound by a given direction.

References
----------
.. [1] C. Ericson, *Real-Time Collision Detection*, Morgan Kaufmann, 2005, section 5.1.9.
"""

from __future__ import annotations

import ctypes
from dataclasses import dataclass

import numpy as np

from spanwright.geometry import kernel

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ConvexPrism:
    """A convex polygon in (y, z) drawn out along x.

    Parameters
    ----------
    rear : float
        Least x. [mm]
    front : float
        Greatest x. [mm]
    polygon : ndarray, shape (m, 2)
        Corners (y, z), counter-clockwise seen from the front. [mm]
    """

    rear: float
    front: float
    polygon: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contact:
    """Closest points of a batch of triangles and a prism.

    Parameters
    ----------
    distance : ndarray, shape (n,)
        Least distance, 0 where they overlap. [mm]
    on_prism : ndarray, shape (n, 3)
        Closest point of the prism; a common point where they overlap. [mm]
    weights : ndarray, shape (n, 3)
        Barycentric weights of the closest point of each triangle. [1]
    """

    distance: FloatArray
    on_prism: FloatArray
    weights: FloatArray


def corners(prism: ConvexPrism) -> FloatArray:
    """Return the corners of a prism, those of the rear end first.

    Parameters
    ----------
    prism : ConvexPrism
        The prism.

    Returns
    -------
    ndarray, shape (2 m, 3)
        Corners. [mm]
    """
    m = len(prism.polygon)
    ends = np.repeat([prism.rear, prism.front], m)
    return np.column_stack([ends, np.vstack([prism.polygon, prism.polygon])])


def support(prism: ConvexPrism, directions: FloatArray) -> FloatArray:
    """Return how far a prism reaches in given directions.

    Parameters
    ----------
    prism : ConvexPrism
        The prism.
    directions : ndarray, shape (n, 3)
        Unit vectors. [1]

    Returns
    -------
    ndarray, shape (n,)
        Greatest scalar product of the direction and a point of the prism. [mm]
    """
    lengthwise = np.maximum(directions[:, 0] * prism.rear, directions[:, 0] * prism.front)
    return lengthwise + np.max(directions[:, 1:] @ prism.polygon.T, axis=1)


def separation(prism: ConvexPrism, points: FloatArray, directions: FloatArray) -> FloatArray:
    """Return a lower bound of the distance between a prism and the hulls of point sets.

    Parameters
    ----------
    prism : ConvexPrism
        The prism.
    points : ndarray, shape (n, k, 3)
        Each hull's points. [mm]
    directions : ndarray, shape (n, 3)
        Any unit vectors; the best one points from the prism to the closest point. [1]

    Returns
    -------
    ndarray, shape (n,)
        Room between the two along the direction, negative where it does not separate them. [mm]
    """
    return np.min(np.einsum("nkc,nc->nk", points, directions), axis=1) - support(prism, directions)


def triangle_prism(prism: ConvexPrism, triangles: FloatArray) -> Contact:
    """Return exact distances between triangles and a prism with their closest points.

    Parameters
    ----------
    prism : ConvexPrism
        The prism.
    triangles : ndarray, shape (n, 3, 3)
        Corners of the triangles in the frame of the prism. [mm]

    Returns
    -------
    Contact
        Distances and closest points.
    """
    found = np.empty((len(triangles), 7))
    polygon = kernel.floats(prism.polygon)
    held = kernel.floats(triangles)
    kernel.library().contacts(
        ctypes.c_int64(len(held)),
        kernel.address(held),
        ctypes.c_double(prism.rear),
        ctypes.c_double(prism.front),
        kernel.address(polygon),
        ctypes.c_int64(len(polygon)),
        kernel.address(found),
    )
    return Contact(distance=found[:, 0].copy(), on_prism=found[:, 1:4].copy(), weights=found[:, 4:].copy())
