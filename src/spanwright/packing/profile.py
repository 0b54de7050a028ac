"""The railhead that comes nearest to what is wanted when some bearings are too high already.

Least distance in the lifts, packing only added, every limit kept: problem LDP of Lawson and Hanson, solved
by non-negative least squares, which also proves it where there is no such railhead.
"""

from __future__ import annotations

import numpy as np

from spanwright.errors import NotConvergedError
from spanwright.packing.needs import Needs

FloatArray = np.ndarray

#: A least-squares residual this small means that the limits contradict each other: a railhead 10 m off would
#: leave a larger one.
NOTHING = 1e-8


def limit_rows(needs: Needs) -> tuple[FloatArray, FloatArray]:
    """Return all limits as ``G @ lifts >= h``, each in units of its limit.

    Parameters
    ----------
    needs : Needs
        Bearings and limits.

    Returns
    -------
    ndarray, shape (m, n)
        G. [mixed]
    ndarray, shape (m,)
        h. [mixed]
    """
    rows = np.array([r.row / r.limit for r in needs.rules]).reshape(-1, len(needs.needs))
    base = np.array([r.base / r.limit for r in needs.rules])
    high = np.isfinite(needs.lowest)
    eye = np.eye(len(needs.needs))[high]
    return np.vstack([rows, -rows, eye]), np.concatenate([-1.0 - base, -1.0 + base, needs.lowest[high]])


def least_distance(G: FloatArray, h: FloatArray) -> FloatArray | None:
    """Return the shortest vector that keeps some inequalities.

    Parameters
    ----------
    G : ndarray, shape (m, n)
        Rows. [any]
    h : ndarray, shape (m,)
        Their least values. [any]

    Returns
    -------
    ndarray, shape (n,), or None
        The shortest x with ``G x >= h``; None if there is none. [any]

    Raises
    ------
    NotConvergedError
        If the solver gives up.

    Notes
    -----
    With u >= 0 that minimises ``|E u - f|``, ``E = [G^T; h^T]``, ``f = (0, ..., 0, 1)``, and the residual
    ``r = E u - f``, the answer is ``x_j = -r_j / r_(n+1)``. There is none if r is nil.

    References
    ----------
    .. [1] C. L. Lawson and R. J. Hanson, *Solving Least Squares Problems*, SIAM, 1995 (first published
       1974), chapter 23, problem LDP.
    """
    from scipy.optimize import nnls  # takes most of a second to load

    E = np.vstack([G.T, h])
    f = np.zeros(len(E))
    f[-1] = 1.0
    try:
        u, _ = nnls(E, f)
    except RuntimeError as problem:
        raise NotConvergedError(
            "the nearest railhead is not found", code="PK001", where="packing", value=str(problem)
        ) from problem
    r = E @ u - f
    if -r[-1] < NOTHING:
        return None
    shortest: FloatArray = -r[:-1] / r[-1]
    return shortest + 0.0


def nearest_profile(needs: Needs) -> FloatArray | None:
    """Return the lifts of the nearest railhead that can still be reached.

    Parameters
    ----------
    needs : Needs
        Bearings and limits.

    Returns
    -------
    ndarray, shape (n,), or None
        Lift of each bearing; None if no railhead keeps the limits. [mm]

    Raises
    ------
    NotConvergedError
        If the solver gives up.
    """
    return least_distance(*limit_rows(needs))
