"""What later readings of a plan's own numbers teach about the base inputs it rests on.

A seat that is measured when it stands, a gap that a train just fits: each is a reading of a *result*. The
base inputs are moved to where plan and readings agree best, each by as much as its own doubt allows, and
keep what they share: a reading at one pier tells something of the next. Nothing is entered as a bare fact.

Method: linear Gaussian conditioning, iterated where the plan is curved (as a Gauss-Newton step for the most
probable inputs). With A the derivatives of the readings times the inputs' doubts, r the readings' own
doubts, ``M = A A' + diag(r^2)``: the inputs move by ``A' M^-1 (y - f)`` of their doubts and their
covariance shrinks by ``A' M^-1 A`` (GUM, JCGM 100:2008, clause 5 for the covariance; the update is the
minimum-variance estimate for correlated data, JCGM 102:2011, clause 6.2, for explicit models).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.estimation.derived import Derived
from spanwright.estimation.spread import Spread

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Learnt:
    """What readings of a plan's numbers have taught.

    Parameters
    ----------
    ids : tuple of str
        The base inputs.
    moves : ndarray, shape (n,)
        How far each has moved from its value before. [any]
    directions : ndarray, shape (n, r)
        See :class:`spanwright.estimation.spread.Spread`. [1]
    shrunk : ndarray, shape (r,)
        See there. [1]
    """

    ids: tuple[str, ...]
    moves: FloatArray
    directions: FloatArray
    shrunk: FloatArray


def _rows(foretold: Derived, sds: FloatArray) -> FloatArray:
    return foretold.padded(len(sds)).jac * sds


def innovations(foretold: Derived, read: FloatArray, doubts: FloatArray, sds: FloatArray) -> FloatArray:
    """Return by how many of its doubts each reading misses what was foretold, the earlier ones known.

    Parameters
    ----------
    foretold : Derived
        What the plan says would be read, shape (r,).
    read : ndarray, shape (r,)
        What was read. [any]
    doubts : ndarray, shape (r,)
        Standard uncertainty of each reading. [any]
    sds : ndarray, shape (n,)
        Doubts of the base inputs. [any]

    Returns
    -------
    ndarray, shape (r,)
        Independent and standard normal if plan and readings agree within their doubts. [1]
    """
    rows = _rows(foretold, sds)
    root = np.linalg.cholesky(rows @ rows.T + np.diag(doubts**2))
    return np.asarray(np.linalg.solve(root, read - foretold.value))


def learn(
    foretold: Derived,
    read: FloatArray,
    doubts: FloatArray,
    *,
    prior: tuple[tuple[str, ...], FloatArray],
    at: FloatArray,
) -> Learnt:
    """Return what readings teach, reckoned from where the plan was derived last.

    Parameters
    ----------
    foretold : Derived
        What the plan at ``at`` says would be read, shape (r,).
    read : ndarray, shape (r,)
        What was read. [any]
    doubts : ndarray, shape (r,)
        Standard uncertainty of each reading; more than 0. [any]
    prior : tuple
        Ids of the base inputs and their doubts before.
    at : ndarray, shape (n,)
        How far the inputs had been moved when the plan was derived. [any]

    Returns
    -------
    Learnt
        The new moves, from the inputs' first values.
    """
    ids, sds = prior
    rows = _rows(foretold, sds)
    root = np.linalg.cholesky(rows @ rows.T + np.diag(doubts**2))
    before = np.divide(at, sds, out=np.zeros(len(sds)), where=sds > 0.0)
    known = np.linalg.solve(root, rows)
    moves = known.T @ np.linalg.solve(root, read - foretold.value + rows @ before)
    left, singular, _ = np.linalg.svd(known.T, full_matrices=False)
    shrunk = 1.0 - np.sqrt(np.maximum(1.0 - singular**2, 0.0))
    return Learnt(ids=ids, moves=moves * sds, directions=left, shrunk=shrunk)


def spread_with(sds: FloatArray, learnt: Learnt | None) -> Spread:
    """Return the spread of inputs of whom something was learnt.

    Parameters
    ----------
    sds : ndarray, shape (n,)
        Doubts before; later inputs than were learnt of may stand at the end. [any]
    learnt : Learnt or None
        What was learnt; None for nothing.

    Returns
    -------
    Spread
        The spread.
    """
    if learnt is None:
        return Spread(sds=sds)
    directions = np.zeros((len(sds), len(learnt.shrunk)))
    m = min(len(sds), len(learnt.ids))
    directions[:m] = learnt.directions[:m]
    return Spread(sds=sds, directions=directions, shrunk=learnt.shrunk)
