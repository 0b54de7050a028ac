"""The parabolic vertical curve: grade changes evenly with station between two straight grades.

Stations and elevations share one unit; a grade is rise over run (0.02, not 2 per cent), rising with
station. Beyond both ends the grades run on straight.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.errors import InputError

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True)
class VerticalCurve:
    """A parabola between two grades.

    Parameters
    ----------
    station : float
        Where it begins. [any]
    elevation : float
        Height there. [any]
    length : float
        Length in station. [any]
    grade_in : float
        Grade before it. [1]
    grade_out : float
        Grade after it. [1]
    """

    station: float
    elevation: float
    length: float
    grade_in: float
    grade_out: float

    def __post_init__(self) -> None:
        if not (self.length > 0 and np.isfinite(self.length)):
            raise InputError("a vertical curve needs a length above nil", code="GE070", value=self.length)


def vertical_curve_at(
    station: float, elevation: float, *, length: float, grade_in: float, grade_out: float
) -> VerticalCurve:
    """Return the curve centred on the intersection of two grades.

    Parameters
    ----------
    station : float
        Where the grades meet. [any]
    elevation : float
        Height where they meet. [any]
    length : float
        Length in station, half of it on either side. [any]
    grade_in : float
        Grade before. [1]
    grade_out : float
        Grade after. [1]

    Returns
    -------
    VerticalCurve
        The curve.

    Raises
    ------
    InputError
        If the length is not above nil.

    Examples
    --------
    >>> curve = vertical_curve_at(5650.0, 1325.0, length=500.0, grade_in=0.05, grade_out=-0.035)
    >>> curve.elevation
    1312.5
    """
    half = 0.5 * length
    return VerticalCurve(
        station=station - half,
        elevation=elevation - grade_in * half,
        length=length,
        grade_in=grade_in,
        grade_out=grade_out,
    )


def grades_from_elevations(
    start: float, intersection: float, end: float, length: float
) -> tuple[float, float]:
    """Return the two grades from three heights.

    Parameters
    ----------
    start : float
        Height where the curve begins. [any]
    intersection : float
        Height where the grades meet, midway. [any]
    end : float
        Height where the curve ends. [any]
    length : float
        Length of the curve in station. [any]

    Returns
    -------
    grade_in : float
        Grade before. [1]
    grade_out : float
        Grade after. [1]

    Raises
    ------
    InputError
        If the length is not above nil.
    """
    if not length > 0:
        raise InputError("a vertical curve needs a length above nil", code="GE070", value=length)
    half = 0.5 * length
    return (intersection - start) / half, (end - intersection) / half


def elevation_at(curve: VerticalCurve, station: FloatArray) -> FloatArray:
    """Return heights.

    Parameters
    ----------
    curve : VerticalCurve
        The curve.
    station : ndarray
        Stations, on the curve or beyond. [any]

    Returns
    -------
    ndarray
        Heights. [any]
    """
    ahead = np.asarray(station, dtype=float) - curve.station
    on = np.clip(ahead, 0.0, curve.length)
    bend = (curve.grade_out - curve.grade_in) / (2.0 * curve.length)
    beyond = np.minimum(ahead, 0.0) * curve.grade_in + np.maximum(ahead - curve.length, 0.0) * curve.grade_out
    return curve.elevation + curve.grade_in * on + bend * on**2 + beyond


def grade_at(curve: VerticalCurve, station: FloatArray) -> FloatArray:
    """Return grades.

    Parameters
    ----------
    curve : VerticalCurve
        The curve.
    station : ndarray
        Stations, on the curve or beyond. [any]

    Returns
    -------
    ndarray
        Rise over run. [1]
    """
    on = np.clip(np.asarray(station, dtype=float) - curve.station, 0.0, curve.length)
    return curve.grade_in + (curve.grade_out - curve.grade_in) * on / curve.length


def turning_point(curve: VerticalCurve) -> tuple[float, float] | None:
    """Return the highest point of a crest or the lowest of a sag.

    Parameters
    ----------
    curve : VerticalCurve
        The curve.

    Returns
    -------
    tuple of float, or None
        Station and height where the grade is nil; None if it is nil nowhere on the curve or
        everywhere. [any]
    """
    change = curve.grade_out - curve.grade_in
    if change == 0.0:
        return None
    part = -curve.grade_in / change
    if not 0.0 <= part <= 1.0:
        return None
    station = curve.station + part * curve.length
    return station, float(elevation_at(curve, np.asarray(station)))
