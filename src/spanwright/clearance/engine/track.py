"""A line as a table of short polynomials, for the compiled reckoning of poses.

Plan, height and cant of a :class:`~spanwright.alignment.line.Line` are taken at the ends of short pieces; the
plan between them is the polynomial of fifth degree with the same places, directions and curvatures at both
ends. Its error is below ``h^6 / 46080`` times the sixth derivative (Hermite's remainder [1]_): pieces are cut
so short that this is under 1e-10 mm. Height and cant are polynomials by definition, so they are exact.

References
----------
.. [1] J. Stoer, R. Bulirsch, *Introduction to Numerical Analysis*, 3rd ed., Springer, 2002, theorem 2.1.5.9.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from spanwright.alignment import line as al
from spanwright.alignment.line import Line
from spanwright.geometry import chain as ch

FloatArray = np.ndarray

_LONGEST = 5.0  # mm of a piece
_MOST_TURN = 0.03  # of a piece, rad
_MOST_CHANGE = 1e-3  # of curvature within a piece, times its length
_SAME = 1e-7  # mm: knots of plan, height and cant that are nearer are one; such a piece would be all rounding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """Short pieces of a line.

    Parameters
    ----------
    start : ndarray, shape (n,)
        Where each piece starts; the first one runs back without end, the last one on. [mm]
    rows : ndarray, shape (n, 17)
        Factors of the powers of the station from the start: six of each plan coordinate, three of the
        height, two of the sine of the roll. [mixed]
    """

    start: FloatArray
    rows: FloatArray


@lru_cache(maxsize=8)  # a line is frozen; its poses are asked for many times
def track_of(line: Line) -> Track:
    """Return a line as a table of pieces.

    Parameters
    ----------
    line : Line
        The line.

    Returns
    -------
    Track
        The same line to 1e-10 mm.
    """
    cuts = _cuts(line)
    low, high = cuts[:-1], cuts[1:]
    length = high - low
    places, angle = ch.evaluate(line.chain, cuts)
    along = np.column_stack([np.cos(angle), np.sin(angle)])
    square = np.column_stack([-along[:, 1], along[:, 0]])
    bend = ch.curvature_at(line.chain, cuts)[:, None] * square
    middle = 0.5 * (low + high)
    curved = ((middle > line.chain.knots[0]) & (middle < line.chain.knots[-1]))[:, None]
    plan = _quintic(places, along, (bend[:-1] * curved, bend[1:] * curved), length[:, None])
    grade, height = al.grade_at(line, cuts), al.height_at(line, cuts)
    sine = -al.cant_at(line, cuts) / line.head_distance.value
    rows = np.zeros((len(length) + 2, 17))
    rows[1:-1, :12] = plan
    rows[1:-1, 12:15] = np.column_stack([height[:-1], grade[:-1], 0.5 * np.diff(grade) / length])
    rows[1:-1, 15:] = np.column_stack([sine[:-1], np.diff(sine) / length])
    for row, k in ((0, 0), (-1, -1)):  # straight beyond both ends
        rows[row, [0, 1, 6, 7]] = places[k, 0], along[k, 0], places[k, 1], along[k, 1]
        rows[row, [12, 13, 15]] = height[k], grade[k], sine[k]
    return Track(start=np.concatenate([cuts[:1], cuts]), rows=rows)


def _cuts(line: Line) -> FloatArray:
    """Return the ends of pieces: all knots, and between them as many as the curve asks for."""
    knots = np.unique(np.concatenate([line.chain.knots, line.grade_knots, line.cant_knots]))
    knots = knots[np.concatenate([[True], np.diff(knots) > _SAME])]
    length = np.diff(knots)
    curvature = ch.curvature_at(line.chain, knots)
    most = np.maximum(np.abs(curvature[1:]), np.abs(curvature[:-1]))
    change = np.abs(np.diff(curvature))
    wanted = (length / _LONGEST, length * most / _MOST_TURN, np.sqrt(length * change / _MOST_CHANGE))
    parts = np.ceil(np.maximum.reduce([np.ones(len(length)), *wanted])).astype(int)
    within = np.arange(int(np.sum(parts))) - np.repeat(np.cumsum(parts) - parts, parts)
    return np.append(np.repeat(knots[:-1], parts) + within * np.repeat(length / parts, parts), knots[-1])


def _quintic(
    places: FloatArray, along: FloatArray, bends: tuple[FloatArray, FloatArray], h: FloatArray
) -> FloatArray:
    """Factors of both coordinates from places, directions and curvatures at the ends."""
    place, start, bend = places[:-1], along[:-1], bends[0]
    d = places[1:] - place - start * h - 0.5 * bend * h**2
    e = along[1:] - start - bend * h
    f = bends[1] - bend
    third = (10.0 * d / h - 4.0 * e + 0.5 * f * h) / h**2
    fourth = (-15.0 * d / h + 7.0 * e - f * h) / h**3
    fifth = (6.0 * d / h - 3.0 * e + 0.5 * f * h) / h**4
    factors = np.stack([place, start, 0.5 * bend, third, fourth, fifth], axis=-1)
    return factors.reshape(len(h), 12)
