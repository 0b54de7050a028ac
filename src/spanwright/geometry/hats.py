"""Piecewise linear functions as sums of hats: one at a knot, falling to nought at its neighbours."""

from __future__ import annotations

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
    j = np.searchsorted(knots[1:-1], inside, side="right")
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
    h = np.diff(knots)
    inside = np.minimum(np.maximum(s, knots[0]), knots[-1])
    j = np.searchsorted(knots[1:-1], inside, side="right")
    full = np.zeros(len(knots))
    full[:-1] += 0.5 * h
    full[1:] += 0.5 * h
    basis = np.where(np.arange(len(knots))[None, :] < j[:, None], full, 0.0)
    rows = np.arange(len(s))
    t = inside - knots[j]
    left = np.where(j > 0, 0.5 * h[np.maximum(j - 1, 0)], 0.0)
    basis[rows, j] = left + t - 0.5 * t**2 / h[j]
    basis[rows, j + 1] = 0.5 * t**2 / h[j]
    return basis
