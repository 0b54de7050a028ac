"""The normal distribution, for many limits at once.

The error function is that of the standard library; a table of special functions would take longer to load
than all of these take.
"""

from __future__ import annotations

import math

import numpy as np

FloatArray = np.ndarray

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
