"""A chain of short clothoids: curvature is linear in arc length between knots.

``q = (x0, y0, heading0, curvature at each knot)`` fixes the chain. Heading is the integral of
curvature, position the integral of direction; left turn is positive. Beyond both ends the chain
runs on straight. Positions use Gauss-Legendre quadrature of six points on pieces over which the
heading turns by less than about half a radian, good to 1e-12 of the piece (checked against the
Fresnel integrals of Abramowitz & Stegun, table 7.7, in the tests).

Read :func:`evaluate` first, then :func:`sensitivities`, then :func:`nearest`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from spanwright.errors import InputError, NotConvergedError
from spanwright.geometry.hats import between, hat_integral

FloatArray = np.ndarray
IntArray = np.ndarray

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(6)
_NODES = 0.5 * (_NODES + 1.0)
_WEIGHTS = 0.5 * _WEIGHTS
_KEPT = 16  # chains: they are frozen, and asked for many places each


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chain:
    """A plane curve of piecewise linear curvature.

    Parameters
    ----------
    start : tuple of float
        Position at arc length of the first knot. [mm]
    heading : float
        Direction at the first knot, from the x axis to the left. [rad]
    knots : ndarray, shape (k,)
        Arc lengths, growing. [mm]
    curvature : ndarray, shape (k,)
        Curvature at the knots, left turn positive. [1/mm]
    """

    start: tuple[float, float]
    heading: float
    knots: FloatArray
    curvature: FloatArray

    def __post_init__(self) -> None:
        if len(self.knots) < 2 or np.any(np.diff(self.knots) <= 0):
            raise InputError("knots must grow and be two at least", code="GE001", value=len(self.knots))


def heading_basis(chain: Chain, s: FloatArray) -> FloatArray:
    """Return the derivative of the heading to each knot's curvature.

    Parameters
    ----------
    chain : Chain
        The curve.
    s : ndarray, shape (m,)
        Arc lengths. [mm]

    Returns
    -------
    ndarray, shape (m, k)
        Integral of each knot's hat function from the first knot to s. [mm]
    """
    return hat_integral(chain.knots, s)


def curvature_at(chain: Chain, s: FloatArray) -> FloatArray:
    """Return curvature; zero beyond the ends.

    Parameters
    ----------
    chain : Chain
        The curve.
    s : ndarray, shape (m,)
        Arc lengths. [mm]

    Returns
    -------
    ndarray, shape (m,)
        Curvature, left turn positive. [1/mm]
    """
    s = np.asarray(s, dtype=float)
    return np.interp(s, chain.knots, chain.curvature, left=0.0, right=0.0)


def heading_at(chain: Chain, s: FloatArray) -> FloatArray:
    """Return direction.

    Parameters
    ----------
    chain : Chain
        The curve.
    s : ndarray, shape (m,)
        Arc lengths. [mm]

    Returns
    -------
    ndarray, shape (m,)
        Direction from the x axis to the left. [rad]
    """
    knots = chain.knots
    h, change, at_knots = _turned(chain)
    inside = np.minimum(np.maximum(s, knots[0]), knots[-1])
    j = knots[1:-1].searchsorted(inside, side="right")
    t = inside - knots[j]
    return chain.heading + at_knots[j] + t * (chain.curvature[j] + 0.5 * t * change[j] / h[j])


@lru_cache(maxsize=_KEPT)
def _turned(chain: Chain) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Lengths between knots, changes of curvature, and by how much the heading has turned at each knot."""
    kappa, h = chain.curvature, np.diff(chain.knots)
    return h, np.diff(kappa), np.concatenate([[0.0], np.cumsum(0.5 * h * (kappa[1:] + kappa[:-1]))])


@lru_cache(maxsize=_KEPT)
def _reached(chain: Chain) -> tuple[FloatArray, FloatArray]:
    """Arc lengths of quadrature pieces, and the displacement from the start to each."""
    cuts = _pieces(chain)
    return cuts, np.vstack([[0.0, 0.0], np.cumsum(_offsets(chain, cuts[:-1], cuts[1:]), axis=0)])


@lru_cache(maxsize=_KEPT)
def _moments_at_knots(chain: Chain) -> FloatArray:
    moments = _moments(chain, np.arange(len(chain.knots) - 1), chain.knots[1:])
    return np.concatenate([np.zeros((1, *moments.shape[1:])), np.cumsum(moments, axis=0)])


def _moments(chain: Chain, j: IntArray, s: FloatArray) -> FloatArray:
    """Differentiate the displacement from knot j to s, before the next, to heading and curvatures.

    Shape (m, 2, k + 1). Between two knots only their own two hats are not yet, or no more, constant.
    """
    h, lead, passed = between(chain.knots)
    width = s - chain.knots[j]
    t = width[:, None] * _NODES
    angle = heading_at(chain, (chain.knots[j][:, None] + t).ravel()).reshape(t.shape)
    weights = width[:, None] * _WEIGHTS
    normal = np.empty((2, *t.shape))
    normal[0], normal[1] = -np.sin(angle) * weights, np.cos(angle) * weights
    late = 0.5 * t**2 / h[j][:, None]
    moved, rows = np.empty((len(s), 2, len(chain.knots) + 1)), np.arange(len(s))
    moved[:, :, 0] = normal.sum(axis=2).T
    moved[:, :, 1:] = moved[:, :, :1] * passed[j][:, None]
    moved[rows, :, j + 1] = (normal * (lead[j][:, None] + t - late)).sum(axis=2).T
    moved[rows, :, j + 2] = (normal * late).sum(axis=2).T
    return moved


def _pieces(chain: Chain) -> FloatArray:
    """Arc lengths of quadrature pieces: knots, refined where the heading turns fast."""
    turn = np.abs(np.diff(chain.knots)) * np.maximum(
        np.abs(chain.curvature[1:]), np.abs(chain.curvature[:-1])
    )
    parts = np.maximum(1, np.ceil(turn / 0.5).astype(int))
    if np.all(parts == 1):
        return chain.knots
    cuts = [
        np.linspace(a, b, n, endpoint=False)
        for a, b, n in zip(chain.knots[:-1], chain.knots[1:], parts, strict=True)
    ]
    return np.concatenate([*cuts, chain.knots[-1:]])


def _offsets(chain: Chain, a: FloatArray, b: FloatArray) -> FloatArray:
    """Displacement from arc length a to b, each pair within one piece, shape (m, 2)."""
    width = b - a
    t = a[:, None] + width[:, None] * _NODES
    angle = heading_at(chain, t.ravel()).reshape(t.shape)
    moved = np.empty((len(a), 2))
    moved[:, 0], moved[:, 1] = np.cos(angle) @ _WEIGHTS * width, np.sin(angle) @ _WEIGHTS * width
    return moved


def evaluate(chain: Chain, s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return positions and headings.

    Parameters
    ----------
    chain : Chain
        The curve.
    s : ndarray, shape (m,)
        Arc lengths; beyond the ends the curve runs on straight. [mm]

    Returns
    -------
    positions : ndarray, shape (m, 2)
        Points. [mm]
    headings : ndarray, shape (m,)
        Directions from the x axis to the left. [rad]
    """
    s = np.atleast_1d(np.asarray(s, dtype=float))
    cuts, at_cuts = _reached(chain)
    inside = np.minimum(np.maximum(s, cuts[0]), cuts[-1])
    j = cuts[1:-1].searchsorted(inside, side="right")
    angle = heading_at(chain, s)
    points = np.asarray(chain.start) + at_cuts[j] + _offsets(chain, cuts[j], inside)
    beyond = s - inside
    if beyond.any():
        points[:, 0] += beyond * np.cos(angle)
        points[:, 1] += beyond * np.sin(angle)
    return points, angle


def sensitivities(chain: Chain, s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return derivatives of position and heading to ``q = (x0, y0, heading0, curvatures)``.

    Parameters
    ----------
    chain : Chain
        The curve; its pieces are assumed to turn less than half a radian.
    s : ndarray, shape (m,)
        Arc lengths, held. [mm]

    Returns
    -------
    position : ndarray, shape (m, 2, k + 3)
        Derivatives of the points. [any]
    heading : ndarray, shape (m, k + 3)
        Derivatives of the directions. [any]
    """
    s = np.atleast_1d(np.asarray(s, dtype=float))
    knots = chain.knots
    k = len(knots)
    inside = np.minimum(np.maximum(s, knots[0]), knots[-1])
    j = knots[1:-1].searchsorted(inside, side="right")
    heading = np.zeros((len(s), k + 3))
    heading[:, 2], heading[:, 3:] = 1.0, heading_basis(chain, s)
    position = np.zeros((len(s), 2, k + 3))
    position[:, 0, 0] = position[:, 1, 1] = 1.0
    position[:, :, 2:] = _moments_at_knots(chain)[j] + _moments(chain, j, inside)
    beyond = s - inside
    if beyond.any():
        angle = heading_at(chain, s)
        normal = np.stack([-np.sin(angle), np.cos(angle)], axis=-1)
        position += (beyond[:, None] * normal)[:, :, None] * heading[:, None]
    return position, heading


def nearest(chain: Chain, points: FloatArray, guess: FloatArray | None = None) -> FloatArray:
    """Return the arc length of the nearest point of the curve to each given point.

    Parameters
    ----------
    chain : Chain
        The curve.
    points : ndarray, shape (m, 2)
        Plan positions. [mm]
    guess : ndarray, shape (m,), optional
        Arc lengths to start from; without it a search at every 5 mm. [mm]

    Returns
    -------
    ndarray, shape (m,)
        Arc lengths, beyond the ends too. [mm]

    Raises
    ------
    NotConvergedError
        If a foot point is not found, as at the centre of an arc.
    """
    points = np.atleast_2d(points)
    if guess is None:
        span = chain.knots[-1] - chain.knots[0]
        grid = np.linspace(chain.knots[0], chain.knots[-1], max(3, int(span / 5.0) + 2))
        along, angle = evaluate(chain, grid)
        guess = grid[np.argmin(np.sum((points[:, None] - along[None]) ** 2, axis=2), axis=1)]
    s = np.array(guess, dtype=float)
    step = np.inf
    for _ in range(50):
        at, angle = evaluate(chain, s)
        gap = points - at
        ahead = gap[:, 0] * np.cos(angle) + gap[:, 1] * np.sin(angle)
        left = gap[:, 1] * np.cos(angle) - gap[:, 0] * np.sin(angle)
        slope = np.maximum(1.0 - curvature_at(chain, s) * left, 0.2)
        move = ahead / slope
        s = s + move
        step = float(np.max(np.abs(move), initial=0.0))
        if step < 1e-10:
            return s
    raise NotConvergedError("no nearest point of the curve found", code="GE002", value=step, limit="1e-10 mm")


def clothoid(length: float, curvature_start: float, curvature_end: float) -> tuple[float, float, float]:
    """Return the end of one clothoid that starts at the origin along x.

    Parameters
    ----------
    length : float
        Arc length, positive. [mm]
    curvature_start : float
        Curvature at the start, left positive. [1/mm]
    curvature_end : float
        Curvature at the end. [1/mm]

    Returns
    -------
    x : float
        End position along the starting direction. [mm]
    y : float
        End position to the left. [mm]
    heading : float
        End direction. [rad]

    Raises
    ------
    InputError
        If the length is not positive.
    """
    if not length > 0:
        raise InputError("a clothoid needs a positive length", code="GE003", value=length)
    chain = Chain(
        start=(0.0, 0.0),
        heading=0.0,
        knots=np.array([0.0, length]),
        curvature=np.array([curvature_start, curvature_end]),
    )
    point, angle = evaluate(chain, np.array([length]))
    return float(point[0, 0]), float(point[0, 1]), float(angle[0])
