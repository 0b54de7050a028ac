"""As many draws as it takes: the adaptive procedure of JCGM 101:2008, clause 7.9.

Draws are made in portions until mean, doubt and both ends of the interval have settled to a numerical
tolerance: half a unit of the last digit of the doubt that is wanted.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from spanwright.estimation.drawing.coverage import Drawn, told

FloatArray = np.ndarray

#: A portion is at least so many draws (clause 7.9.4 b). [1]
PORTION = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """What the draws tell, and whether they were enough.

    Parameters
    ----------
    told : Drawn
        Of all draws together.
    tolerance : float
        The numerical tolerance. [any]
    settled : bool
        False if the budget ended first.
    """

    told: Drawn
    tolerance: float
    settled: bool


def numerical_tolerance(u: float, digits: int) -> float:
    """Return half a unit of the last of so many significant digits (clause 7.9.2).

    Parameters
    ----------
    u : float
        Standard uncertainty; more than 0. [any]
    digits : int
        How many significant digits count.

    Returns
    -------
    float
        The tolerance. [any]

    Examples
    --------
    >>> numerical_tolerance(0.35e-3, 2), numerical_tolerance(2.0, 1)
    (5e-06, 0.5)
    """
    return 0.5 * 10.0 ** (int(f"{u:.{digits - 1}e}".partition("e")[2]) - digits + 1)


def draw_until_settled(
    portion: Callable[[int], FloatArray], *, p: float, digits: int = 2, most: int = 100
) -> Settled:
    """Draw until the results have settled, or the budget ends.

    Parameters
    ----------
    portion : callable
        Makes so many further draws of the number. [any]
    p : float
        Coverage probability. [1]
    digits : int
        Significant digits of the doubt that are to be right.
    most : int
        Portions to make at most; two at least.

    Returns
    -------
    Settled
        The results of all draws.
    """
    count = max(PORTION, int(np.ceil(100.0 / (1.0 - p))))
    parts: list[FloatArray] = []
    each: list[tuple[float, ...]] = []
    for h in range(1, max(most, 2) + 1):
        parts.append(portion(count))
        one = told(parts[-1], p)
        each.append((one.mean, one.u, one.low, one.high))
        if h == 1:
            continue
        tolerance = _tolerance(np.array(each), count, digits)
        settled = bool(np.all(2.0 * np.std(np.array(each), axis=0, ddof=1) / np.sqrt(h) <= tolerance))
        if settled:
            break
    return Settled(told=told(np.concatenate(parts), p), tolerance=tolerance, settled=settled)


def _tolerance(each: FloatArray, count: int, digits: int) -> float:
    """Tolerance by the doubt of all draws so far, from mean and doubt of each portion."""
    h = len(each)
    within = (count - 1) * float(np.sum(each[:, 1] ** 2))
    between = count * float(np.sum((each[:, 0] - np.mean(each[:, 0])) ** 2))
    u = float(np.sqrt((within + between) / (h * count - 1)))
    return numerical_tolerance(u, digits) if u > 0.0 else 0.0
