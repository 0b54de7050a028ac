"""By how much points of bodies move when the line, the truck spacing or the body's sizes move a little.

With pose station, body point b and direction n held, ``n . B`` (B the place of b in the layout) depends on
the line through the places and rolls of its trucks only: a few numbers a pose. So its derivatives are taken
to those numbers first, then carried on to the numbers of the line (plan, profile, cant, distance of the
rail heads); what lies before these, the base inputs, is one product of matrices away. Thousands of poses
go through together, those of different bodies among one another.

How far apart in station the trucks stand follows by the implicit rule, so that their spacing stays exact.
Read :func:`levers` first.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from spanwright.alignment import line as al
from spanwright.alignment.line import Line
from spanwright.clearance.sweep import Poses
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.geometry import chain as ch
from spanwright.geometry.hats import hat_basis

FloatArray = np.ndarray

_STEP = 1e-3  # mm of station: slope of the cant
_AT_ONCE = 1000  # poses: their tables stay in the processor's own memory


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Levers:
    """Derivatives of ``n . B``.

    Parameters
    ----------
    by_line : ndarray, shape (n, l)
        To the numbers of the line, in the order of :func:`numbers_of`. [any]
    by_point : ndarray, shape (n, 3)
        To the point in the body frame. [1]
    by_spacing : ndarray, shape (n,)
        To the truck spacing. [1]
    """

    by_line: FloatArray
    by_point: FloatArray
    by_spacing: FloatArray


def numbers_of(line: Line, inputs: Inputs) -> FloatArray:
    """Return the derivatives of a line's numbers to the base inputs.

    Parameters
    ----------
    line : Line
        The line.
    inputs : Inputs
        The base inputs, n of them.

    Returns
    -------
    ndarray, shape (l, n)
        Rows for plan, profile, cant and the distance of the rail heads. [any]
    """
    parts = (line.plan, line.profile, line.cant, line.head_distance)
    return np.concatenate([np.atleast_2d(part.padded(len(inputs)).jac) for part in parts])


def levers(line: Line, at: Poses, sizes: FloatArray, *, xyz: FloatArray, along: FloatArray) -> Levers:
    """Return how points of bodies move along given directions.

    Parameters
    ----------
    line : Line
        The line.
    at : Poses
        One pose a point, of any bodies; their stations are held.
    sizes : ndarray, shape (n, 2)
        Truck spacing and truck wheelbase of the body of each. [mm]
    xyz : ndarray, shape (n, 3)
        The points in the body frame. [mm]
    along : ndarray, shape (n, 3)
        The directions in the layout frame. [1]

    Returns
    -------
    Levers
        One row a point.
    """
    spacing, wheelbase = sizes.T
    turned = _by_chord_and_roll(at, spacing, xyz, along)
    count = sum(len(numbers.value) for numbers in (line.plan, line.profile, line.cant)) + 1
    by_line, by_spacing = np.empty((len(xyz), count)), np.empty(len(xyz))
    for rows in _portions(wheelbase > 0.0):
        by_line[rows], by_spacing[rows] = _carried_on(
            line, _rows_of(at, rows), wheelbase[rows], along[rows], turned[rows]
        )
    return Levers(by_line=by_line, by_point=np.einsum("nkc,nc->nk", at.axes, along), by_spacing=by_spacing)


def _portions(on_axles: np.ndarray) -> list[np.ndarray]:
    """Rows in portions of a size, those whose trucks have a wheelbase apart from the others."""
    kinds = (np.flatnonzero(~on_axles), np.flatnonzero(on_axles))
    return [kind[k : k + _AT_ONCE] for kind in kinds for k in range(0, len(kind), _AT_ONCE)]


def _rows_of(at: Poses, rows: np.ndarray) -> Poses:
    return Poses(station=at.station[rows], half=at.half[rows], origin=at.origin[rows], axes=at.axes[rows])


def _by_chord_and_roll(at: Poses, spacing: FloatArray, xyz: FloatArray, along: FloatArray) -> FloatArray:
    """Differentiate ``n . (B - origin)`` to the chord from truck to truck and to the roll: shape (n, 4)."""
    chord = at.axes[:, 0] * spacing[:, None]
    dx, dy, dz = (_number(chord[:, k], k) for k in range(3))
    roll = _number(np.arctan2(at.axes[:, 1, 2], at.axes[:, 2, 2]), 3)
    length = dv.sqrt(dx * dx + dy * dy + dz * dz)
    fx, fy, fz = dx / length, dy / length, dz / length
    level = dv.sqrt(fx * fx + fy * fy)
    left = (-fy / level, fx / level)
    up = (-(fz * left[1]), fz * left[0], level)
    c, r = dv.cos(roll), dv.sin(roll)
    x, y, z = xyz.T
    across, high = c * y - r * z, r * y + c * z
    world = (fx * x + left[0] * across + up[0] * high, fy * x + left[1] * across + up[1] * high)
    return (world[0] * along[:, 0] + world[1] * along[:, 1] + (fz * x + up[2] * high) * along[:, 2]).jac


def _number(values: FloatArray, column: int) -> Derived:
    jac = np.zeros((len(values), 4))
    jac[:, column] = 1.0
    return Derived(values, jac)


def _carried_on(
    line: Line, at: Poses, wheelbase: FloatArray, along: FloatArray, turned: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Carry the derivatives of poses of one kind on to the numbers of the line, and to the truck spacing."""
    if np.any(wheelbase > 0.0):  # a truck stands midway between its axles
        side, offset, share = np.array([1.0, 1.0, -1.0, -1.0]), np.array([0.5, -0.5, 0.5, -0.5]), 0.5
    else:
        side, offset, share = np.array([1.0, -1.0]), np.zeros(2), 1.0
    s = at.station + side[:, None] * at.half + offset[:, None] * wheelbase
    force = share * (0.5 * along + side[:, None, None] * turned[:, :3])
    heading = ch.heading_at(line.chain, s)
    slope = np.stack([np.cos(heading), np.sin(heading), _each(al.grade_at, line, s)], axis=-1)
    head = float(line.head_distance.value)
    sine = _each(al.cant_at, line, s) / head
    by_cant = -0.5 * share * turned[:, 3] / (head * np.sqrt(1.0 - sine**2))
    ramp = (_each(al.cant_at, line, s + _STEP) - _each(al.cant_at, line, s - _STEP)) / (2.0 * _STEP)
    by_half = np.sum(side[:, None] * (np.sum(force * slope, axis=2) + by_cant * ramp), axis=0)
    forward = at.axes[:, 0]
    by_spacing = by_half / np.sum(share * np.sum(slope * forward, axis=2), axis=0)
    force = force - share * side[:, None, None] * (by_spacing[:, None] * forward)
    by_head = -np.sum(by_cant * sine, axis=0)[:, None]
    return np.concatenate([*_by_tables(line, s, force, by_cant), by_head], axis=1), by_spacing


def _each(function: Callable[[Line, FloatArray], FloatArray], line: Line, s: FloatArray) -> FloatArray:
    return function(line, s.ravel()).reshape(s.shape)


def _by_tables(
    line: Line, s: FloatArray, force: FloatArray, by_cant: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Add up the derivatives to plan, profile and cant of all points of the line where a body stands."""
    flat = s.ravel()
    place = ch.sensitivities(line.chain, flat)[0].reshape(*s.shape, 2, -1)
    height = al.grade_basis(line.grade_knots, flat).reshape(*s.shape, -1)
    cant = hat_basis(line.cant_knots, flat).reshape(*s.shape, -1)
    return (
        np.einsum("pnik,pni->nk", place, force[..., :2]),
        np.einsum("pnk,pn->nk", height, force[..., 2]),
        np.einsum("pnk,pn->nk", cant, by_cant),
    )
