"""How far points lie beside a chain of clothoids, with first and second derivatives to its state.

The state is that of ``geometry.chain``: start, heading, curvature at each knot.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.geometry import chain as ch
from spanwright.geometry.chain import Chain

FloatArray = np.ndarray

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(4)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Offsets:
    """Signed offsets of points from a chain, with derivatives to its state and to the points.

    Parameters
    ----------
    stations : ndarray, shape (n,)
        Arc lengths of the feet. [mm]
    offset : ndarray, shape (n,)
        Distances to the left. [mm]
    by_state : ndarray, shape (n, q)
        Derivative of the offsets to the state. [any]
    ahead_by_state : ndarray, shape (n, q)
        Derivative to the state of the held curve point, along the tangent. [any]
    turn_by_state : ndarray, shape (n, q)
        Derivative to the state of the heading at the foot. [any]
    tangent : ndarray, shape (n, 2)
        Unit tangents at the feet. [1]
    normal : ndarray, shape (n, 2)
        Unit normals, to the left. [1]
    curvature : ndarray, shape (n,)
        Curvatures at the feet. [1/mm]
    """

    stations: FloatArray
    offset: FloatArray
    by_state: FloatArray
    ahead_by_state: FloatArray
    turn_by_state: FloatArray
    tangent: FloatArray
    normal: FloatArray
    curvature: FloatArray


def offsets(chain: Chain, points: FloatArray, guess: FloatArray | None = None) -> Offsets:
    """Return how far points lie to the left of a chain, with first derivatives.

    Parameters
    ----------
    chain : Chain
        The curve.
    points : ndarray, shape (n, 2)
        The points. [mm]
    guess : ndarray, shape (n,), optional
        Rough arc lengths of their feet. [mm]

    Returns
    -------
    Offsets
        Feet, offsets, derivatives.
    """
    s = ch.nearest(chain, points, guess)
    at, angle = ch.evaluate(chain, s)
    by, turn = ch.sensitivities(chain, s)
    tangent, normal = np.empty((2, len(s), 2))
    tangent[:, 0], tangent[:, 1] = np.cos(angle), np.sin(angle)
    normal[:, 0], normal[:, 1] = -tangent[:, 1], tangent[:, 0]
    return Offsets(
        stations=s,
        offset=np.einsum("ni,ni->n", normal, points - at),
        by_state=-np.einsum("ni,niq->nq", normal, by),
        ahead_by_state=np.einsum("ni,niq->nq", tangent, by),
        turn_by_state=turn,
        tangent=tangent,
        normal=normal,
        curvature=ch.curvature_at(chain, s),
    )


def second_by_state(chain: Chain, o: Offsets, pull: FloatArray) -> FloatArray:
    """Return the sum over points of a pull times the second derivative of the offset to the state.

    Parameters
    ----------
    chain : Chain
        The curve.
    o : Offsets
        Offsets of the points from it.
    pull : ndarray, shape (n,)
        Factor of each point. [any]

    Returns
    -------
    ndarray, shape (q, q)
        Symmetric. [any]

    Notes
    -----
    With D the offset, k the curvature, T and N tangent and normal at the foot, C the curve,
    ``a_q = T.C_q`` and ``t_q`` the derivative of the heading:
    ``D_qr = (t_q a_r + t_r a_q - k a_q a_r - D t_q t_r) / (1 - k D)`` plus the integral of
    ``N(s).T(u) t_q(u) t_r(u) du`` from the start to the foot. The heading is linear in the state,
    so no further term arises.
    """
    t, a = o.turn_by_state, o.ahead_by_state
    f = pull / (1.0 - o.curvature * o.offset)
    cross = (t * f[:, None]).T @ a
    total = cross + cross.T - (a * (f * o.curvature)[:, None]).T @ a - (t * (f * o.offset)[:, None]).T @ t
    knots = chain.knots
    lo, hi = knots[0], knots[-1]
    cuts = np.unique(np.clip(np.concatenate([knots, o.stations]), lo, hi))
    # before the first knot and beyond the last the curve is straight and its heading basis constant
    width = np.diff(cuts)
    u = (cuts[:-1, None] + width[:, None] * 0.5 * (_NODES + 1.0)).ravel()
    w = (width[:, None] * 0.5 * _WEIGHTS).ravel()
    angle = ch.heading_at(chain, u)
    basis = np.column_stack([np.ones(len(u)), ch.heading_basis(chain, u)])
    normal = o.normal
    reach = o.stations[:, None] >= u[None, :]
    dots = normal[:, 0:1] * np.cos(angle)[None] + normal[:, 1:2] * np.sin(angle)[None]
    pulled = np.einsum("n,nu,nu->u", pull, dots, reach.astype(float)) * w
    total[2:, 2:] += (basis * pulled[:, None]).T @ basis
    for end, beyond in ((lo, np.minimum(o.stations - lo, 0.0)), (hi, np.maximum(o.stations - hi, 0.0))):
        at_end = np.concatenate([[1.0], ch.heading_basis(chain, np.array([end]))[0]])
        direction = ch.heading_at(chain, np.array([end]))[0]
        dot = normal[:, 0] * np.cos(direction) + normal[:, 1] * np.sin(direction)
        total[2:, 2:] += np.sum(pull * dot * beyond) * np.outer(at_end, at_end)
    return total
