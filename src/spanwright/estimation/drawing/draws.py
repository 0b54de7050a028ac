"""Draws of the base inputs and of numbers that hang on them to first order.

A draw of the inputs is their value and the root of their covariance times standard normals. Numbers that are
linear in the inputs need no inputs to be drawn: their own covariance, root taken, does the same with fewer
normals. Chance is a fixed stream of one seed, so that the same job gives the same bits.
"""

from __future__ import annotations

import numpy as np

from spanwright.estimation.spread import Spread

FloatArray = np.ndarray

#: Seed of every stream of draws; nothing of a job goes into it.
SEED = 101
#: Directions that carry less than this part of the largest variance are left out of a root. [1]
_NEGLIGIBLE = 1e-9


def stream() -> np.random.Generator:
    """Return the stream of chance, always from its beginning.

    Returns
    -------
    Generator
        PCG64 with the fixed seed.
    """
    return np.random.Generator(np.random.PCG64(SEED))


def moves(spread: Spread, normals: FloatArray) -> FloatArray:
    """Return how far the base inputs move in each draw.

    Parameters
    ----------
    spread : Spread
        Doubts of the n inputs, and what later readings have taught.
    normals : ndarray, shape (m, n)
        Standard normals. [1]

    Returns
    -------
    ndarray, shape (m, n)
        Moves from the inputs' values; their covariance is that of the spread. [any]
    """
    left = normals
    if len(spread.shrunk):
        left = normals - (normals @ spread.directions * spread.shrunk) @ spread.directions.T
    return left * spread.sds


def root(rows: FloatArray) -> FloatArray:
    """Return a short root of the covariance of some numbers.

    Parameters
    ----------
    rows : ndarray, shape (m, n)
        Derivatives times the root of the inputs' covariance: :meth:`Spread.scaled`. [any]

    Returns
    -------
    ndarray, shape (m, r)
        ``root @ root.T`` is their covariance; r as few as it takes. [any]
    """
    variances, axes = np.linalg.eigh(rows @ rows.T)
    kept = variances > _NEGLIGIBLE * max(float(variances[-1]), 0.0)
    return np.asarray(axes[:, kept] * np.sqrt(variances[kept]))


def draw(values: FloatArray, rows: FloatArray, count: int, rng: np.random.Generator) -> FloatArray:
    """Draw numbers that are linear in the base inputs, jointly, with all that they share.

    Parameters
    ----------
    values : ndarray, shape (m,)
        Their values. [any]
    rows : ndarray, shape (m, n)
        Derivatives times the root of the inputs' covariance. [any]
    count : int
        How many draws.
    rng : Generator
        Chance.

    Returns
    -------
    ndarray, shape (count, m)
        One draw a row. [any]
    """
    if not len(values):
        return np.zeros((count, 0))
    factors = root(rows)
    return np.asarray(values + rng.standard_normal((count, factors.shape[1])) @ factors.T)
