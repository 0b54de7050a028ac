"""Where a body stands on the line: poses, points of the body, and its trucks with their derivatives.

The two truck centres stand on the line, equally far in station from the pose station, with their
distance in space equal to the truck spacing. The forward axis is the chord between them, the side axis
is level and square to it, and both are then rolled about the chord by the mean roll under the trucks.
A truck with a wheelbase of its own has its centre midway between the line's points under its outer
axles, and rolls by the mean of the roll there.

Read :func:`poses` first; its arithmetic is compiled (``geometry/kernel.c``) and works on the line's table of
:mod:`spanwright.clearance.engine.track`. How points of the body follow the inputs is told by
:mod:`spanwright.clearance.engine.levers`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment import line as al
from spanwright.alignment.line import Line
from spanwright.clearance.engine.track import track_of
from spanwright.clearance.vehicles import Body
from spanwright.errors import NotConvergedError
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.geometry import kernel

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
        Origins and axes. The trucks are placed by Newton's rule until their spacing is right to 1e-10 mm.

    Raises
    ------
    NotConvergedError
        If no place of the trucks is found, as on a curve too tight for the truck spacing.
    """
    s = kernel.floats(np.atleast_1d(s))
    n = len(s)
    track = track_of(line)
    half, origin, axes, error = np.empty(n), np.empty((n, 3)), np.empty((n, 3, 3)), np.zeros(1)
    counts = kernel.whole([len(track.start), n])
    sizes = kernel.floats([body.truck_spacing, body.truck_wheelbase])
    arrays = (counts, sizes, track.start, track.rows, s, half, origin, axes, error)
    if kernel.library().poses(*(kernel.address(a) for a in arrays)) < n:
        raise no_place(line, body, float(error[0]))
    return Poses(station=s, half=half, origin=origin, axes=axes)


def no_place(line: Line, body: Body, error: float) -> NotConvergedError:
    """Return the error that says that the trucks find no place.

    Parameters
    ----------
    line : Line
        The line.
    body : Body
        The body.
    error : float
        By how much the truck spacing is missed. [mm]

    Returns
    -------
    NotConvergedError
        To be raised.
    """
    return NotConvergedError(
        "the trucks find no place on the line",
        code="CL020",
        where=f"{line.name}, {body.name}",
        value=abs(error),
        limit="1e-10 mm",
        hint="Is the truck spacing longer than the curve allows?",
    )


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


def derived_trucks(line: Line, s: Derived, wheelbase: float) -> tuple[Derived, Derived]:
    """Return centres and rolls of trucks whose stations may have derivatives.

    Parameters
    ----------
    line : Line
        The line.
    s : Derived
        Stations of the trucks.
    wheelbase : float
        Distance in station of a truck's outer axles. [mm]

    Returns
    -------
    centres : Derived
        Shape (3, n).
    rolls : Derived
        Shape (n,).
    """
    if wheelbase > 0:
        ahead, behind = (derived_trucks(line, s + e, 0.0) for e in (0.5 * wheelbase, -0.5 * wheelbase))
        return (ahead[0] + behind[0]) * 0.5, (ahead[1] + behind[1]) * 0.5
    at = al.track_point(line, s)
    return dv.stack([at.x, at.y, at.z]), at.roll


def derived_half(line: Line, body: Body, spacing: Derived, s: FloatArray) -> Derived:
    """Return the half separations that keep the truck spacing exact (implicit rule, pose stations held).

    Parameters
    ----------
    line : Line
        The line.
    body : Body
        The body.
    spacing : Derived
        Its truck spacing with its error.
    s : ndarray, shape (n,)
        Pose stations. [mm]

    Returns
    -------
    Derived
        Shape (n,): station of each outer truck from the pose station.
    """
    half = poses(line, replace(body, truck_spacing=float(spacing.value)), s).half
    ahead, behind = (derived_trucks(line, dv.constant(s + e), body.truck_wheelbase)[0] for e in (half, -half))
    slope_ahead, slope_behind = (truck_centre(line, s + e, body.truck_wheelbase)[1] for e in (half, -half))
    chord = ahead - behind
    forward = chord.value / np.sqrt(np.sum(chord.value**2, axis=0))
    along = chord * forward
    room = spacing - (along[0] + along[1] + along[2])
    return Derived(half, room.jac / np.sum(forward.T * (slope_ahead + slope_behind), axis=1)[:, None])
