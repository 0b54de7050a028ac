"""Few trials and many draws, held against laws that are known."""

import numpy as np
import pytest

from spanwright.estimation.drawing.coverage import symmetric
from spanwright.estimation.drawing.draws import stream
from spanwright.estimation.drawing.surface import FEWEST, bent, fit_surface

MANY = 200_000


def test_a_straight_number_stays_as_it_was_foretold():
    t = stream().standard_normal(24)
    found = fit_surface(t, t)
    assert found.bend == 0.0
    assert found.rest == pytest.approx(0.0, abs=1e-12)
    many = stream().standard_normal(50)
    assert bent(found, many, stream()) == pytest.approx(many)


def test_a_square_is_found_from_few_trials():
    rng = stream()
    t = rng.standard_normal(24)
    found = fit_surface(t, t + 0.2 * t**2)
    assert (found.shift, found.slope, found.curve) == pytest.approx((0.0, 0.0, 0.2), abs=1e-12)
    many = rng.standard_normal(MANY)
    # y = t + 0.2 t^2 grows with t for all t > -2.5: its 2.5 % and 97.5 % points are those of t
    low, high = symmetric(bent(found, many, rng), 0.95)
    assert high == pytest.approx(1.96 + 0.2 * 1.96**2, abs=0.03)
    exact = np.quantile(many + 0.2 * many**2, 0.025)
    assert low == pytest.approx(exact, abs=0.01)


def test_what_other_inputs_bend_is_noise_and_shift():
    rng = stream()
    t, other = rng.standard_normal((2, 400))
    found = fit_surface(t, t - 0.3 * other**2)
    assert found.shift == pytest.approx(-0.3, abs=0.1)  # the mean of other^2 is 1
    assert found.rest == pytest.approx(0.3 * np.sqrt(2.0), rel=0.2)
    assert found.bend == pytest.approx(0.3 * np.sqrt(3.0), rel=0.2)
    drawn = bent(found, rng.standard_normal(MANY), rng)
    assert np.std(drawn) == pytest.approx(np.sqrt(1.0 + 2.0 * 0.09), rel=0.05)


def test_trials_that_failed_do_not_count():
    t = stream().standard_normal(FEWEST + 1)
    found = t.copy()
    found[0] = np.nan
    assert fit_surface(t, found).trials == FEWEST
    found[1] = -np.inf
    assert fit_surface(t, found) is None
