"""The normal distribution, for many limits at once.

The error function is that of the standard library; a table of special functions would take longer to load
than all of these take.
"""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import NormalDist

import numpy as np

FloatArray = np.ndarray

#: Points of the lattice, and what a point moves by in the second direction for one in the first.
_POINTS, _STRIDE = 101, 39

_erfc = np.frompyfunc(math.erfc, 1, 1)


def below(limits: FloatArray) -> FloatArray:
    """Return the probability that a standard normal number lies below each limit.

    Parameters
    ----------
    limits : ndarray
        Limits, any shape. [1]

    Returns
    -------
    ndarray
        Probabilities, same shape. [1]
    """
    return 0.5 * np.asarray(_erfc(limits * -math.sqrt(0.5)), dtype=float)


@lru_cache(maxsize=8)
def surprises(directions: int) -> FloatArray:
    """Return equally likely places of some independent standard normal numbers, to average over.

    Parameters
    ----------
    directions : int
        How many numbers; one place where there are none.

    Returns
    -------
    ndarray, shape (q, directions)
        Each number takes q values, each the middle of an equal share of its probability, brought to a
        standard deviation of 1. [1]

    Notes
    -----
    A lattice of Korobov's kind [1]_, shifted by half a step so that every point has its mirror image; points
    and stride are those that leave any two of three numbers correlated by less than 0.02, and among these
    have the least figure P2 (weights 1, 0.7, 0.5). What is averaged may jump, which few nodes of unequal
    weight would not bear.

    References
    ----------
    .. [1] I. H. Sloan and S. Joe, *Lattice Methods for Multiple Integration*, Oxford, 1994, chapter 4 (the
       chapter from memory).
    """
    if directions < 1:
        return np.zeros((1, 0))
    odd = 2 * np.arange(_POINTS) + 1
    strides = np.array([_STRIDE**power for power in range(directions)])
    normal = NormalDist()
    values = np.array([normal.inv_cdf(float(one)) for one in odd / (2.0 * _POINTS)])
    values /= np.sqrt(np.mean(values**2))
    found = values[(np.outer(odd, strides) % (2 * _POINTS) - 1) // 2]
    found.setflags(write=False)
    return np.asarray(found)
