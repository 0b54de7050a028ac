"""One line of track: plan, height and cant at any station, with derivatives to the base inputs.

The plan is a chain of short clothoids. Grade is piecewise linear in station, so that a vertical
curve is a ramp of grade; the height is that of the track centre at railhead level, midway between
the rail heads. Cant is piecewise linear. Beyond the surveyed ends the line runs on straight with the
end's grade and cant: computed so, and to be reported as not surveyed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.geometry import chain as ch
from spanwright.geometry.chain import Chain
from spanwright.geometry.hats import hat_basis, hat_integral

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """A line of track.

    Parameters
    ----------
    name : str
        The line's name in the job.
    chain : Chain
        Plan at its best values.
    plan : Derived
        ``x0, y0, heading0, curvature at each knot`` with derivatives, shape (k + 3,).
    grade_knots : ndarray, shape (m,)
        Stations at which the grade is given, growing. [mm]
    profile : Derived
        Height at the first grade knot, then the grade at each, shape (m + 1,).
    cant_knots : ndarray, shape (c,)
        Stations at which the cant is given, growing. [mm]
    cant : Derived
        Right rail above left rail at the cant knots, shape (c,).
    head_distance : Derived
        Distance between the centres of the two rail heads.
    surveyed : tuple of float
        First and last station that a mark supports. [mm]
    """

    name: str
    chain: Chain
    plan: Derived
    grade_knots: FloatArray
    profile: Derived
    cant_knots: FloatArray
    cant: Derived
    head_distance: Derived
    surveyed: tuple[float, float]


def grade_basis(knots: FloatArray, s: FloatArray) -> FloatArray:
    """Return the factors of (height at the first knot, grades) in the height at each station.

    Parameters
    ----------
    knots : ndarray, shape (m,)
        Stations of the grades. [mm]
    s : ndarray, shape (n,)
        Stations. [mm]

    Returns
    -------
    ndarray, shape (n, m + 1)
        ``height = factors @ (z0, grades)``. [any]
    """
    basis = hat_integral(knots, s)
    basis[:, 0] += np.minimum(s - knots[0], 0.0)
    basis[:, -1] += np.maximum(s - knots[-1], 0.0)
    return np.column_stack([np.ones(len(s)), basis])


def position_at(line: Line, s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return plan positions and directions of the track centre.

    Parameters
    ----------
    line : Line
        The line.
    s : ndarray, shape (n,)
        Stations. [mm]

    Returns
    -------
    positions : ndarray, shape (n, 2)
        Points. [mm]
    headings : ndarray, shape (n,)
        Directions from the x axis to the left. [rad]
    """
    return ch.evaluate(line.chain, s)


def curvature_at(line: Line, s: FloatArray) -> FloatArray:
    """Return the curvature in plan; nil beyond the surveyed ends.

    Parameters
    ----------
    line : Line
        The line.
    s : ndarray, shape (n,)
        Stations. [mm]

    Returns
    -------
    ndarray, shape (n,)
        Curvature, left turn positive. [1/mm]
    """
    return ch.curvature_at(line.chain, np.atleast_1d(s))


def nearest_station(line: Line, points: FloatArray) -> FloatArray:
    """Return the station of the track centre's nearest point to each plan point.

    Parameters
    ----------
    line : Line
        The line.
    points : ndarray, shape (n, 2)
        Plan positions. [mm]

    Returns
    -------
    ndarray, shape (n,)
        Stations. [mm]

    Raises
    ------
    NotConvergedError
        If a foot point is not found, as at the centre of an arc.
    """
    return ch.nearest(line.chain, points)


def height_at(line: Line, s: FloatArray) -> FloatArray:
    """Return the railhead height at the track centre.

    Parameters
    ----------
    line : Line
        The line.
    s : ndarray, shape (n,)
        Stations. [mm]

    Returns
    -------
    ndarray, shape (n,)
        Heights. [mm]
    """
    s = np.atleast_1d(np.asarray(s, dtype=float))
    return grade_basis(line.grade_knots, s) @ line.profile.value


def derived_height(line: Line, s: FloatArray) -> Derived:
    """Return the railhead height at the track centre with its derivatives, at stations that are held.

    Parameters
    ----------
    line : Line
        The line.
    s : ndarray, shape (n,)
        Stations. [mm]

    Returns
    -------
    Derived
        Heights, shape (n,).
    """
    return dv.dot(grade_basis(line.grade_knots, s), line.profile)


def grade_at(line: Line, s: FloatArray) -> FloatArray:
    """Return the grade, rising with station.

    Parameters
    ----------
    line : Line
        The line.
    s : ndarray, shape (n,)
        Stations. [mm]

    Returns
    -------
    ndarray, shape (n,)
        Rise over run. [1]
    """
    return np.interp(np.atleast_1d(s), line.grade_knots, line.profile.value[1:])


def cant_at(line: Line, s: FloatArray) -> FloatArray:
    """Return the cant.

    Parameters
    ----------
    line : Line
        The line.
    s : ndarray, shape (n,)
        Stations. [mm]

    Returns
    -------
    ndarray, shape (n,)
        Right rail above left rail. [mm]
    """
    s = np.atleast_1d(np.asarray(s, dtype=float))
    return hat_basis(line.cant_knots, s) @ line.cant.value


def roll_at(line: Line, s: FloatArray) -> FloatArray:
    """Return the roll about the forward axis, positive when the left side is up.

    Parameters
    ----------
    line : Line
        The line.
    s : ndarray, shape (n,)
        Stations. [mm]

    Returns
    -------
    ndarray, shape (n,)
        ``-asin(cant / distance of rail heads)``. [rad]
    """
    return -np.arcsin(cant_at(line, s) / line.head_distance.value)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrackPoint:
    """Position, height, direction, cant and roll at stations, with derivatives.

    Parameters
    ----------
    x : Derived
        Plan position, first coordinate.
    y : Derived
        Plan position, second coordinate.
    z : Derived
        Railhead height at the track centre.
    heading : Derived
        Direction from the x axis to the left.
    grade : Derived
        Rise over run, rising with station.
    cant : Derived
        Right rail above left.
    roll : Derived
        About the forward axis, positive when the left side is up.
    """

    x: Derived
    y: Derived
    z: Derived
    heading: Derived
    grade: Derived
    cant: Derived
    roll: Derived


def _slopes(knots: FloatArray, s: FloatArray) -> FloatArray:
    """Return the derivative of the hats to station."""
    step = 1e-3
    return (hat_basis(knots, s + step) - hat_basis(knots, s - step)) / (2.0 * step)


def track_point(line: Line, s: Derived | FloatArray) -> TrackPoint:
    """Return the track with its derivatives at stations that may themselves have derivatives.

    Parameters
    ----------
    line : Line
        The line.
    s : Derived or ndarray, shape (n,)
        Stations; an array means stations that are held. [mm]

    Returns
    -------
    TrackPoint
        Arrays of shape (n,).
    """
    if isinstance(s, Derived):
        return along(line, track_point(line, s.value), s)
    at = np.atleast_1d(np.asarray(s, dtype=float))
    points, angle = ch.evaluate(line.chain, at)
    by_plan, turn_by_plan = ch.sensitivities(line.chain, at)
    x = dv.linear(points[:, 0], by_plan[:, 0], line.plan)
    y = dv.linear(points[:, 1], by_plan[:, 1], line.plan)
    heading = dv.linear(angle, turn_by_plan, line.plan)
    z = derived_height(line, at)
    grade = dv.dot(hat_basis(line.grade_knots, at), line.profile[1:])
    cant = dv.dot(hat_basis(line.cant_knots, at), line.cant)
    return TrackPoint(x=x, y=y, z=z, heading=heading, grade=grade, cant=cant, roll=_roll(line, cant))


def along(line: Line, held: TrackPoint, s: Derived) -> TrackPoint:
    """Return the track at stations that have derivatives, from the same stations held.

    Parameters
    ----------
    line : Line
        The line.
    held : TrackPoint
        The track at the stations' values.
    s : Derived
        The stations, shape (n,), or one.

    Returns
    -------
    TrackPoint
        The same values.
    """
    at, angle = np.atleast_1d(s.value), held.heading.value
    move = Derived(np.zeros(len(at)), s.jac.reshape(len(at), -1))
    cant = held.cant + move * (_slopes(line.cant_knots, at) @ line.cant.value)
    return TrackPoint(
        x=held.x + move * np.cos(angle),
        y=held.y + move * np.sin(angle),
        z=held.z + move * grade_at(line, at),
        heading=held.heading + move * ch.curvature_at(line.chain, at),
        grade=held.grade + move * (_slopes(line.grade_knots, at) @ line.profile.value[1:]),
        cant=cant,
        roll=_roll(line, cant),
    )


def _roll(line: Line, cant: Derived) -> Derived:
    return -dv.arcsin(cant / line.head_distance)
