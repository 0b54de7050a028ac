"""Derived numbers: Jacobians against central differences, shapes, doubts."""

import numpy as np
import pytest

from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived

N = 4
START = np.array([1.3, 0.7, 2.1, 0.4])


def inputs(x):
    return [Derived(x[k], np.eye(N)[k]) for k in range(N)]


CASES = {
    "sum": lambda a, b, c, d: a + b + 2.0,
    "less": lambda a, b, c, d: 5.0 - a - b * 2.0,
    "product": lambda a, b, c, d: a * b * c,
    "quotient": lambda a, b, c, d: a / (b + c),
    "by a number": lambda a, b, c, d: a / 4.0,
    "number over": lambda a, b, c, d: 3.0 / a,
    "root": lambda a, b, c, d: dv.sqrt(a * a + c),
    "sine": lambda a, b, c, d: dv.sin(a * b),
    "cosine": lambda a, b, c, d: dv.cos(a * b),
    "sine's angle": lambda a, b, c, d: dv.arcsin(b / a),
    "direction": lambda a, b, c, d: dv.arctan2(a - b, c * d - 2.0),
    "stack": lambda a, b, c, d: dv.stack([a * b, c, d]),
    "dot": lambda a, b, c, d: dv.dot(np.array([[1.0, 2.0], [3.0, -4.0]]), dv.stack([a * b, c])),
    "scalar with array": lambda a, b, c, d: a * dv.stack([b, c, d]) + dv.stack([a, a, b]) / c,
    "two axes with one": lambda a, b, c, d: (
        dv.stack([dv.stack([a, b]), dv.stack([c, d])]) * dv.stack([b, d]) + a
    ),
    "array of numbers": lambda a, b, c, d: a * np.array([1.0, 2.0]) + np.array([[1.0, 0.0], [0.0, 1.0]]),
    "taken out": lambda a, b, c, d: dv.stack([dv.stack([a, b]), dv.stack([c * a, d])])[..., 0],
    "one row": lambda a, b, c, d: dv.stack([dv.stack([a, b]), dv.stack([c * a, d])])[1],
    "negative": lambda a, b, c, d: -dv.stack([a, b * b]),
}


@pytest.mark.parametrize("name", CASES)
def test_jacobian(name):
    function = CASES[name]
    result = function(*inputs(START))
    assert result.jac.shape == (*result.value.shape, N)
    for k in range(N):
        step = np.eye(N)[k] * 1e-6
        change = function(*inputs(START + step)).value - function(*inputs(START - step)).value
        np.testing.assert_allclose(result.jac[..., k], change / 2e-6, rtol=1e-7, atol=1e-8)


def test_linear_applies_the_chain_rule():
    a, b, c, _ = inputs(START)
    x = dv.stack([a * b, c])
    result = dv.linear(np.array([7.0]), np.array([[2.0, -1.0]]), x)
    assert result.value == 7.0
    np.testing.assert_allclose(result.jac, [[2.0 * 0.7, 2.0 * 1.3, -1.0, 0.0]])


def test_inputs_added_later_count_nothing():
    early = Derived(2.0, np.array([1.0, 3.0]))
    late = Derived(5.0, np.array([0.0, 1.0, 4.0]))
    np.testing.assert_allclose((early + late).jac, [1.0, 4.0, 4.0])
    np.testing.assert_allclose((early * late).jac, [5.0, 17.0, 8.0])
    np.testing.assert_allclose(dv.stack([early, late]).jac, [[1.0, 3.0, 0.0], [0.0, 1.0, 4.0]])
    np.testing.assert_allclose(dv.arctan2(late, early).jac, [-5.0, -13.0, 8.0] / np.float64(29.0))
    assert early.padded(4).jac.shape == (4,)
    assert early.padded(1).jac.shape == (2,)


def test_doubt_and_covariance():
    sds = np.array([0.1, 0.2, 0.3, 0.4])
    a, b, _, _ = inputs(START)
    pair = dv.stack([a + b, a - b])
    np.testing.assert_allclose(pair.sd(sds), np.hypot(0.1, 0.2))
    np.testing.assert_allclose(pair.covariance(sds), [[0.05, -0.03], [-0.03, 0.05]])
    assert dv.constant(3.0, 4).sd(sds) == 0.0
    assert dv.constant([1.0, 2.0]).shape == (2,)
    assert len(pair) == 2
    assert "inputs=4" in repr(pair)


def test_doubt_agrees_with_chance():
    sds = np.array([0.01, 0.02, 0.01, 0.015])
    function = CASES["direction"]
    rng = np.random.default_rng(5)
    drawn = [float(function(*inputs(x)).value) for x in rng.normal(START, sds, (4000, N))]
    assert np.std(drawn) == pytest.approx(float(function(*inputs(START)).sd(sds)), rel=0.05)
