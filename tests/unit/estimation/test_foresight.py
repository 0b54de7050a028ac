"""What readings will do, against conditioning the inputs on drawn readings."""

import numpy as np
import pytest

from spanwright.estimation.condition import learn, spread_with
from spanwright.estimation.derived import Derived
from spanwright.estimation.foresight import along_first, foresee

SDS = np.array([0.1, 0.5, 0.2, 0.4])
IDS = ("a", "b", "c", "d")


@pytest.mark.parametrize("seed", range(4))
def test_doubts_and_shifts_are_those_of_conditioning(seed):
    rng = np.random.default_rng(seed)
    numbers, read, noise = rng.normal(size=(3, 4)), rng.normal(size=(2, 4)), np.array([0.3, 0.05])
    found = foresee(numbers * SDS, read * SDS, noise)
    shifts = []
    for _ in range(4000):
        truth = rng.normal(size=4) * SDS
        value = read @ truth + rng.normal(size=2) * noise
        learnt = learn(Derived(np.zeros(2), read), value, noise, prior=(IDS, SDS), at=np.zeros(4))
        shifts.append(numbers @ learnt.moves)
    np.testing.assert_allclose(found.doubts, spread_with(SDS, learnt).doubt(numbers), rtol=1e-9)
    wanted = found.slopes @ found.slopes.T
    np.testing.assert_allclose(np.cov(np.array(shifts).T), wanted, atol=0.06 * np.abs(wanted).max())
    np.testing.assert_allclose(np.diag(wanted) + found.doubts**2, ((numbers * SDS) ** 2).sum(axis=1))


def test_perfect_readings_of_the_same_thing_tell_it_once():
    number = np.array([[1.0, 2.0, 0.0, 0.0]]) * SDS
    same = np.array([[0.0, 1.0, 0.0, 0.0], [0.0, 3.0, 0.0, 0.0]]) * SDS
    found = foresee(number, same, np.zeros(2))
    assert found.doubts[0] == pytest.approx(0.1)
    assert found.slopes.shape == (1, 1)
    assert abs(found.slopes[0, 0]) == pytest.approx(1.0)


def test_a_reading_of_nothing_tells_nothing():
    found = foresee(np.array([[0.3, 0.4]]), np.zeros((1, 2)), np.zeros(1))
    assert found.doubts[0] == pytest.approx(0.5)
    assert found.slopes.shape == (1, 0)


def test_turned_surprises_do_the_same():
    slopes = np.random.default_rng(1).normal(size=(3, 5))
    turned = along_first(slopes)
    np.testing.assert_allclose(turned @ turned.T, slopes @ slopes.T)
    sizes = np.linalg.norm(turned, axis=0)
    assert list(sizes) == sorted(sizes, reverse=True)
    assert along_first(np.zeros((3, 0))).shape == (3, 0)
