"""From gaps and doubts to one word.

With gap g, its doubt u, the gap h of the vehicle grown by its margins with doubt v, and factor k:

============== ===================================================================
clear          h > 0 and h - k v >= 0: the margin is kept, proven
foul           g + k u < 0: it touches, proven
tight          g - k u >= 0, but the margin is not proven
not proven     anything else
============== ===================================================================

Where m witnesses are near equal the least of them is what counts, and the least of m doubtful numbers
lies lower than each alone. The bound is then taken with the factor of Sidak [1]_: the risk 1 - Phi(k)
of one becomes that of all m together with ``Phi(k_m) = Phi(k) ** (1 / m)``. It is exact for independent
witnesses and on the safe side for those that share their doubts.

References
----------
.. [1] Z. Sidak, "Rectangular confidence regions for the means of multivariate normal distributions",
   *Journal of the American Statistical Association* 62 (1967), pp. 626-633.
"""

from __future__ import annotations

from functools import lru_cache
from statistics import NormalDist

import numpy as np

from spanwright.findings import Verdict

FloatArray = np.ndarray

#: The words, by the place that :func:`places` gives.
WORDS = (Verdict.CLEAR, Verdict.TIGHT, Verdict.FOUL, Verdict.NOT_PROVEN)


@lru_cache(maxsize=64)  # few numbers of witnesses, asked for at every gap
def joint_factor(k: float, m: int) -> float:
    """Return the factor that gives the least of several gaps the risk that k gives one.

    Parameters
    ----------
    k : float
        Coverage factor for one gap. [1]
    m : int
        Number of near-equal witnesses, 1 at least.

    Returns
    -------
    float
        k itself for one witness, more for several. [1]

    Examples
    --------
    >>> round(joint_factor(2.0, 1), 3), round(joint_factor(2.0, 4), 3)
    (2.0, 2.528)
    """
    if m <= 1 or k <= 0:
        return k
    normal = NormalDist()
    # the risk is kept as a small number: 1 - (1 - risk) ** (1 / m) without cancelling
    risk = -np.expm1(np.log1p(-normal.cdf(-k)) / m)
    return -normal.inv_cdf(float(risk))


def decide(
    gap: FloatArray | list[float] | float,
    u: FloatArray | list[float] | float,
    grown_gap: FloatArray | list[float] | float,
    grown_u: FloatArray | list[float] | float,
    *,
    k: float,
) -> Verdict:
    """Return the word for a gap.

    Parameters
    ----------
    gap : float or ndarray or list, shape (m,)
        Signed gap, of each near-equal witness. [mm]
    u : float or ndarray or list, shape (m,)
        Its standard uncertainty. [mm]
    grown_gap : float or ndarray or list, shape (l,)
        Signed gap of the vehicle grown by its margins. [mm]
    grown_u : float or ndarray or list, shape (l,)
        Its standard uncertainty. [mm]
    k : float
        Coverage factor. [1]

    Returns
    -------
    Verdict
        Clear, tight, foul or not proven.
    """
    # one gap at a time, and most have one witness: plain numbers are much faster here than arrays
    own = list(zip(_plain(gap), _plain(u), strict=True))
    grown = list(zip(_plain(grown_gap), _plain(grown_u), strict=True))
    for_grown, joint = joint_factor(k, len(grown)), joint_factor(k, len(own))
    if all(h > 0 and h - for_grown * v >= 0 for h, v in grown):
        return WORDS[0]
    if any(g + joint * w < 0 for g, w in own):
        return WORDS[2]
    return WORDS[1] if all(g - joint * w >= 0 for g, w in own) else WORDS[3]


def _plain(numbers: FloatArray | list[float] | float) -> list[float]:
    if isinstance(numbers, list):
        return numbers
    listed: list[float] = np.asarray(numbers, dtype=float).reshape(-1).tolist()
    return listed


def places(
    gap: FloatArray, u: FloatArray, grown_gap: FloatArray, grown_u: FloatArray, *, k: float
) -> FloatArray:
    """Return the word for each of many cases, as its place in :data:`WORDS`.

    Parameters
    ----------
    gap : ndarray, shape (..., m)
        Signed gap, of each near-equal witness. [mm]
    u : ndarray, shape (..., m)
        Its standard uncertainty. [mm]
    grown_gap : ndarray, shape (..., l)
        Signed gap of the vehicle grown by its margins. [mm]
    grown_u : ndarray, shape (..., l)
        Its standard uncertainty. [mm]
    k : float
        Coverage factor. [1]

    Returns
    -------
    ndarray, shape (...)
        Whole numbers. [1]
    """
    for_grown, joint = joint_factor(k, grown_gap.shape[-1]), joint_factor(k, gap.shape[-1])
    clear = np.all((grown_gap > 0) & (grown_gap - for_grown * grown_u >= 0), axis=-1)
    foul = np.any(gap + joint * u < 0, axis=-1)
    tight = np.all(gap - joint * u >= 0, axis=-1)
    return np.where(clear, 0, np.where(foul, 2, np.where(tight, 1, 3)))
