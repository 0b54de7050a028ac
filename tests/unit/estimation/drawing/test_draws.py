"""Draws have the covariance that they should, and are always the same."""

import numpy as np
import pytest

from spanwright.estimation.condition import learn, spread_with
from spanwright.estimation.derived import Derived
from spanwright.estimation.drawing.draws import draw, moves, root, stream
from spanwright.estimation.spread import Spread

MANY = 100_000


def taught_spread():
    """Three inputs of whom two sums were read later."""
    sds = np.array([0.5, 0.3, 0.4])
    jac = np.array([[1.0, 1.0, 0.0], [0.0, 1.0, -1.0]])
    known = learn(
        Derived(np.zeros(2), jac),
        np.array([0.2, 0.1]),
        np.array([0.05, 0.2]),
        prior=(("a", "b", "c"), sds),
        at=np.zeros(3),
    )
    weights = np.linalg.inv(np.diag(1.0 / sds**2) + jac.T @ np.diag([400.0, 25.0]) @ jac)
    return spread_with(sds, known), weights


def test_moves_have_the_covariance_of_the_spread():
    spread, exact = taught_spread()
    drawn = moves(spread, stream().standard_normal((MANY, 3)))
    assert np.cov(drawn.T) == pytest.approx(exact, abs=0.01 * 0.25)


def test_moves_of_independent_inputs_are_their_doubts_times_the_normals():
    normals = stream().standard_normal((5, 2))
    drawn = moves(Spread(sds=np.array([2.0, 0.0])), normals)
    assert np.array_equal(drawn, normals * [2.0, 0.0])


def test_numbers_are_drawn_as_their_inputs_would_be():
    spread, exact = taught_spread()
    jac = np.array([[1.0, 2.0, 0.0], [0.0, 1.0, 1.0], [1.0, 3.0, 1.0]])  # the third is the sum of the others
    factors = root(spread.scaled(jac))
    assert factors.shape == (3, 2)
    assert factors @ factors.T == pytest.approx(jac @ exact @ jac.T, abs=1e-12)
    drawn = draw(np.array([1.0, 2.0, 3.0]), spread.scaled(jac), MANY, stream())
    assert drawn[:, 2] == pytest.approx(drawn[:, 0] + drawn[:, 1])
    assert drawn.mean(axis=0) == pytest.approx([1.0, 2.0, 3.0], abs=0.02)


def test_numbers_without_doubt_stay():
    drawn = draw(np.array([1.5]), np.zeros((1, 4)), 3, stream())
    assert np.array_equal(drawn, np.full((3, 1), 1.5))
    assert draw(np.zeros(0), np.zeros((0, 4)), 3, stream()).shape == (3, 0)


def test_the_same_draws_every_time():
    rows = np.array([[0.3, 0.1], [0.2, 0.4]])
    assert np.array_equal(draw(np.ones(2), rows, 50, stream()), draw(np.ones(2), rows, 50, stream()))
