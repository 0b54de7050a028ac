"""Weighted least squares of observations that are not linear, with exact derivatives of the answer.

``adjust`` minimises ``sum(((observed - f(x)) / sd)^2)``. At the minimum the gradient is zero; by the
implicit function rule the answer changes with the observed values as ``H^-1 A^T W``, where H is the
*full* second derivative ``A^T W A - sum(w v d2f)``: leaving the last term out (Gauss-Newton) makes
derivatives of a net with residuals as large as their doubts wrong by several per cent.

Reliability after Baarda: redundancy numbers are the diagonal of ``I - A (A^T W A)^-1 A^T W``; the
standardised residual is ``w = v / (sd sqrt(r))``. Symbols as in C. D. Ghilani, *Adjustment
Computations*, 5th ed., Wiley, 2010, chapters 13 and 21.

Normal equations are solved with scaled columns by Cholesky factors, never by an inverse of raw ones.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from spanwright.errors import NoSolutionError, NotConvergedError
from spanwright.estimation.jets import Jet, variables

FloatArray = np.ndarray
IntArray = np.ndarray

#: Gauss-Newton that creeps on with steps of less of an unknown's doubt is near enough for Newton's steps. [1]
_NEAR = 1.0
_NEWTON_STEPS = 12
#: Steps of less of an unknown's doubt have settled; so many of Newton's follow. [1]
SETTLED = 1e-7
_LAST_STEPS = 3
#: Newton's steps have settled when the last was less of an unknown's doubt. [1]
_SETTLED_BY_NEWTON = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Batch:
    """Observations of one kind.

    Parameters
    ----------
    rows : ndarray, shape (n,)
        Which observations. [1]
    unknowns : ndarray, shape (n, m)
        Which entries of the full vector each depends on. [1]
    function : callable
        Takes m jets and returns the jet of what would be read.
    turn : float
        Period of the observation (an angle: 2 pi), 0 for none. [rad]
    """

    rows: IntArray
    unknowns: IntArray
    function: Callable[[list[Jet]], Jet]
    turn: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Problem:
    """A least-squares problem.

    Parameters
    ----------
    start : ndarray, shape (u,)
        Start of the full vector; entries that are not free keep it. [any]
    free : ndarray, shape (u,)
        True for the unknowns. [1]
    batches : tuple of Batch
        The observations; each row occurs once.
    observed : ndarray, shape (n,)
        What was read. [any]
    sds : ndarray, shape (n,)
        Standard uncertainties. [any]
    names : tuple of str
        Name of each entry of the full vector, for messages.
    constraints : ndarray, shape (u, d)
        Directions in which the answer must not move from the start (free net); d may be 0. [any]
    """

    start: FloatArray
    free: FloatArray
    batches: tuple[Batch, ...]
    observed: FloatArray
    sds: FloatArray
    names: tuple[str, ...]
    constraints: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Adjustment:
    """The answer of :func:`adjust`.

    Parameters
    ----------
    values : ndarray, shape (u,)
        The full vector at the minimum. [any]
    by_observed : ndarray, shape (u, n)
        Derivative of the answer to each observed value; zero rows for what is held. [any]
    residuals : ndarray, shape (n,)
        Observed less computed. [any]
    residual_by_observed : ndarray, shape (n, n)
        Derivative of the residuals to the observed values, at Gauss-Newton. [any]
    redundancy : ndarray, shape (n,)
        Redundancy numbers, 0 (unchecked) to 1. [1]
    standardised : ndarray, shape (n,)
        ``v / (sd sqrt(r))``; 0 where the redundancy is nil. [1]
    cofactor : ndarray, shape (u, u)
        Covariance of the answer by the declared doubts (Gauss-Newton). [any]
    degrees_of_freedom : int
        Observations less unknowns plus constraints.
    chi_square : float
        Weighted square sum of the residuals. [1]
    iterations : int
        Steps taken.
    """

    values: FloatArray
    by_observed: FloatArray
    residuals: FloatArray
    residual_by_observed: FloatArray
    redundancy: FloatArray
    standardised: FloatArray
    cofactor: FloatArray
    degrees_of_freedom: int
    chi_square: float
    iterations: int

    @property
    def scale(self) -> float:
        """Posterior scale of the doubts, ``sqrt(chi_square / freedom)``; 1 where no reading is spare."""
        if self.degrees_of_freedom < 1:
            return 1.0
        return float(np.sqrt(self.chi_square / self.degrees_of_freedom))


UNCHECKED = 1e-6


def _computed(problem: Problem, x: FloatArray) -> tuple[FloatArray, FloatArray, list[tuple[Batch, Jet]]]:
    n, u = len(problem.observed), len(problem.start)
    value = np.zeros(n)
    jac = np.zeros((n, u))
    parts = []
    for batch in problem.batches:
        jet = batch.function(variables(x[batch.unknowns]))
        value[batch.rows] = jet.value
        for k in range(batch.unknowns.shape[1]):
            jac[batch.rows, batch.unknowns[:, k]] += jet.grad[:, k]  # each row occurs once
        parts.append((batch, jet))
    return value, jac, parts


def misfit(problem: Problem, x: FloatArray) -> float:
    """Return the weighted square sum of the residuals at given values.

    Parameters
    ----------
    problem : Problem
        The problem.
    x : ndarray, shape (u,)
        Values of the full vector. [any]

    Returns
    -------
    float
        Square sum. [1]
    """
    return float(np.sum((residuals(problem, x) / problem.sds) ** 2))


def residuals(problem: Problem, x: FloatArray) -> FloatArray:
    """Return observed less computed at given values.

    Parameters
    ----------
    problem : Problem
        The problem.
    x : ndarray, shape (u,)
        Values of the full vector. [any]

    Returns
    -------
    ndarray, shape (n,)
        Residuals. [any]
    """
    return _residuals(problem, _computed(problem, x)[0])


def _residuals(problem: Problem, value: FloatArray) -> FloatArray:
    v = problem.observed - value
    for batch in problem.batches:
        if batch.turn:
            v[batch.rows] -= batch.turn * np.round(v[batch.rows] / batch.turn)
    return v


def _factor(normal: FloatArray, constraints: FloatArray) -> Callable[[FloatArray], FloatArray]:
    """Return a solver of the scaled normals, bordered by the constraints if there are any."""
    d = 1.0 / np.sqrt(np.maximum(np.diag(normal), 1e-300))
    scaled = normal * d[:, None] * d[None, :]
    if constraints.shape[1] == 0:
        factor = np.linalg.cholesky(scaled)

        def solve(b: FloatArray) -> FloatArray:
            y = np.linalg.solve(factor, b * d[:, None])
            return d[:, None] * np.linalg.solve(factor.T, y)

        return solve
    border = constraints * d[:, None]  # of the scaled unknowns, x / d
    border = border / np.linalg.norm(border, axis=0)
    k = border.shape[1]
    full = np.block([[scaled, border], [border.T, np.zeros((k, k))]])

    def solve_bordered(b: FloatArray) -> FloatArray:
        rhs = np.vstack([b * d[:, None], np.zeros((k, b.shape[1]))])
        return d[:, None] * np.linalg.solve(full, rhs)[: len(d)]

    return solve_bordered


def _undetermined(normal: FloatArray, names: list[str]) -> NoSolutionError:
    d = 1.0 / np.sqrt(np.maximum(np.diag(normal), 1e-300))
    scaled = normal * d[:, None] * d[None, :]
    _, vectors = np.linalg.eigh(scaled)
    weak = np.abs(vectors[:, 0] * d)
    worst = sorted(range(len(names)), key=lambda i: -weak[i])[:4]
    listed = ", ".join(sorted({names[i] for i in worst if weak[i] > 0.2 * weak[worst[0]]}))
    return NoSolutionError(
        f"the readings do not fix {listed}",
        code="ES001",
        hint="Take another reading to it from a mark that is fixed",
    )


def adjust_near(problem: Problem) -> Adjustment:
    """Adjust from the answer to nearly the same problem: by full Newton steps, if they settle.

    Parameters
    ----------
    problem : Problem
        What was read and how it depends on the unknowns; its start is that answer.

    Returns
    -------
    Adjustment
        As of :func:`adjust`, but for the last bits.

    Raises
    ------
    NoSolutionError
        If the readings leave an unknown undetermined.
    NotConvergedError
        If the steps do not settle.
    """
    x, step_size = _newton(problem, problem.start.astype(float), _LAST_STEPS)
    if step_size < _SETTLED_BY_NEWTON:
        found = _finish(problem, x, _LAST_STEPS)
        if found.chi_square <= misfit(problem, problem.start) * (1.0 + 1e-9):
            return found
    return adjust(problem)


def adjust(problem: Problem, *, tolerance: float = SETTLED, most: int = 60) -> Adjustment:
    """Adjust observations by weighted least squares.

    Damped Gauss-Newton steps (Levenberg-Marquardt), then full Newton steps to rounding.
    Where readings miss by as much as they measure, as from places that start in a mirror image, Gauss-Newton
    creeps: from near the minimum Newton's steps then take over.

    Parameters
    ----------
    problem : Problem
        What was read and how it depends on the unknowns.
    tolerance : float
        Stop when no unknown moves by more than this part of its own doubt. [1]
    most : int
        Most steps.

    Returns
    -------
    Adjustment
        Values, derivatives, residuals and reliability.

    Raises
    ------
    NoSolutionError
        If the readings leave an unknown undetermined.
    NotConvergedError
        If the steps do not settle.
    """
    x = problem.start.astype(float).copy()
    free = np.flatnonzero(problem.free)
    names = [problem.names[i] for i in free]
    weight = 1.0 / problem.sds**2
    border = problem.constraints[free]
    value, jac, _ = _computed(problem, x)
    v = _residuals(problem, value)
    cost = float(np.sum(weight * v**2))
    damping = 1e-3
    step_size = np.inf
    for iteration in range(1, most + 1):
        a = jac[:, free]
        normal = a.T @ (weight[:, None] * a)
        right = a.T @ (weight * v)
        damped = normal + damping * np.diag(np.diag(normal) + 1e-300)
        try:
            solve = _factor(damped, border)
            step = solve(right[:, None])[:, 0]
        except np.linalg.LinAlgError:
            raise _undetermined(normal, names) from None
        trial = x.copy()
        trial[free] += step
        new_value, new_jac, _ = _computed(problem, trial)
        new_v = _residuals(problem, new_value)
        new_cost = float(np.sum(weight * new_v**2))
        step_size = float(np.max(np.abs(step) * np.sqrt(np.diag(normal)), initial=0.0))
        if not np.isfinite(new_cost) or new_cost > cost * (1.0 + 1e-9) + 1e-12:
            damping = max(damping, 1e-6) * 10.0
            if damping > 1e12:
                break
            continue
        x, v, jac, cost = trial, new_v, new_jac, new_cost
        damping = 0.0 if damping < 1e-7 else damping / 10.0
        if step_size < tolerance and damping < 1e-3:
            return _finish(problem, _newton(problem, x, _LAST_STEPS)[0], iteration)
    if step_size < _NEAR:
        x, step_size = _newton(problem, x, _NEWTON_STEPS)
        if step_size < _SETTLED_BY_NEWTON and misfit(problem, x) <= cost * (1.0 + 1e-9):
            return _finish(problem, _newton(problem, x, _LAST_STEPS)[0], most)
    raise NotConvergedError(
        "the adjustment does not settle",
        code="ES002",
        value=step_size,
        limit=tolerance,
        hint="Look for a slip in the readings or give rough places of the marks",
    )


def _newton(problem: Problem, x: FloatArray, most: int) -> tuple[FloatArray, float]:
    """Take full Newton steps, and return with the values the last step in parts of the unknowns' doubts."""
    free = np.flatnonzero(problem.free)
    names = [problem.names[i] for i in free]
    weight = 1.0 / problem.sds**2
    border = problem.constraints[free]
    size = np.inf
    for _ in range(most):
        value, jac, parts = _computed(problem, x)
        v = _residuals(problem, value)
        a = jac[:, free]
        normal = a.T @ (weight[:, None] * a)
        full = _full_hessian(parts, jac, weight, v)[np.ix_(free, free)]
        try:
            _factor(normal, border)  # what is not determined shows here
            newton = _factor_symmetric(full, border)
        except np.linalg.LinAlgError:
            raise _undetermined(normal, names) from None
        step = newton((a.T @ (weight * v))[:, None])[:, 0]
        x = x.copy()
        x[free] += step
        size = float(np.max(np.abs(step) * np.sqrt(np.diag(normal)), initial=0.0))
    return x, size


def _finish(problem: Problem, x: FloatArray, iterations: int) -> Adjustment:
    """Work out derivatives and reliability at the minimum."""
    free = np.flatnonzero(problem.free)
    names = [problem.names[i] for i in free]
    weight = 1.0 / problem.sds**2
    border = problem.constraints[free]
    value, jac, parts = _computed(problem, x)
    v = _residuals(problem, value)
    a = jac[:, free]
    normal = a.T @ (weight[:, None] * a)
    _check_rank(normal, border, names)
    full = _full_hessian(parts, jac, weight, v)[np.ix_(free, free)]
    gauss = _factor(normal, border)
    newton = _factor_symmetric(full, border)
    by_observed = np.zeros((len(x), len(v)))
    by_observed[free] = newton(a.T * weight)
    hat = a @ gauss(a.T * weight)
    redundancy = np.clip(1.0 - np.diag(hat), 0.0, 1.0)
    checked = redundancy > UNCHECKED
    standardised = np.where(checked, v / (problem.sds * np.sqrt(np.where(checked, redundancy, 1.0))), 0.0)
    cofactor = np.zeros((len(x), len(x)))
    cofactor[np.ix_(free, free)] = gauss(np.eye(len(free)))
    return Adjustment(
        values=x,
        by_observed=by_observed,
        residuals=v,
        residual_by_observed=np.eye(len(v)) - hat,
        redundancy=redundancy,
        standardised=standardised,
        cofactor=cofactor,
        degrees_of_freedom=len(v) - len(free) + border.shape[1],
        chi_square=float(np.sum(weight * v**2)),
        iterations=iterations,
    )


def _full_hessian(
    parts: list[tuple[Batch, Jet]], jac: FloatArray, weight: FloatArray, v: FloatArray
) -> FloatArray:
    full = jac.T @ (weight[:, None] * jac)
    places, bends = [], []
    for batch, jet in parts:
        factor = (weight * v)[batch.rows]
        own = batch.unknowns.T
        places.append((own[:, None] * len(full) + own[None]).ravel())
        bends.append((-factor * jet.hess.transpose(1, 2, 0)).ravel())
    np.add.at(full.reshape(-1), np.concatenate(places), np.concatenate(bends))
    return full


def _factor_symmetric(full: FloatArray, border: FloatArray) -> Callable[[FloatArray], FloatArray]:
    """Return a solver of the full Hessian, which a wild residual may leave indefinite."""
    d = 1.0 / np.sqrt(np.maximum(np.abs(np.diag(full)), 1e-300))
    scaled = full * d[:, None] * d[None, :]
    k = border.shape[1]
    if k:
        edge = border * d[:, None]
        edge = edge / np.linalg.norm(edge, axis=0)
        scaled = np.block([[scaled, edge], [edge.T, np.zeros((k, k))]])

    def solve(b: FloatArray) -> FloatArray:
        rhs = np.vstack([b * d[:, None], np.zeros((k, b.shape[1]))])
        return d[:, None] * np.linalg.solve(scaled, rhs)[: len(d)]

    return solve


def _check_rank(normal: FloatArray, border: FloatArray, names: list[str]) -> None:
    d = 1.0 / np.sqrt(np.maximum(np.diag(normal), 1e-300))
    scaled = normal * d[:, None] * d[None, :]
    if border.shape[1]:
        edge = border / d[:, None]
        edge = edge / np.linalg.norm(edge, axis=0)
        scaled = scaled + edge @ edge.T
    if np.linalg.eigvalsh(scaled)[0] < 1e-11:
        raise _undetermined(normal, names)
