"""Where two lines cross in plan, at what angle, and how far apart they are in height.

Every crossing is found. At each, the separation is given for the track centres and for the four
points where a rail head of one line passes over a rail head of the other, since cant, grade and angle
make all four differ.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import Line, TrackPoint, position_at, track_point
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.geometry import chain as ch

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RailCrossing:
    """One rail over one rail, or centre over centre.

    Parameters
    ----------
    upper_rail : str
        ``left``, ``right`` or ``centre``.
    lower_rail : str
        ``left``, ``right`` or ``centre``.
    x : Derived
        Plan position, first coordinate.
    y : Derived
        Plan position, second coordinate.
    upper_station : Derived
        Station on the upper line.
    lower_station : Derived
        Station on the lower line.
    separation : Derived
        Railhead of the upper line above railhead of the lower.
    """

    upper_rail: str
    lower_rail: str
    x: Derived
    y: Derived
    upper_station: Derived
    lower_station: Derived
    separation: Derived


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Crossing:
    """One crossing of two lines.

    Parameters
    ----------
    id : str
        Stable id, such as ``crossing/upper/lower/1``.
    upper : str
        Name of the line that is on top here.
    lower : str
        Name of the line below.
    angle : Derived
        Direction of the upper line less that of the lower, between -pi and pi, in radians.
    centre : RailCrossing
        Of the track centres.
    rails : tuple of RailCrossing
        Left over left, left over right, right over left, right over right.
    surveyed : bool
        False where it lies beyond the surveyed ends of a line.
    """

    id: str
    upper: str
    lower: str
    angle: Derived
    centre: RailCrossing
    rails: tuple[RailCrossing, ...]
    surveyed: bool


def _rough_crossings(a: Line, b: Line) -> list[tuple[float, float]]:
    def polyline(line: Line) -> tuple[FloatArray, FloatArray]:
        low, high = line.surveyed
        s = np.linspace(low - 50.0, high + 50.0, max(3, int((high - low + 100.0) / 5.0) + 1))
        return s, position_at(line, s)[0]

    sa, pa = polyline(a)
    sb, pb = polyline(b)
    da, db = np.diff(pa, axis=0), np.diff(pb, axis=0)
    w = pb[None, :-1] - pa[:-1, None]
    det = da[:, None, 0] * db[None, :, 1] - da[:, None, 1] * db[None, :, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (w[..., 0] * db[None, :, 1] - w[..., 1] * db[None, :, 0]) / det
        u = (w[..., 0] * da[:, None, 1] - w[..., 1] * da[:, None, 0]) / det
    hit = (t >= 0.0) & (t < 1.0) & (u >= 0.0) & (u < 1.0)
    return [
        (float(sa[i] + t[i, j] * (sa[i + 1] - sa[i])), float(sb[j] + u[i, j] * (sb[j + 1] - sb[j])))
        for i, j in zip(*np.nonzero(hit), strict=True)
    ]


def meet(
    upper: Line, lower: Line, start: tuple[float, float], offsets: tuple[Derived | float, Derived | float]
) -> tuple[Derived, Derived]:
    """Return the stations where two curves beside two lines cross.

    Parameters
    ----------
    upper : Line
        First line.
    lower : Line
        Second line.
    start : tuple of float
        Rough stations on both. [mm]
    offsets : tuple of Derived or float
        How far to the left of each line's centre the curves lie. [mm]

    Returns
    -------
    tuple of Derived
        Station on each line.
    """
    s, t = start
    a, b = (float(o.value) if isinstance(o, Derived) else float(o) for o in offsets)
    for _ in range(50):
        (p, hp), (q, hq) = position_at(upper, np.array([s])), position_at(lower, np.array([t]))
        n_p, n_q = np.array([-np.sin(hp[0]), np.cos(hp[0])]), np.array([-np.sin(hq[0]), np.cos(hq[0])])
        t_p, t_q = np.array([n_p[1], -n_p[0]]), np.array([n_q[1], -n_q[0]])
        gap = (q[0] + b * n_q) - (p[0] + a * n_p)
        k_p = 1.0 - a * ch.curvature_at(upper.chain, np.array([s]))[0]
        k_q = 1.0 - b * ch.curvature_at(lower.chain, np.array([t]))[0]
        matrix = np.column_stack([t_p * k_p, -t_q * k_q])
        ds, dt = np.linalg.solve(matrix, gap)
        s, t = s + ds, t + dt
        if abs(ds) + abs(dt) < 1e-10:
            break
    up, low = track_point(upper, np.array([s])), track_point(lower, np.array([t]))
    gap_x = (low.x - dv.sin(low.heading) * b) - (up.x - dv.sin(up.heading) * a)
    gap_y = (low.y + dv.cos(low.heading) * b) - (up.y + dv.cos(up.heading) * a)
    for o, n, sign in ((offsets[0], n_p, -1.0), (offsets[1], n_q, 1.0)):
        if isinstance(o, Derived):
            gap_x = gap_x + (o - o.value) * (sign * n[0])
            gap_y = gap_y + (o - o.value) * (sign * n[1])
    inverse = np.linalg.solve(matrix, np.eye(2))
    moved = dv.dot(inverse, dv.stack([gap_x[0], gap_y[0]]))
    return Derived(np.float64(s), moved.jac[0]), Derived(np.float64(t), moved.jac[1])


def _scalar(s: Derived) -> Derived:
    return Derived(s.value.reshape(1), s.jac.reshape(1, -1))


def _rail_crossing(
    upper: Line, lower: Line, start: tuple[float, float], rails: tuple[str, str]
) -> RailCrossing:
    side = {"left": 0.5, "right": -0.5, "centre": 0.0}
    a, b = upper.head_distance * side[rails[0]], lower.head_distance * side[rails[1]]
    s, t = meet(upper, lower, start, (a, b))
    up, low = track_point(upper, _scalar(s)), track_point(lower, _scalar(t))
    z_up, z_low = rail_height(up, side[rails[0]]), rail_height(low, side[rails[1]])
    x, y = up.x - dv.sin(up.heading) * a, up.y + dv.cos(up.heading) * a
    return RailCrossing(
        upper_rail=rails[0],
        lower_rail=rails[1],
        x=x[0],
        y=y[0],
        upper_station=s,
        lower_station=t,
        separation=(z_up - z_low)[0],
    )


def rail_height(point: TrackPoint, lever: float) -> Derived:
    """Return the height of a rail head.

    Parameters
    ----------
    point : TrackPoint
        The track at the rail's station.
    lever : float
        0.5 for the left rail, -0.5 for the right, 0 for the centre. [1]

    Returns
    -------
    Derived
        Height of the rail head.
    """
    return point.z - point.cant * lever


def find_crossings(a: Line, b: Line) -> tuple[Crossing, ...]:
    """Return every crossing of two lines, in station order of the first.

    Parameters
    ----------
    a : Line
        One line.
    b : Line
        The other.

    Returns
    -------
    tuple of Crossing
        Empty if they do not cross.
    """
    found = []
    for number, (s, t) in enumerate(sorted(_rough_crossings(a, b)), start=1):
        level = rail_height(track_point(a, np.array([s])), 0.0) - rail_height(
            track_point(b, np.array([t])), 0.0
        )
        upper, lower, start = (a, b, (s, t)) if level.value[0] >= 0.0 else (b, a, (t, s))
        centre = _rail_crossing(upper, lower, start, ("centre", "centre"))
        up = track_point(upper, _scalar(centre.upper_station))
        low = track_point(lower, _scalar(centre.lower_station))
        turn = (up.heading - low.heading)[0]
        angle = turn - 2.0 * np.pi * np.round(turn.value / (2.0 * np.pi))
        inside = (
            upper.surveyed[0] <= centre.upper_station.value <= upper.surveyed[1]
            and lower.surveyed[0] <= centre.lower_station.value <= lower.surveyed[1]
        )
        found.append(
            Crossing(
                id=f"crossing/{upper.name}/{lower.name}/{number}",
                upper=upper.name,
                lower=lower.name,
                angle=angle,
                centre=centre,
                rails=tuple(
                    _rail_crossing(upper, lower, start, (u, w))
                    for u in ("left", "right")
                    for w in ("left", "right")
                ),
                surveyed=bool(inside),
            )
        )
    return tuple(found)


def off_square(crossing: Crossing) -> tuple[Derived, Derived]:
    """Return a crossing's angle both ways: between the lines, and off square.

    Parameters
    ----------
    crossing : Crossing
        The crossing.

    Returns
    -------
    tuple of Derived
        Acute angle between the lines, and its complement, in radians.
    """
    angle = crossing.angle
    folded = angle - np.pi * np.round(angle.value / np.pi)
    between = folded * (1.0 if folded.value >= 0.0 else -1.0)
    return between, np.pi / 2.0 - between
