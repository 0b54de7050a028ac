"""Where two lines cross in plan, at what angle, and how far apart they are in height.

Every crossing is found. At each, the separation is given for the track centres and for the four
points where a rail head of one line passes over a rail head of the other, since cant, grade and angle
make all four differ.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import Line, TrackPoint, along, height_at, position_at, track_point
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
    pair = (dv.stack([o if isinstance(o, Derived) else dv.constant(o)]) for o in offsets)
    s, t, *_ = _meetings(upper, lower, start, *pair)
    return s[0], t[0]


def _meetings(
    upper: Line, lower: Line, start: tuple[float, float], a: Derived, b: Derived
) -> tuple[Derived, Derived, TrackPoint, TrackPoint]:
    """Stations where n pairs of curves at these offsets cross, near one start; both tracks held there."""
    s, t = (np.full(len(a), station) for station in start)
    for _ in range(50):
        (p, hp), (q, hq) = position_at(upper, s), position_at(lower, t)
        n_p, n_q = (np.stack([-np.sin(h), np.cos(h)], axis=1) for h in (hp, hq))
        t_p, t_q = (np.stack([n[:, 1], -n[:, 0]], axis=1) for n in (n_p, n_q))
        gap = (q + b.value[:, None] * n_q) - (p + a.value[:, None] * n_p)
        k_p = 1.0 - a.value * ch.curvature_at(upper.chain, s)
        k_q = 1.0 - b.value * ch.curvature_at(lower.chain, t)
        matrix = np.stack([t_p * k_p[:, None], -t_q * k_q[:, None]], axis=2)
        move = np.linalg.solve(matrix, gap[:, :, None])[:, :, 0]
        s, t = s + move[:, 0], t + move[:, 1]
        if np.max(np.sum(np.abs(move), axis=1)) < 1e-10:
            break
    up, low = track_point(upper, s), track_point(lower, t)
    gap_x = (low.x - dv.sin(low.heading) * b.value) - (up.x - dv.sin(up.heading) * a.value)
    gap_y = (low.y + dv.cos(low.heading) * b.value) - (up.y + dv.cos(up.heading) * a.value)
    for o, n, sign in ((a, n_p, -1.0), (b, n_q, 1.0)):
        gap_x = gap_x + (o - o.value) * (sign * n[:, 0])
        gap_y = gap_y + (o - o.value) * (sign * n[:, 1])
    moved = np.linalg.solve(matrix, np.stack([gap_x.jac, gap_y.jac], axis=1))
    return Derived(s, moved[:, 0]), Derived(t, moved[:, 1]), up, low


def _rail_crossings(
    upper: Line, lower: Line, start: tuple[float, float]
) -> tuple[tuple[RailCrossing, ...], Derived]:
    """Centre over centre, then rail over rail, and by how much the upper centre turns from the lower."""
    pairs = [("centre", "centre"), *((u, w) for u in ("left", "right") for w in ("left", "right"))]
    side = {"left": 0.5, "right": -0.5, "centre": 0.0}
    over, under = (np.array([side[rails[k]] for rails in pairs]) for k in (0, 1))
    a, b = upper.head_distance * over, lower.head_distance * under
    s, t, up, low = _meetings(upper, lower, start, a, b)
    up, low = along(upper, up, s), along(lower, low, t)
    apart = rail_height(up, over) - rail_height(low, under)
    x, y = up.x - dv.sin(up.heading) * a, up.y + dv.cos(up.heading) * a
    found = tuple(
        RailCrossing(
            upper_rail=rails[0],
            lower_rail=rails[1],
            x=x[k],
            y=y[k],
            upper_station=s[k],
            lower_station=t[k],
            separation=apart[k],
        )
        for k, rails in enumerate(pairs)
    )
    return found, (up.heading - low.heading)[0]


def rail_height(point: TrackPoint, lever: float | FloatArray) -> Derived:
    """Return the height of a rail head.

    Parameters
    ----------
    point : TrackPoint
        The track at the rail's station.
    lever : float or ndarray, shape (n,)
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
        level = height_at(a, np.array([s])) - height_at(b, np.array([t]))
        upper, lower, start = (a, b, (s, t)) if level[0] >= 0.0 else (b, a, (t, s))
        (centre, *rails), turn = _rail_crossings(upper, lower, start)
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
                rails=tuple(rails),
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
