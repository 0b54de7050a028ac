"""What readings that are not taken yet will do to numbers: how far they may shift them, and the doubt left.

Before a reading is taken, what it will say is a random number, and so is the value that a number will have
once it is used: normal about the value now, with variance ``u^2 - u'^2``, u the doubt now and u' the doubt
left (the preposterior distribution [1]_). Several numbers shift together.

References
----------
.. [1] H. Raiffa and R. Schlaifer, *Applied Statistical Decision Theory*, Harvard University, 1961,
   part II (normal process with known variance).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

FloatArray = np.ndarray

#: A reading that the others foretell to this part of the largest variance tells nothing more. [1]
_NOTHING_NEW = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Foreseen:
    """What readings will do to numbers.

    Parameters
    ----------
    slopes : ndarray, shape (m, r)
        How far each number shifts with each of r independent standard normal surprises. [any]
    doubts : ndarray, shape (m,)
        Standard uncertainty of each number once the readings are used. [any]
    """

    slopes: FloatArray
    doubts: FloatArray


def foresee(rows: FloatArray, read: FloatArray, sds: FloatArray) -> Foreseen:
    """Return what readings will do to numbers, to first order.

    Parameters
    ----------
    rows : ndarray, shape (m, n)
        Derivatives of the numbers times the root of the inputs' covariance
        (:meth:`spanwright.estimation.spread.Spread.scaled`). [any]
    read : ndarray, shape (r, n)
        The same of what would be read. [any]
    sds : ndarray, shape (r,)
        Standard uncertainty of each reading; 0 for one that is perfect. [any]

    Returns
    -------
    Foreseen
        Slopes and doubts.

    Notes
    -----
    With R the rows, B what is read and ``M = B B' + diag(sd^2) = V D V'``, the slopes are
    ``R B' V D^(-1/2)`` and ``u'^2 = u^2 - sum(slopes^2)``: linear Gaussian conditioning. Readings that tell
    the same may stand beside one another, even perfect ones.
    """
    values, vectors = np.linalg.eigh(read @ read.T + np.diag(sds**2))
    tells = values > _NOTHING_NEW * max(float(values[-1]), 0.0)
    tells &= values > 0.0
    slopes = rows @ read.T @ vectors[:, tells] / np.sqrt(values[tells])
    left = np.einsum("mn,mn->m", rows, rows) - np.einsum("mr,mr->m", slopes, slopes)
    return Foreseen(slopes=slopes, doubts=np.sqrt(np.maximum(left, 0.0)))


def along_first(slopes: FloatArray) -> FloatArray:
    """Turn the surprises so that the first does as much as one can, the second as much as is left, and so on.

    Parameters
    ----------
    slopes : ndarray, shape (..., m, r)
        By independent standard normal surprises. [any]

    Returns
    -------
    ndarray, shape (..., m, min(m, r))
        By others, as independent and as normal. [any]
    """
    if 0 in slopes.shape:
        return np.zeros((*slopes.shape[:-1], 0))
    left, singular, _ = np.linalg.svd(slopes, full_matrices=False)
    return np.asarray(left * singular[..., None, :])
