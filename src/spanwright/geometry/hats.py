"""Piecewise linear functions as sums of hats: one at a knot, falling to nought at its neighbours."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

FloatArray = np.ndarray


def hat_basis(knots: FloatArray, s: FloatArray) -> FloatArray:
    """Return the factors of knot values in a piecewise linear function, constant beyond the ends.

    Parameters
    ----------
    knots : ndarray, shape (c,)
        Stations. [mm]
    s : ndarray, shape (n,)
        Stations wanted. [mm]

    Returns
    -------
    ndarray, shape (n, c)
        Factors. [1]
    """
    if len(knots) == 1:
        return np.ones((len(s), 1))
    inside = np.minimum(np.maximum(s, knots[0]), knots[-1])
    j = knots[1:-1].searchsorted(inside, side="right")
    t = (inside - knots[j]) / (knots[j + 1] - knots[j])
    basis = np.zeros((len(s), len(knots)))
    rows = np.arange(len(s))
    basis[rows, j] = 1.0 - t
    basis[rows, j + 1] = t
    return basis


def hat_integral(knots: FloatArray, s: FloatArray) -> FloatArray:
    """Return the integrals of the hats from the first knot; constant beyond the ends.

    Parameters
    ----------
    knots : ndarray, shape (k,)
        Places of the knots, growing. [mm]
    s : ndarray, shape (n,)
        Where the integrals end. [mm]

    Returns
    -------
    ndarray, shape (n, k)
        One integral a knot. [mm]
    """
    h, lead, passed = between(knots)
    inside = np.minimum(np.maximum(s, knots[0]), knots[-1])
    j = knots[1:-1].searchsorted(inside, side="right")
    basis = passed[j]
    rows = np.arange(len(s))
    t = inside - knots[j]
    late = 0.5 * t**2 / h[j]
    basis[rows, j] = lead[j] + t - late
    basis[rows, j + 1] = late
    return basis


def between(knots: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what the integrals of hats between knots are made of.

    Parameters
    ----------
    knots : ndarray, shape (k,)
        Places of the knots, growing. [mm]

    Returns
    -------
    lengths : ndarray, shape (k - 1,)
        From each knot to the next. [mm]
    lead : ndarray, shape (k,)
        Integral of each knot's hat up to the knot. [mm]
    passed : ndarray, shape (k, k)
        At each knot the whole integrals of the hats of those before it, nought for the others. [mm]
    """
    return _between(np.asarray(knots, dtype=float).tobytes())


@lru_cache(maxsize=64)  # few sets of knots, asked for at many places
def _between(knots: bytes) -> tuple[FloatArray, FloatArray, FloatArray]:
    h = np.diff(np.frombuffer(knots))
    lead, trail = np.append(0.0, 0.5 * h), np.append(0.5 * h, 0.0)
    return h, lead, np.tri(len(lead), k=-1) * (lead + trail)
