"""Least squares on small problems: answer, derivatives, reliability, free net, what is undetermined."""

from math import pi

import numpy as np
import pytest
from scipy.optimize import least_squares

from spanwright.errors import NoSolutionError, NotConvergedError
from spanwright.estimation import jets
from spanwright.estimation.adjust import Batch, Problem, adjust, adjust_near, misfit

PEGS = np.array([[0.0, 0.0], [400.0, 0.0], [350.0, 300.0], [-20.0, 280.0], [180.0, 150.0]])
PAIRS = np.array([(0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3), (4, 0), (4, 1), (4, 2), (4, 3)])
SD = 0.6
NAMES = tuple(name for name in "pqrst" for _ in "xy")


def length(q):
    dx, dy = q[2] - q[0], q[3] - q[1]
    return jets.sqrt(dx * dx + dy * dy)


def lengths(points, pairs=PAIRS):
    return np.hypot(*(points[pairs[:, 0]] - points[pairs[:, 1]]).T)


def problem(observed, *, hold=(0, 1, 3), pairs=PAIRS, start=None, constraints=None):
    """Distances between pegs; held entries of x0 y0 x1 y1 ... stay where they are."""
    unknowns = np.column_stack([2 * pairs[:, 0], 2 * pairs[:, 0] + 1, 2 * pairs[:, 1], 2 * pairs[:, 1] + 1])
    free = np.ones(10, dtype=bool)
    free[list(hold)] = False
    return Problem(
        start=(PEGS.ravel() + np.where(free, 3.0, 0.0)) if start is None else start,
        free=free,
        batches=(Batch(rows=np.arange(len(pairs)), unknowns=unknowns, function=length),),
        observed=observed,
        sds=np.full(len(pairs), SD),
        names=NAMES,
        constraints=np.zeros((10, 0)) if constraints is None else constraints,
    )


def noisy(seed=11, factor=1.0):
    return lengths(PEGS) + factor * np.random.default_rng(seed).normal(0.0, SD, len(PAIRS))


def test_exact_readings_give_the_pegs_back():
    found = adjust(problem(lengths(PEGS)))
    np.testing.assert_allclose(found.values, PEGS.ravel(), atol=1e-9)
    assert found.chi_square < 1e-15


def test_answer_agrees_with_a_general_solver():
    observed = noisy()
    found = adjust(problem(observed))
    free = problem(observed).free

    def gaps(x):
        full = PEGS.ravel().copy()
        full[free] = x
        return (observed - lengths(full.reshape(-1, 2))) / SD

    other = least_squares(gaps, PEGS.ravel()[free], xtol=1e-15, ftol=1e-15, gtol=1e-15)
    np.testing.assert_allclose(found.values[free], other.x, atol=1e-6)
    assert found.chi_square == pytest.approx(2.0 * other.cost)
    assert found.chi_square == pytest.approx(np.sum((found.residuals / SD) ** 2))


@pytest.mark.parametrize("factor", [1.0, 8.0])
def test_derivatives_are_those_of_the_converged_answer(factor):
    """Residuals as large as the doubts and far beyond them; every column to 1e-4 of its largest entry."""
    observed = noisy(factor=factor)
    found = adjust(problem(observed))
    assert np.abs(found.residuals).max() > 0.5 * factor * SD
    for k in range(len(observed)):
        step = np.eye(len(observed))[k] * 0.01
        up, down = adjust(problem(observed + step)).values, adjust(problem(observed - step)).values
        column = (up - down) / 0.02
        np.testing.assert_allclose(found.by_observed[:, k], column, rtol=0, atol=1e-4 * np.abs(column).max())


def test_derivatives_at_gauss_newton_would_not_do():
    """Why the second derivatives are kept: without them this net's are wrong by more than 1e-3."""
    found = adjust(problem(noisy(factor=8.0)))
    p = problem(noisy())
    h = 1e-4
    jac = np.column_stack(
        [
            (lengths((found.values + e).reshape(-1, 2)) - lengths((found.values - e).reshape(-1, 2)))
            / (2 * h)
            for e in np.eye(10)[p.free] * h
        ]
    )
    gauss = np.linalg.solve(jac.T @ jac, jac.T)
    assert np.abs(gauss - found.by_observed[p.free]).max() > 1e-3 * np.abs(gauss).max()


def test_reliability_numbers():
    found = adjust(problem(noisy()))
    assert found.degrees_of_freedom == 3
    assert found.redundancy.sum() == pytest.approx(3.0)
    assert np.all((found.redundancy >= 0) & (found.redundancy <= 1))
    np.testing.assert_allclose(np.diag(found.residual_by_observed), found.redundancy, atol=1e-12)
    np.testing.assert_allclose(
        found.standardised, found.residuals / (SD * np.sqrt(found.redundancy)), atol=1e-12
    )
    np.testing.assert_allclose(
        found.residual_by_observed @ found.residual_by_observed, found.residual_by_observed, atol=1e-9
    )
    assert found.scale == pytest.approx(np.sqrt(found.chi_square / 3))


def test_covariance_and_scale_agree_with_chance():
    exact = lengths(PEGS)
    rng = np.random.default_rng(2)
    runs = [adjust(problem(exact + rng.normal(0.0, SD, len(exact)))) for _ in range(1500)]
    spread = np.std([r.values for r in runs], axis=0)
    stated = np.sqrt(np.diag(adjust(problem(exact)).cofactor))
    np.testing.assert_allclose(spread, stated, rtol=0.08)
    assert np.mean([r.chi_square for r in runs]) == pytest.approx(3.0, abs=4 * np.sqrt(6.0 / 1500))


def test_a_reading_that_nothing_checks():
    pairs = PAIRS[[0, 1, 2, 3, 4, 5, 6, 7]]  # the last peg by two distances only
    found = adjust(problem(noisy()[:8], pairs=pairs))
    np.testing.assert_allclose(found.redundancy[-2:], 0.0, atol=1e-9)
    np.testing.assert_allclose(found.standardised[-2:], 0.0)
    assert found.redundancy[:6].sum() == pytest.approx(1.0)


def test_nothing_left_over_has_scale_one():
    pairs = PAIRS[[0, 1, 2, 3, 4, 6, 7]]
    found = adjust(problem(noisy()[[0, 1, 2, 3, 4, 6, 7]], pairs=pairs))
    assert found.degrees_of_freedom == 0
    assert found.scale == 1.0


def inner(points):
    centred = points - points.mean(axis=0)
    turn = np.column_stack([-centred[:, 1], centred[:, 0]]).ravel()
    return np.column_stack([np.tile([1.0, 0.0], 5), np.tile([0.0, 1.0], 5), turn])


def test_a_free_net_doubts_least():
    """Its covariance has the least trace of all datums that hold three numbers."""
    start = PEGS.ravel()
    free = adjust(problem(noisy(), hold=(), start=start, constraints=inner(PEGS)))
    assert free.degrees_of_freedom == 3
    moved = (free.values - start).reshape(-1, 2)
    np.testing.assert_allclose(inner(PEGS).T @ moved.ravel(), 0.0, atol=1e-6)
    for at in range(5):
        for towards in range(5):
            for axis in (0, 1):
                lever = PEGS[towards] - PEGS[at]
                if (
                    towards == at or abs(lever[1 - axis]) < 1.0
                ):  # moving along the lever does not turn the net
                    continue
                hold = (2 * at, 2 * at + 1, 2 * towards + axis)
                minimal = adjust(problem(noisy(), hold=hold, start=start))
                assert np.trace(free.cofactor) < np.trace(minimal.cofactor)
                assert minimal.chi_square == pytest.approx(free.chi_square, rel=1e-9)
                np.testing.assert_allclose(minimal.residuals, free.residuals, atol=1e-7)


def test_angles_are_compared_round_the_turn():
    """A direction read as 359.9 degrees is near one computed as 0.1."""
    batch = Batch(
        rows=np.array([0]),
        unknowns=np.array([[0, 1]]),
        function=lambda q: jets.arctan2(q[0], q[1] + 100.0),
        turn=2.0 * pi,
    )
    given = Problem(
        start=np.array([0.2, 0.0]),
        free=np.array([True, False]),
        batches=(batch,),
        observed=np.array([2.0 * pi - 0.002]),
        sds=np.array([1e-3]),
        names=("a", "b"),
        constraints=np.zeros((2, 0)),
    )
    assert adjust(given).values[0] == pytest.approx(-100.0 * np.tan(0.002))


@pytest.mark.parametrize(("left_out", "name"), [((7, 8, 9), "t"), ((1, 5, 7), "q")])
def test_an_undetermined_peg_is_named(left_out, name):
    """A peg left with one distance swings about the other; its neighbours do not."""
    rows = [k for k in range(len(PAIRS)) if k not in left_out]
    hold = (4, 5, 6) if name == "q" else (0, 1, 3)
    with pytest.raises(NoSolutionError, match=f"do not fix {name}. Take another") as caught:
        adjust(problem(noisy()[rows], pairs=PAIRS[rows], hold=hold))
    assert caught.value.code == "ES001"


def test_a_net_that_floats_is_refused():
    with pytest.raises(NoSolutionError, match="the readings do not fix"):
        adjust(problem(noisy(), hold=(0, 1)))


def test_steps_that_run_out_are_said():
    with pytest.raises(NotConvergedError, match=r"does not settle; read .*; expected 1e-07") as caught:
        adjust(problem(noisy()), most=1)
    assert caught.value.value > 1e-6


def test_a_far_start_is_reached_by_damping():
    start = PEGS.ravel() + np.array([0, 0, 60, 0, -80, 50, 40, -70, 90, -60.0])
    found = adjust(problem(noisy(), start=start))
    near = adjust(problem(noisy()))
    np.testing.assert_allclose(found.values, near.values, atol=1e-7)


def test_readings_that_miss_by_much_settle():
    """From places that start in a mirror image lines miss by their own length: Gauss-Newton creeps."""
    given = problem(noisy(14, 160.0))
    found = adjust(given)
    assert found.iterations == 60
    slopes = [
        (misfit(given, found.values + e) - misfit(given, found.values - e)) / 2e-4
        for e in 1e-4 * np.eye(10)[given.free]
    ]
    np.testing.assert_allclose(slopes, 0.0, atol=1e-4 * found.chi_square)


@pytest.mark.parametrize("moved", [0.5, 40.0])
def test_from_near_the_answer_is_the_same(moved):
    """A reading moved by a millimetre, and by so much that Newton's few steps do not settle."""
    observed = noisy()
    before = adjust(problem(observed)).values
    observed[4] += moved
    asked = problem(observed, start=before)
    found, wanted = adjust_near(asked), adjust(asked)
    np.testing.assert_allclose(found.values, wanted.values, atol=1e-8)
    np.testing.assert_allclose(found.by_observed, wanted.by_observed, atol=1e-8)
