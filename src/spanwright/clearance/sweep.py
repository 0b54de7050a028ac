"""Where a body stands on the line: poses, and points of the body with their derivatives.

The two truck centres stand on the line, equally far in station from the pose station, with their
distance in space equal to the truck spacing. The forward axis is the chord between them, the side axis
is level and square to it, and both are then rolled about the chord by the mean roll under the trucks.
A truck with a wheelbase of its own has its centre midway between the line's points under its outer
axles, and rolls by the mean of the roll there.

Read :func:`poses` first, then :func:`derived_body_point`, which is the same arithmetic with derivatives.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment import line as al
from spanwright.alignment.line import Line
from spanwright.clearance.vehicles import Body, Vehicle, size_shift, truck_spacing
from spanwright.errors import NotConvergedError
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Poses:
    """Poses of one body.

    Parameters
    ----------
    station : ndarray, shape (n,)
        Pose stations. [mm]
    half : ndarray, shape (n,)
        Station of each truck from the pose station. [mm]
    origin : ndarray, shape (n, 3)
        Midpoint between the truck centres. [mm]
    axes : ndarray, shape (n, 3, 3)
        Rows: forward, left, up. [1]
    """

    station: FloatArray
    half: FloatArray
    origin: FloatArray
    axes: FloatArray


def truck_centre(line: Line, s: FloatArray, wheelbase: float) -> tuple[FloatArray, FloatArray]:
    """Return where a truck's centre stands, and its change by station.

    Parameters
    ----------
    line : Line
        The line.
    s : ndarray, shape (n,)
        Station of the truck. [mm]
    wheelbase : float
        Distance in station of its outer axles. [mm]

    Returns
    -------
    points : ndarray, shape (n, 3)
        Truck centres. [mm]
    slopes : ndarray, shape (n, 3)
        Derivatives to the station. [1]
    """
    if wheelbase > 0:
        ahead, behind = (truck_centre(line, s + e, 0.0) for e in (0.5 * wheelbase, -0.5 * wheelbase))
        return 0.5 * (ahead[0] + behind[0]), 0.5 * (ahead[1] + behind[1])
    plan, heading = al.position_at(line, s)
    points = np.column_stack([plan, al.height_at(line, s)])
    return points, np.column_stack([np.cos(heading), np.sin(heading), al.grade_at(line, s)])


def _truck_roll(line: Line, s: FloatArray, wheelbase: float) -> FloatArray:
    if wheelbase > 0:
        return 0.5 * (al.roll_at(line, s + 0.5 * wheelbase) + al.roll_at(line, s - 0.5 * wheelbase))
    return al.roll_at(line, s)


def _place_trucks(line: Line, body: Body, s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Half separation in station by Newton's rule, and the truck centres: all leading, then all trailing."""
    n, spacing = len(s), body.truck_spacing
    half = np.full(n, 0.5 * spacing)
    error = np.zeros(n)
    for _ in range(30):
        points, slopes = truck_centre(line, np.concatenate([s + half, s - half]), body.truck_wheelbase)
        chord = points[:n] - points[n:]
        length = np.sqrt(np.sum(chord**2, axis=1))
        error = length - spacing
        if np.max(np.abs(error), initial=0.0) < 1e-10:
            return half, points
        opening = np.sum(chord * (slopes[:n] + slopes[n:]), axis=1) / length
        if np.any(opening < 0.5) or np.any(
            half > spacing
        ):  # the line has turned back on itself between the trucks
            break
        half = half - error / opening
    raise NotConvergedError(
        "the trucks find no place on the line",
        code="CL020",
        where=f"{line.name}, {body.name}",
        value=float(np.max(np.abs(error))),
        limit="1e-10 mm",
        hint="Is the truck spacing longer than the curve allows?",
    )


def poses(line: Line, body: Body, s: FloatArray) -> Poses:
    """Return the poses of a body at pose stations.

    Parameters
    ----------
    line : Line
        The line; it runs on straight beyond its ends.
    body : Body
        The body.
    s : ndarray, shape (n,)
        Pose stations. [mm]

    Returns
    -------
    Poses
        Origins and axes.

    Raises
    ------
    NotConvergedError
        If no place of the trucks is found, as on a curve too tight for the truck spacing.
    """
    s = np.atleast_1d(np.asarray(s, dtype=float))
    n, wheelbase = len(s), body.truck_wheelbase
    half, points = _place_trucks(line, body, s)
    chord = points[:n] - points[n:]
    length = np.sqrt(np.sum(chord**2, axis=1))
    roll = 0.5 * (_truck_roll(line, s + half, wheelbase) + _truck_roll(line, s - half, wheelbase))
    forward = chord / length[:, None]
    level = np.hypot(forward[:, 0], forward[:, 1])
    left = np.column_stack([-forward[:, 1] / level, forward[:, 0] / level, np.zeros(n)])
    up = np.cross(forward, left)
    c, r = np.cos(roll)[:, None], np.sin(roll)[:, None]
    axes = np.stack([forward, c * left + r * up, c * up - r * left], axis=1)
    return Poses(station=s, half=half, origin=0.5 * (points[:n] + points[n:]), axes=axes)


def body_points(at: Poses, xyz: FloatArray) -> FloatArray:
    """Return world positions of points of a body, one a pose.

    Parameters
    ----------
    at : Poses
        The poses, n of them.
    xyz : ndarray, shape (n, 3)
        Points in the body frame. [mm]

    Returns
    -------
    ndarray, shape (n, 3)
        Points in the layout frame. [mm]
    """
    return at.origin + np.einsum("nj,njc->nc", xyz, at.axes)


def _mean(parts: list[Derived]) -> Derived:
    total = parts[0]
    for part in parts[1:]:
        total = total + part
    return total * (1.0 / len(parts))


def _derived_truck(line: Line, s: Derived, wheelbase: float) -> tuple[Derived, Derived]:
    """Centre (3,) and roll of a truck whose station may have derivatives."""
    offsets = np.array([0.5 * wheelbase, -0.5 * wheelbase]) if wheelbase > 0 else np.zeros(1)
    n = len(offsets)
    at = al.track_point(line, Derived(s.value + offsets, np.broadcast_to(s.jac, (n, s.jac.shape[-1]))))
    centre = dv.stack([_mean([axis[k] for k in range(n)]) for axis in (at.x, at.y, at.z)])
    return centre, _mean([at.roll[k] for k in range(n)])


def _derived_half(line: Line, body: Body, spacing: Derived, s: float) -> Derived:
    """Half separation that keeps the truck spacing exact (implicit rule, pose station held)."""
    half = float(poses(line, _with_spacing(body, float(spacing.value)), np.array([s])).half[0])
    held = [_derived_truck(line, dv.constant(s + e), body.truck_wheelbase)[0] for e in (half, -half)]
    _, slopes = truck_centre(line, np.array([s + half, s - half]), body.truck_wheelbase)
    chord = held[0] - held[1]
    forward = chord.value / np.sqrt(np.sum(chord.value**2))
    room = spacing - dv.dot(forward, chord)
    return Derived(np.float64(half), room.jac / float(forward @ (slopes[0] + slopes[1])))


def _with_spacing(body: Body, spacing: float) -> Body:
    return Body(
        name=body.name, truck_spacing=spacing, truck_wheelbase=body.truck_wheelbase, prisms=body.prisms
    )


def derived_body_point(
    line: Line, body: Body, vehicle: Vehicle, s: float, *, xyz: FloatArray, inputs: Inputs
) -> Derived:
    """Return a point of a body in the layout frame with its derivatives, pose station and point held.

    Parameters
    ----------
    line : Line
        The line.
    body : Body
        The body, with nominal sizes.
    vehicle : Vehicle
        Its vehicle, which names the inputs of the size errors.
    s : float
        Pose station, held. [mm]
    xyz : ndarray, shape (3,)
        The point in the body frame by nominal sizes. [mm]
    inputs : Inputs
        The base inputs.

    Returns
    -------
    Derived
        Shape (3,). The half separation of the trucks follows so that the truck spacing stays exact.
    """
    half = _derived_half(line, body, truck_spacing(vehicle, body, inputs), s)
    ahead, roll_ahead = _derived_truck(line, s + half, body.truck_wheelbase)
    behind, roll_behind = _derived_truck(line, s - half, body.truck_wheelbase)
    chord = ahead - behind
    origin = (ahead + behind) * 0.5
    roll = (roll_ahead + roll_behind) * 0.5
    square = chord * chord
    length = dv.sqrt(square[0] + square[1] + square[2])
    fx, fy, fz = (chord[k] / length for k in range(3))
    level = dv.sqrt(fx * fx + fy * fy)
    left = (-fy / level, fx / level, dv.constant(0.0))
    up = (-(fz * left[1]), fz * left[0], level)
    c, r = dv.cos(roll), dv.sin(roll)
    at = size_shift(vehicle, xyz, inputs) + xyz
    across = at[1] * c - at[2] * r
    high = at[1] * r + at[2] * c
    forward = (fx, fy, fz)
    return origin + dv.stack([forward[k] * at[0] + left[k] * across + up[k] * high for k in range(3)])
