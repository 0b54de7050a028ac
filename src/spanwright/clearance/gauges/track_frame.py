"""Points as the track sees them: station, left of centre in the plane of the rail heads, and square to it.

The section of a point is the plane through it that stands square to the track: to its direction and its
grade. In the section, left is level and square to the track, and both axes lean with the cant.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment import line as al
from spanwright.alignment.line import Line
from spanwright.errors import NotConvergedError
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived

FloatArray = np.ndarray

_ROUNDS = 60
_DONE = 1e-6  # mm; left and height change by far less than the station


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Frames:
    """Sections at stations.

    Parameters
    ----------
    origin : ndarray, shape (n, 3)
        Midway between the rail heads, at railhead level. [mm]
    axes : ndarray, shape (n, 3, 3)
        Rows: forward along the track, left, up. [1]
    """

    origin: FloatArray
    axes: FloatArray


def frames(line: Line, s: FloatArray) -> Frames:
    """Return the sections at stations.

    Parameters
    ----------
    line : Line
        The line.
    s : ndarray, shape (n,)
        Stations. [mm]

    Returns
    -------
    Frames
        Origins and axes.
    """
    plan, heading = al.position_at(line, s)
    grade, roll = al.grade_at(line, s), al.roll_at(line, s)
    steep = np.hypot(1.0, grade)
    forward = np.column_stack([np.cos(heading), np.sin(heading), grade]) / steep[:, None]
    level = np.column_stack([-np.sin(heading), np.cos(heading), np.zeros(len(s))])
    up = np.cross(forward, level)
    c, r = np.cos(roll)[:, None], np.sin(roll)[:, None]
    return Frames(
        origin=np.column_stack([plan, al.height_at(line, s)]),
        axes=np.stack([forward, c * level + r * up, c * up - r * level], axis=1),
    )


def in_track(line: Line, points: FloatArray, guess: FloatArray) -> FloatArray:
    """Return station, left and height of points, by the sections through them.

    Parameters
    ----------
    line : Line
        The line; it runs on straight beyond its ends.
    points : ndarray, shape (n, 3)
        Points in the layout frame. [mm]
    guess : ndarray, shape (n,)
        Stations near those wanted. [mm]

    Returns
    -------
    ndarray, shape (n, 3)
        Station, left of centre, height above railhead. [mm]

    Raises
    ------
    NotConvergedError
        If a point has no section near the guess, as near the centre of a curve.
    """
    s = np.array(guess, dtype=float)
    result = np.zeros((len(points), 3))
    open_ = np.arange(len(points))
    move = np.zeros(0)
    for _ in range(_ROUNDS):
        at = frames(line, s[open_])
        local = np.einsum("nac,nc->na", at.axes, points[open_] - at.origin)
        bend = al.curvature_at(line, s[open_])
        steep = np.hypot(1.0, al.grade_at(line, s[open_]))
        move = local[:, 0] / np.maximum(steep - bend * local[:, 1], 0.2)
        settled = np.abs(move) < _DONE
        now = open_[settled]
        result[now] = np.column_stack([s[now], local[settled, 1:]])
        open_ = open_[~settled]
        if not len(open_):
            return result
        s[open_] += move[~settled]
    raise NotConvergedError(
        "a point has no section of the track near it",
        code="CL023",
        where=line.name,
        value=float(np.max(np.abs(move))),
        limit=f"{_DONE:g} mm",
        hint="Is the gauge wider than the curve's radius?",
    )


def derived_in_track(line: Line, point: Derived, s: float) -> Derived:
    """Return station, left and height of one point with derivatives.

    Parameters
    ----------
    line : Line
        The line.
    point : Derived
        Shape (3,), in the layout frame.
    s : float
        Its station. [mm]

    Returns
    -------
    Derived
        Shape (3,).
    """
    grade = float(al.grade_at(line, np.array([s]))[0])
    bend = float(al.curvature_at(line, np.array([s]))[0])
    held = _local(line, point, dv.constant(np.array([s]), point.jac.shape[-1]))
    turning = np.hypot(1.0, grade) - bend * float(held[1].value)
    station = Derived(np.array([s]), (held[0].jac / turning)[None])
    moved = _local(line, point, station)
    return Derived(
        np.array([s, float(moved[1].value), float(moved[2].value)]),
        np.stack([station.jac[0], moved[1].jac, moved[2].jac]),
    )


def _local(line: Line, point: Derived, station: Derived) -> tuple[Derived, Derived, Derived]:
    """Ahead of, left of and above the section at a station."""
    at = al.track_point(line, station)
    c, w, g = dv.cos(at.heading)[0], dv.sin(at.heading)[0], at.grade[0]
    steep = dv.sqrt(g * g + 1.0)
    fx, fy, fz = c / steep, w / steep, g / steep
    dx, dy, dz = point[0] - at.x[0], point[1] - at.y[0], point[2] - at.z[0]
    level = dy * c - dx * w
    above = dz / steep - (dx * c + dy * w) * fz  # up = forward x level
    roll_c, roll_s = dv.cos(at.roll)[0], dv.sin(at.roll)[0]
    ahead = dx * fx + dy * fy + dz * fz
    return ahead, level * roll_c + above * roll_s, above * roll_c - level * roll_s
