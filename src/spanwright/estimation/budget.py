"""Where the doubt of a number comes from, and which further reading would shrink it most.

The doubt of a result is ``u^2 = sum((derivative * sd)^2)`` over independent inputs (GUM, JCGM
100:2008, clause 5.1.2, eq. (10)); each term's part of the sum is the input's share.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.estimation.inputs import Inputs
from spanwright.estimation.spread import Spread, spread_of

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """One input's part of a variance.

    Parameters
    ----------
    id : str
        The base input, or the group of inputs.
    label : str
        In the builder's words.
    share : float
        Part of the variance, 0 to 1. [1]
    remedy : str
        How this doubt could be made smaller.
    """

    id: str
    label: str
    share: float
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidate:
    """A reading that could be taken.

    Parameters
    ----------
    id : str
        Stable id.
    text : str
        What to do, in plain words.
    jac : ndarray, shape (n,)
        Derivative of what would be read to the base inputs. [any]
    sd : float
        How well it can be read. [any]
    tool : str
        With what; empty where the text says it.
    later : str
        What must be done before it can be read, such as "when it is made"; empty if it can be read now.
    unit : str
        Of what is read: ``mm``, ``rad`` or ``1``.
    """

    id: str
    text: str
    jac: FloatArray
    sd: float
    tool: str = ""
    later: str = ""
    unit: str = "mm"


def shares(jac: FloatArray, sds: FloatArray | Spread) -> FloatArray:
    """Return each input's share of the variance.

    Parameters
    ----------
    jac : ndarray, shape (n,)
        Derivatives to the base inputs. [any]
    sds : ndarray, shape (m,), or Spread
        Standard uncertainties, m at least n. [any]

    Returns
    -------
    ndarray, shape (n,) or (m,)
        Shares that add up to 1, of all m inputs where later readings tie them together; all zero if there
        is no doubt. [1]
    """
    variance = spread_of(sds).scaled(jac) ** 2
    total = variance.sum()
    return variance / total if total > 0 else variance


def budget(jac: FloatArray, inputs: Inputs, *, most: int = 5) -> tuple[Share, ...]:
    """Return the inputs that matter most, largest first; unseen parts are added up by group.

    Parameters
    ----------
    jac : ndarray, shape (n,)
        Derivatives to the base inputs. [any]
    inputs : Inputs
        The base inputs.
    most : int
        How many to return.

    Returns
    -------
    tuple of Share
        At most ``most`` entries, each above half a per cent.
    """
    part = shares(jac, inputs.spread)
    groups: dict[str, Share] = {}
    for item, value in zip(inputs.items, part, strict=False):
        key = item.id.rsplit("/", 1)[0] if item.kind == "unseen" else item.id
        before = groups[key].share if key in groups else 0.0
        groups[key] = Share(id=key, label=item.label, share=before + float(value), remedy=item.remedy)
    ranked = sorted(groups.values(), key=lambda s: -s.share)
    return tuple(s for s in ranked[:most] if s.share > 0.005)


def doubt_after(target: FloatArray, candidate: Candidate, sds: FloatArray | Spread) -> float:
    """Return the doubt of a number after one more reading.

    Parameters
    ----------
    target : ndarray, shape (n,)
        Derivatives of the number to the base inputs. [any]
    candidate : Candidate
        The reading.
    sds : ndarray, shape (m,), or Spread
        Standard uncertainties of the base inputs. [any]

    Returns
    -------
    float
        Standard uncertainty of the number once the reading is taken. [any]

    Notes
    -----
    Linear conditioning: ``u'^2 = u^2 - c^2 / (o^2 + r^2)``, c the covariance of the number with what
    is read, o the doubt of what is read before, r that of the reading.
    """
    n = max(len(target), len(candidate.jac))
    both = np.zeros((2, n))
    both[0, : len(target)] = target
    both[1, : len(candidate.jac)] = candidate.jac
    a, b = spread_of(sds).scaled(both)
    variance, covariance = float(a @ a), float(a @ b)
    spread = float(b @ b) + candidate.sd**2
    return (
        float(np.sqrt(max(variance - covariance**2 / spread, 0.0)))
        if spread > 0
        else float(np.sqrt(variance))
    )


def next_reading(
    target: FloatArray, candidates: tuple[Candidate, ...], sds: FloatArray | Spread
) -> tuple[Candidate, float] | None:
    """Return the reading that would shrink a number's doubt most.

    Parameters
    ----------
    target : ndarray, shape (n,)
        Derivatives of the number to the base inputs. [any]
    candidates : tuple of Candidate
        What could be read.
    sds : ndarray, shape (m,), or Spread
        Standard uncertainties of the base inputs. [any]

    Returns
    -------
    tuple or None
        The best candidate and the doubt after it; None if there are none. [any]
    """
    if not candidates:
        return None
    best = min(candidates, key=lambda c: doubt_after(target, c, sds))
    return best, doubt_after(target, best, sds)
