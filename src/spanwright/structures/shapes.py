"""Finished shapes: triangle meshes whose every corner knows its derivatives.

A shape is built by plain arithmetic from a few *controls* (a position, a direction, a depth), each a
derived number. The derivative of every corner to every control comes from a complex step through the
same arithmetic, exact to rounding.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from spanwright.estimation.derived import Derived

FloatArray = np.ndarray
IntArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """A finished part as closed triangle meshes.

    Parameters
    ----------
    part : str
        Stable id of the part, such as ``bent 1/column aisle``.
    vertices : ndarray, shape (v, 3)
        Corners in the layout frame. [mm]
    triangles : ndarray, shape (t, 3)
        Corner numbers, outward by the right hand. [1]
    controls : Derived
        The numbers that the shape was built from, shape (m,).
    sensitivity : ndarray, shape (v, 3, m)
        Derivative of each corner to each control. [any]
    over : str
        Name of the line whose trains pass below or beside; empty when both matter.
    """

    part: str
    vertices: FloatArray
    triangles: IntArray
    controls: Derived
    sensitivity: FloatArray
    over: str = ""


def build_shape(
    part: str,
    build: Callable[[FloatArray], FloatArray],
    triangles: IntArray,
    controls: Derived,
) -> Shape:
    """Build a shape and the derivatives of its corners.

    Parameters
    ----------
    part : str
        Stable id of the part.
    build : callable
        Takes the control values and returns corners, shape (v, 3); must also take many sets of complex
        values, shape (m, n), and return corners, shape (v, 3, n).
    triangles : ndarray, shape (t, 3)
        Corner numbers. [1]
    controls : Derived
        The controls, shape (m,).

    Returns
    -------
    Shape
        The finished shape.
    """
    values = controls.value
    vertices = np.asarray(build(values), dtype=float)
    moved = values[:, None] + 1e-30j * np.eye(len(values))
    sensitivity = np.imag(build(moved)) / 1e-30
    return Shape(
        part=part, vertices=vertices, triangles=triangles, controls=controls, sensitivity=sensitivity
    )


def point_on(shape: Shape, triangle: int, weights: FloatArray) -> Derived:
    """Return a point of a triangle with its derivatives.

    Parameters
    ----------
    shape : Shape
        The part.
    triangle : int
        Triangle number.
    weights : ndarray, shape (3,)
        Barycentric weights. [1]

    Returns
    -------
    Derived
        Shape (3,).
    """
    corners = shape.triangles[triangle]
    value = weights @ shape.vertices[corners]
    by_controls = np.einsum("c,cim->im", weights, shape.sensitivity[corners])
    return Derived(value, by_controls @ shape.controls.jac)
