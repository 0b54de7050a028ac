"""Coverage intervals and chances from draws, after JCGM 101:2008, clause 7.

References
----------
.. [1] JCGM 101:2008, *Evaluation of measurement data - Supplement 1 to the "Guide to the expression of
   uncertainty in measurement" - Propagation of distributions using a Monte Carlo method*, clauses 5.3.3,
   5.3.4 and 7.5 to 7.7.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What draws tell of one number.

    Parameters
    ----------
    mean : float
        Their average. [any]
    u : float
        Their standard deviation: the standard uncertainty. [any]
    low : float
        Lower end of the coverage interval. [any]
    high : float
        Upper end. [any]
    draws : int
        How many there were.
    """

    mean: float
    u: float
    low: float
    high: float
    draws: int


def _span(count: int, p: float) -> int:
    """By how many places the ends of an interval are apart among the sorted draws (clause 7.7.2)."""
    q = p * count
    return int(q) if float(q).is_integer() else int(q + 0.5)


def symmetric(values: FloatArray, p: float) -> tuple[float, float]:
    """Return the probabilistically symmetric coverage interval: as much chance below it as above.

    Parameters
    ----------
    values : ndarray, shape (m,)
        Draws. [any]
    p : float
        Coverage probability. [1]

    Returns
    -------
    tuple of float
        Lower and upper end. [any]

    Examples
    --------
    >>> symmetric(np.arange(1.0, 1001.0), 0.95)
    (25.0, 975.0)
    """
    held = np.sort(values)
    q = _span(len(held), p)
    r = (len(held) - q) / 2.0
    first = int(r) if r.is_integer() else int(r + 0.5)
    first = max(first, 1)
    return float(held[first - 1]), float(held[min(first + q, len(held)) - 1])


def shortest(values: FloatArray, p: float) -> tuple[float, float]:
    """Return the shortest coverage interval.

    Parameters
    ----------
    values : ndarray, shape (m,)
        Draws. [any]
    p : float
        Coverage probability. [1]

    Returns
    -------
    tuple of float
        Lower and upper end. [any]

    Examples
    --------
    >>> low, high = shortest(np.linspace(0.0, 1.0, 10001) ** 2, 0.95)
    >>> low == 0.0, round(high, 3)
    (True, 0.903)
    """
    held = np.sort(values)
    q = min(_span(len(held), p), len(held) - 1)
    k = int(np.argmin(held[q:] - held[: len(held) - q]))
    return float(held[k]), float(held[k + q])


def told(values: FloatArray, p: float) -> Drawn:
    """Return mean, doubt and symmetric interval of draws.

    Parameters
    ----------
    values : ndarray, shape (m,)
        Draws, two at least. [any]
    p : float
        Coverage probability. [1]

    Returns
    -------
    Drawn
        What they tell.
    """
    low, high = symmetric(values, p)
    return Drawn(
        mean=float(np.mean(values)), u=float(np.std(values, ddof=1)), low=low, high=high, draws=len(values)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """How often something happened among draws.

    Parameters
    ----------
    part : float
        Part of the draws in which it did. [1]
    at_most : float
        Upper end of what that can mean, held in 95 of 100 cases. [1]
    draws : int
        How many draws.
    """

    part: float
    at_most: float
    draws: int


def chance(happened: FloatArray) -> Chance:
    """Return how likely something is that happened in some of the draws.

    Parameters
    ----------
    happened : ndarray of bool, shape (m,)
        Whether it did. [1]

    Returns
    -------
    Chance
        The part, and its upper bound.

    Notes
    -----
    The upper end is Wilson's bound to one side with z = 1.645 (Wilson, *Journal of the American Statistical
    Association* 22 (1927) 209-212); for none among m draws it is ``z^2 / (m + z^2)``, 2.7 in m.

    Examples
    --------
    >>> none = chance(np.zeros(10000, dtype=bool))
    >>> none.part, round(none.at_most, 5)
    (0.0, 0.00027)
    """
    m, part, z = len(happened), float(np.mean(happened)), 1.645
    middle = part + z * z / (2.0 * m)
    half = z * float(np.sqrt(part * (1.0 - part) / m + z * z / (4.0 * m * m)))
    return Chance(part=part, at_most=min((middle + half) / (1.0 + z * z / m), 1.0), draws=m)
