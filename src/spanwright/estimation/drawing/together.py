"""How likely it is that any of several doubtful numbers is less than nothing, and what the least of them is.

All are linear in the base inputs and are drawn jointly, with what they share. Beside a chance by draws stands
its bound by adding up, which holds whatever they share.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import Enum
from statistics import NormalDist

import numpy as np

from spanwright.estimation.derived import Derived
from spanwright.estimation.drawing.coverage import Chance, Drawn, chance, told
from spanwright.estimation.drawing.draws import draw, stream
from spanwright.estimation.spread import Spread

FloatArray = np.ndarray

#: Draws of what is linear in the base inputs; cheap.
DRAWS = 10_000
#: What is further from nothing than this many doubts is not drawn: 1 in 10^11.
_FAR = 6.7
#: Numbers within so many doubts of their difference from the least are near equal to it.
NEAR = 3.0


class Method(Enum):
    """How a doubt was found."""

    FIRST_ORDER = "first order"
    DRAWS = "draws"


def any_below(numbers: Sequence[Derived], spread: Spread, *, draws: int = DRAWS) -> tuple[Chance, float]:
    """Return the chance that any of the numbers is less than nothing.

    Parameters
    ----------
    numbers : sequence of Derived
        Scalars; infinite ones have no doubt.
    spread : Spread
        Of the base inputs.
    draws : int
        How many draws.

    Returns
    -------
    tuple of (Chance, float)
        By draws, or by the normal law where one number at most is near; and the sum of their own chances. [1]
    """
    values, rows = _stacked(numbers, spread)
    doubts = np.sqrt(np.einsum("mn,mn->m", rows, rows))
    total = min(sum(_phi(float(v), float(u)) for v, u in zip(values, doubts, strict=True)), 1.0)
    near = values < _FAR * doubts
    if np.any(np.isneginf(values)) or np.count_nonzero(near) < 2:
        return Chance(part=total, at_most=total, draws=0), total
    return chance(np.any(draw(values[near], rows[near], draws, stream()) < 0.0, axis=1)), total


def least_of(
    numbers: Sequence[Derived], spread: Spread, *, k: float, draws: int = DRAWS
) -> tuple[Drawn, Method]:
    """Return what is known of the least of some numbers.

    Parameters
    ----------
    numbers : sequence of Derived
        Finite scalars, one at least.
    spread : Spread
        Of the base inputs.
    k : float
        Coverage factor: the interval holds as often as k doubts of a normal law. [1]
    draws : int
        How many draws.

    Returns
    -------
    tuple of (Drawn, Method)
        To first order for one number; by draws for several.
    """
    values, rows = _stacked(numbers, spread)
    if len(values) == 1:
        value, u = float(values[0]), float(np.linalg.norm(rows[0]))
        return Drawn(mean=value, u=u, low=value - k * u, high=value + k * u, draws=0), Method.FIRST_ORDER
    drawn = draw(values, rows, draws, stream()).min(axis=1)
    return told(drawn, 2.0 * NormalDist().cdf(k) - 1.0), Method.DRAWS


def near_equal(numbers: Sequence[Derived], spread: Spread) -> list[Derived]:
    """Return the least of some numbers and those that may be less when all is known.

    Parameters
    ----------
    numbers : sequence of Derived
        Scalars, one at least.
    spread : Spread
        Of the base inputs.

    Returns
    -------
    list of Derived
        Those within three doubts of their difference from the least, the least first.
    """
    first, *rest = sorted(numbers, key=lambda n: float(n.value))
    return [first] + [n for n in rest if _is_near(n - first, spread)]


def _is_near(over: Derived, spread: Spread) -> bool:
    return float(over.value) <= NEAR * float(over.sd(spread))


def _stacked(numbers: Sequence[Derived], spread: Spread) -> tuple[FloatArray, FloatArray]:
    """Values, and derivatives times the root of the inputs' covariance."""
    jac = np.zeros((len(numbers), len(spread.sds)))
    for row, number in zip(jac, numbers, strict=True):
        row[: number.jac.shape[-1]] = number.jac
    return np.array([float(number.value) for number in numbers]), spread.scaled(jac)


def _phi(value: float, doubt: float) -> float:
    """Chance that a normal number is less than nothing."""
    if doubt <= 0.0 or not math.isfinite(value):
        return float(value < 0.0)
    return 0.5 * math.erfc(value / doubt / math.sqrt(2.0))
