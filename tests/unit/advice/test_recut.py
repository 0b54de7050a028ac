"""Lengths that are rounded down, against draws."""

import numpy as np
import pytest

from spanwright.advice.recut import rounded_down


@pytest.mark.parametrize("spread", [0.0, 0.003, 0.04, 0.4])
def test_the_average_of_what_is_rounded_down(spread):
    means = np.array([50.03, 49.999, 12.0])
    drawn = means[:, None] + spread * np.random.default_rng(3).normal(size=(3, 200_000))
    wanted = (np.floor(drawn / 0.1 + 1e-9) * 0.1).mean(axis=1)
    got = rounded_down(means, np.full(3, spread), 0.1)
    np.testing.assert_allclose(got, wanted, atol=1e-3)
