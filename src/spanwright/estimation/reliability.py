"""Which readings are suspect, and which cannot be told apart.

A slip of size d in one observation raises its standardised residual by ``d sqrt(r) / sd``, and those
of its neighbours by less. The largest is tested against the normal quantile for the whole set of
checked readings, so that a clean survey names one in at most the stated share of cases (Sidak's
bound, which correlation only makes safer). Where several explain the residuals nearly as well, none
is named alone: an explanation is kept while the drop of the weighted square sum that it brings,
``w^2``, is within ``2 ln 20`` of the best, which is a likelihood of one in twenty.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, log, sqrt

import numpy as np

FloatArray = np.ndarray

CANNOT_TELL = 2.0 * log(20.0)
#: A clean survey should name a reading in one case of twenty at most; tools are not quite normal, so the
#: nominal risk is set below that.
FAMILY_RISK = 0.03


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspects:
    """One contradiction in the readings and the readings that may cause it.

    Parameters
    ----------
    rows : tuple of int
        Observations, likeliest first; more than one means "cannot tell which of these".
    standardised : tuple of float
        Their standardised residuals. [1]
    slips : tuple of float
        By how much each would be wrong if it alone were. [any]
    """

    rows: tuple[int, ...]
    standardised: tuple[float, ...]
    slips: tuple[float, ...]


def normal_quantile(probability: float) -> float:
    """Return the standard normal quantile.

    Parameters
    ----------
    probability : float
        Between 0 and 1. [1]

    Returns
    -------
    float
        The value that a standard normal number stays below with this probability. [1]
    """
    low, high = -12.0, 12.0
    for _ in range(200):
        middle = 0.5 * (low + high)
        if 0.5 * (1.0 + erf(middle / sqrt(2.0))) < probability:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def critical_value(tests: int, risk: float = FAMILY_RISK) -> float:
    """Return the limit for the largest of several standardised residuals.

    Parameters
    ----------
    tests : int
        How many are looked at.
    risk : float
        Share of clean sets in which one may exceed it. [1]

    Returns
    -------
    float
        The limit. [1]

    Notes
    -----
    Sidak: each test at ``1 - (1 - risk)^(1 / tests)``, two-sided. Z. Sidak, *Rectangular confidence
    regions for the means of multivariate normal distributions*, JASA 62 (1967) 626-633.
    """
    each = 1.0 - (1.0 - risk) ** (1.0 / max(1, tests))
    return normal_quantile(1.0 - 0.5 * each)


def find_suspects(
    residuals: FloatArray,
    sds: FloatArray,
    residual_by_observed: FloatArray,
    *,
    unchecked: float,
    risk: float = FAMILY_RISK,
) -> tuple[Suspects, ...]:
    """Name the readings that contradict the rest, one contradiction after another.

    Each named reading is taken out in thought only, to see whether a second contradiction is left.

    Parameters
    ----------
    residuals : ndarray, shape (n,)
        Observed less computed. [any]
    sds : ndarray, shape (n,)
        Standard uncertainties. [any]
    residual_by_observed : ndarray, shape (n, n)
        Derivative of residuals to observed values. [any]
    unchecked : float
        Redundancy below which nothing can be said. [1]
    risk : float
        Share of clean sets in which one may be named. [1]

    Returns
    -------
    tuple of Suspects
        One entry a contradiction; empty if the readings agree.
    """
    v = residuals / sds
    operator = residual_by_observed * sds[None, :] / sds[:, None]
    limit = critical_value(int(np.sum(np.diag(operator) > unchecked)), risk)
    found: list[Suspects] = []
    out = np.zeros(len(v), dtype=bool)
    for _ in range(max(1, len(v) // 4)):
        redundancy = np.diag(operator)
        usable = (redundancy > unchecked) & ~out
        if not usable.any():
            break
        w = np.where(usable, v / np.sqrt(np.where(usable, redundancy, 1.0)), 0.0)
        first = int(np.argmax(np.abs(w)))
        if abs(w[first]) <= limit:
            break
        near = [i for i in np.argsort(-np.abs(w)) if usable[i] and w[i] ** 2 > w[first] ** 2 - CANNOT_TELL]
        found.append(
            Suspects(
                rows=tuple(int(i) for i in near),
                standardised=tuple(float(w[i]) for i in near),
                slips=tuple(float(v[i] / redundancy[i] * sds[i]) for i in near),
            )
        )
        # leave it out in thought: v and the operator of the net without it
        column = operator[:, first] / redundancy[first]
        v = v - column * v[first]
        operator = operator - np.outer(column, operator[first])
        out[first] = True
    return tuple(found)
