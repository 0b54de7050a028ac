"""Circles through points: the geometric fit, and the algebraic one that starts it.

The geometric fit makes the square sum of the *distances* to the circle least, which is what "fits
best" means for measured points. The algebraic fit makes the square sum of an equation's residual
least; it needs no start, but depends on where the origin lies and pulls short arcs to a wrong radius.

Sources: W. Gander, G. H. Golub, R. Strebel, *Least-squares fitting of circles and ellipses*, BIT 34
(1994) 558-578, section 2 (algebraic) and section 3 (Gauss-Newton).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.errors import InputError, NoSolutionError, NotConvergedError

FloatArray = np.ndarray

#: Points whose breadth is below this part of their length count as lying on one straight line.
STRAIGHT = 1e-9

#: A radius this many times the size of the points is a straight line for every purpose.
FLAT = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class CircleFit:
    """A fitted circle.

    Parameters
    ----------
    centre : tuple of float
        Centre in plan. [mm]
    radius : float
        Radius. [mm]
    rms : float
        Root mean square of the distances from the points to the circle. [mm]
    iterations : int
        Steps taken; 0 for the algebraic fit.
    """

    centre: tuple[float, float]
    radius: float
    rms: float
    iterations: int


def _checked(points: FloatArray) -> FloatArray:
    """Return the points as floats; refuse what fixes no circle."""
    given = np.asarray(points, dtype=float)
    if given.ndim != 2 or given.shape[1] != 2:
        raise InputError(
            "a circle is fitted to points in plan", code="GE050", value=given.shape, limit="(n, 2)"
        )
    if not np.all(np.isfinite(given)):
        bad = int(np.flatnonzero(~np.isfinite(given).all(axis=1))[0])
        raise InputError("a point is not a finite number", code="GE051", value=tuple(given[bad].tolist()))
    distinct = len(np.unique(given, axis=0))
    if distinct < 3:
        raise InputError(
            "a circle needs three different points", code="GE052", value=distinct, limit="3 or more"
        )
    spread = np.linalg.svd(given - given.mean(axis=0), compute_uv=False)
    if spread[1] <= STRAIGHT * spread[0]:
        raise InputError(
            "the points lie on one straight line",
            code="GE053",
            value=float(spread[1]),
            limit=f"a breadth above {STRAIGHT * spread[0]:.3g}",
            hint="Take it for a tangent, or add a point off the line",
        )
    return given


def _distances(points: FloatArray, circle: FloatArray) -> FloatArray:
    return np.hypot(points[:, 0] - circle[0], points[:, 1] - circle[1]) - circle[2]


def _fit(points: FloatArray, circle: FloatArray, iterations: int) -> CircleFit:
    rms = float(np.sqrt(np.mean(_distances(points, circle) ** 2)))
    centre = (float(circle[0]), float(circle[1]))
    return CircleFit(centre=centre, radius=float(circle[2]), rms=rms, iterations=iterations)


def _algebraic(points: FloatArray) -> FloatArray:
    """Centre and radius that make ``a x.x + b.x + c`` least in square for ``|(a, b, c)| = 1``."""
    design = np.column_stack([np.sum(points**2, axis=1), points, np.ones(len(points))])
    a, b1, b2, c = np.linalg.svd(design, full_matrices=True)[2][-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        centre = -np.array([b1, b2]) / (2.0 * a)
        radius = np.sqrt(centre @ centre - c / a)
    return np.array([centre[0], centre[1], radius])


def fit_circle_algebraic(points: FloatArray) -> CircleFit:
    """Fit a circle by its equation, with coefficients of unit length.

    For a start or for comparison; measured points want :func:`fit_circle_geometric`.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Three or more points in plan. [mm]

    Returns
    -------
    CircleFit
        The circle; its ``rms`` is of distances, not of what was made least.

    Raises
    ------
    InputError
        If the points are fewer than three or lie on a straight line.
    NoSolutionError
        If the best equation is that of no real circle.

    Notes
    -----
    The right singular vector of least singular value of the rows ``(x^2 + y^2, x, y, 1)`` [1]_. The
    answer depends on the origin and on the unit of length.

    References
    ----------
    .. [1] W. Gander, G. H. Golub, R. Strebel, *Least-squares fitting of circles and ellipses*, BIT 34
       (1994) 558-578, section 2.

    Examples
    --------
    >>> fit = fit_circle_algebraic([[3, 0], [0, 3], [-3, 0], [0, -3]])
    >>> round(fit.radius, 9)
    3.0
    """
    given = _checked(points)
    circle = _algebraic(given)
    if not np.all(np.isfinite(circle)):
        raise NoSolutionError(
            "the points give no real circle",
            code="GE054",
            value=tuple(circle.tolist()),
            hint="Use the geometric fit",
        )
    return _fit(given, circle, 0)


def fit_circle_geometric(points: FloatArray, *, tolerance: float = 1e-12, most: int = 100) -> CircleFit:
    """Fit a circle with the least square sum of distances.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Three or more points in plan. [mm]
    tolerance : float
        Stop when a step is below this part of the radius. [1]
    most : int
        Most steps.

    Returns
    -------
    CircleFit
        The circle.

    Raises
    ------
    InputError
        If the points are fewer than three or lie on a straight line.
    NotConvergedError
        If the steps do not settle, as when a straight line fits better than any circle.

    Notes
    -----
    Gauss-Newton on ``d_i = |p_i - centre| - radius`` from the algebraic fit of the points shifted to
    their mean and brought to unit size, so that the start does not depend on the frame; a step that
    makes the sum larger is halved.

    References
    ----------
    .. [1] W. Gander, G. H. Golub, R. Strebel, *Least-squares fitting of circles and ellipses*, BIT 34
       (1994) 558-578, section 3.

    Examples
    --------
    >>> fit = fit_circle_geometric([[1, 7], [2, 6], [5, 8], [7, 7], [9, 5], [3, 7]])
    >>> round(fit.radius, 4)
    4.7142
    """
    given = _checked(points)
    middle = given.mean(axis=0)
    size = float(np.sqrt(np.mean(np.sum((given - middle) ** 2, axis=1))))
    unit = (given - middle) / size
    circle = _algebraic(unit)
    if not np.all(np.isfinite(circle)):
        circle = np.array([0.0, 0.0, 1.0])
    for iteration in range(1, most + 1):
        gap = _distances(unit, circle)
        away = unit - circle[:2]
        reach = np.maximum(np.hypot(away[:, 0], away[:, 1]), 1e-300)
        jac = np.column_stack([-away / reach[:, None], -np.ones(len(unit))])
        step = np.linalg.lstsq(jac, -gap, rcond=None)[0]
        cost = float(gap @ gap)
        for _ in range(40):
            after = _distances(unit, circle + step)
            if float(after @ after) <= cost * (1.0 + 1e-12) + 1e-30:
                break
            step = 0.5 * step
        circle = circle + step
        if circle[2] > FLAT:
            break
        step_size = float(np.max(np.abs(step)))
        if step_size <= tolerance * max(1.0, abs(circle[2])):
            return _fit(given, np.array([*(middle + size * circle[:2]), size * circle[2]]), iteration)
    raise NotConvergedError(
        "no circle fits these points best",
        code="GE055",
        value=float(size * circle[2]),
        limit="a radius that settles",
        hint="A straight line may fit better; add points further along the arc",
    )
