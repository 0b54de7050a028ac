"""First and second derivatives of jets against central differences."""

import numpy as np
import pytest

from spanwright.estimation import jets
from spanwright.estimation.jets import Jet, variables

CASES = {
    "sum": (lambda q: q[0] + q[1] + 3.0, 2),
    "from a number": (lambda q: 3.0 - q[0] * 2.0, 1),
    "difference": (lambda q: q[0] - 2.5 * q[1], 2),
    "product": (lambda q: q[0] * q[1] * q[0], 2),
    "quotient": (lambda q: q[0] / q[1], 2),
    "quotient by a number": (lambda q: q[0] * q[0] / 4.0, 1),
    "root": (lambda q: jets.sqrt(q[0] * q[0] + q[1] * q[1] + q[2] * q[2]), 3),
    "sine's angle": (lambda q: jets.arcsin(q[0] * 0.3 / q[1]), 2),
    "direction": (lambda q: jets.arctan2(q[0] - q[2], q[1] * q[1]), 3),
    "string": (lambda q: (q[0] * q[3] - q[1] * q[2]) / jets.sqrt(q[0] * q[0] + q[1] * q[1]), 4),
    "exponential": (lambda q: jets.exp(q[0] * q[1] * 0.3), 2),
    "cube of what is above": (lambda q: jets.cube_plus(q[0] - q[1]), 2),
}


@pytest.mark.parametrize("name", CASES)
def test_derivatives(name):
    function, m = CASES[name]
    at = np.random.default_rng(3).uniform(0.5, 2.0, (7, m))
    jet = function(variables(at))
    h = 1e-4
    for i in range(m):
        step = np.zeros(m)
        step[i] = h
        up, down = function(variables(at + step)), function(variables(at - step))
        np.testing.assert_allclose(jet.grad[:, i], (up.value - down.value) / (2 * h), rtol=1e-6, atol=1e-7)
        np.testing.assert_allclose(jet.hess[:, i], (up.grad - down.grad) / (2 * h), rtol=1e-6, atol=1e-6)
    np.testing.assert_allclose(jet.hess, jet.hess.transpose(0, 2, 1), atol=1e-12)


def test_direction_in_all_quadrants():
    angle = np.linspace(-3.1, 3.1, 13)
    jet = jets.arctan2(*variables(np.column_stack([np.sin(angle), np.cos(angle)])))
    np.testing.assert_allclose(jet.value, angle)
    np.testing.assert_allclose(jet.grad, np.column_stack([np.cos(angle), -np.sin(angle)]), atol=1e-12)


def test_an_array_of_factors_goes_one_to_each_problem():
    jet = variables(np.array([[2.0], [3.0]]))[0] * np.array([10.0, 100.0])
    np.testing.assert_allclose(jet.value, [20.0, 300.0])
    np.testing.assert_allclose(jet.grad[:, 0], [10.0, 100.0])
    left = np.array([10.0, 100.0]) * variables(np.array([[2.0], [3.0]]))[0]
    assert isinstance(left, Jet)
