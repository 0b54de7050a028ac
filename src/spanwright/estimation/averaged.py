"""Averaging over how strong and how long an unseen process is, instead of picking.

A linear model ``z = B p + noise`` has parameters with prior covariance P_k, one for each strength and
length that is thought possible. Each k gets the weight that the data give it (its marginal
likelihood). What is handed on is one prior, the weighted mean of the P_k, and the *spread* of the
single answers about their mean; both widen the doubt as they should. A chosen best k would not:
in trials its "95 %" held in 22 to 71 % of cases (``docs/decisions/0003-laid-line.md``).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Averaged:
    """Weights of the members and the prior that they make together.

    Parameters
    ----------
    weights : ndarray, shape (k,)
        Weight of each member, sum 1. [1]
    root : ndarray, shape (p, r)
        Root of the mean prior covariance: ``P = root @ root.T``. [any]
    spread : ndarray, shape (p, t)
        Root of the covariance of the single answers about their mean. [any]
    """

    weights: FloatArray
    root: FloatArray
    spread: FloatArray


def average_priors(
    z: FloatArray, design: FloatArray, noise: FloatArray, priors: FloatArray, log_prior: FloatArray
) -> Averaged:
    """Weigh the members by the data and average them.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Data less what the prior mean predicts. [any]
    design : ndarray, shape (n, p)
        Derivative of the data to the parameters. [any]
    noise : ndarray, shape (n, n)
        Covariance of the data. [any]
    priors : ndarray, shape (k, p, p)
        Prior covariance of each member. [any]
    log_prior : ndarray, shape (k,)
        Log of each member's weight before the data. [1]

    Returns
    -------
    Averaged
        Weights, mean prior and spread.
    """
    evidence = np.empty(len(priors))
    answers = np.empty((len(priors), design.shape[1]))
    for k, prior in enumerate(priors):
        gain = prior @ design.T
        total = noise + design @ gain
        factor = np.linalg.cholesky(total)
        half = np.linalg.solve(factor, z)
        evidence[k] = log_prior[k] - np.sum(np.log(np.diag(factor))) - 0.5 * half @ half
        answers[k] = gain @ np.linalg.solve(factor.T, half)
    weights = np.exp(evidence - evidence.max())
    weights /= weights.sum()
    return Averaged(
        weights=weights,
        root=symmetric_root(np.einsum("k,kij->ij", weights, priors)),
        spread=compressed(((answers - weights @ answers) * np.sqrt(weights)[:, None]).T, tolerance=1e-8)[0],
    )


def symmetric_root(matrix: FloatArray, tolerance: float = 1e-12) -> FloatArray:
    """Return a root of a positive semidefinite matrix, scaled first so that mixed units do no harm.

    Parameters
    ----------
    matrix : ndarray, shape (p, p)
        Covariance. [any]
    tolerance : float
        Part of the largest eigenvalue below which a direction is dropped. [1]

    Returns
    -------
    ndarray, shape (p, r)
        ``root @ root.T`` is the matrix. [any]
    """
    d = np.sqrt(np.maximum(np.diag(matrix), 1e-300))
    values, vectors = np.linalg.eigh(matrix / d[:, None] / d[None, :])
    keep = values > tolerance * values[-1]
    return d[:, None] * vectors[:, keep] * np.sqrt(values[keep])


def _mixed(matrix: FloatArray, tolerance: float) -> FloatArray:
    """Return how to mix columns into the fewest that have the same outer product."""
    scale = np.sqrt(np.sum(matrix**2, axis=1))
    scale[scale == 0.0] = 1.0
    _, s, vt = np.linalg.svd(matrix / scale[:, None], full_matrices=False)
    count = int(np.sum(s > tolerance * s[0])) if len(s) and s[0] > 0.0 else 0
    return np.asarray(vt[:count].T)


def compressed(
    matrix: FloatArray, *, tolerance: float = 1e-5, mix: FloatArray | None = None
) -> tuple[FloatArray, FloatArray]:
    """Return fewer columns with nearly the same outer product, rows scaled first.

    Parameters
    ----------
    matrix : ndarray, shape (p, t)
        Columns of effects. [any]
    tolerance : float
        Part of the largest singular value below which a column is dropped. [1]
    mix : ndarray, shape (t, r), optional
        How the columns were mixed before: held, each new column keeps its meaning, which singular vectors
        found anew would not. [1]

    Returns
    -------
    columns : ndarray, shape (p, r)
        The compressed columns. [any]
    mix : ndarray, shape (t, r)
        How they were mixed. [1]
    """
    if mix is None:
        mix = _mixed(matrix, tolerance)
    return matrix @ mix, mix
