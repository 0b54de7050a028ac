"""Intervals by counting, chances with their bound, and draws until they settle."""

from statistics import NormalDist

import numpy as np
import pytest

from spanwright.estimation.drawing.adaptive import PORTION, draw_until_settled, numerical_tolerance
from spanwright.estimation.drawing.coverage import chance, shortest, symmetric, told
from spanwright.estimation.drawing.draws import stream


def test_an_interval_holds_as_many_draws_as_it_says():
    values = stream().standard_normal(20_000)
    for interval in (symmetric, shortest):
        low, high = interval(values, 0.95)
        assert np.mean((values > low) & (values <= high)) == pytest.approx(0.95, abs=1e-4)
    low, high = symmetric(values, 0.95)
    assert np.mean(values < low) == pytest.approx(0.025, abs=1e-4)


def test_the_shortest_interval_of_a_skew_law_lies_where_it_is_dense():
    values = -np.log(np.linspace(1e-6, 1.0, 100_000))  # exponential
    low, high = shortest(values, 0.95)
    assert low == pytest.approx(0.0, abs=1e-9)
    assert high == pytest.approx(-np.log(0.05), abs=1e-3)
    assert symmetric(values, 0.95)[0] == pytest.approx(-np.log(0.975), abs=1e-3)


def test_few_draws_have_an_interval_too():
    assert symmetric(np.array([3.0, 1.0]), 0.95) == (1.0, 3.0)
    assert shortest(np.array([3.0, 1.0]), 0.95) == (1.0, 3.0)


def test_the_least_of_two_equal_numbers_is_lower_by_what_is_known_of_it():
    # E min of two independent standard normals is -1/sqrt(pi), its variance 1 - 1/pi
    least = told(stream().standard_normal((200_000, 2)).min(axis=1), 0.95)
    assert least.mean == pytest.approx(-1.0 / np.sqrt(np.pi), abs=0.01)
    assert least.u == pytest.approx(np.sqrt(1.0 - 1.0 / np.pi), abs=0.01)


def test_a_chance_has_an_upper_bound():
    normal = NormalDist()
    one = chance(np.arange(1000) < 23)
    assert one.part == 0.023
    # held in about 95 of 100: at that chance so few would come in about one case of twenty
    sure = one.at_most * 1000.0
    assert normal.cdf((23 - sure) / np.sqrt(sure * (1 - one.at_most))) == pytest.approx(0.05, abs=0.002)
    assert chance(np.ones(10, dtype=bool)).at_most == 1.0


def test_the_tolerance_is_half_of_the_last_digit():
    assert numerical_tolerance(0.996, 2) == pytest.approx(0.05)  # 1.0
    assert numerical_tolerance(32.0, 2) == pytest.approx(0.5)
    assert numerical_tolerance(10.1, 1) == pytest.approx(5.0)


def test_draws_end_when_they_have_settled_or_the_budget_ends():
    rng = stream()
    loose = draw_until_settled(rng.standard_normal, p=0.95, digits=1)
    assert loose.settled
    assert loose.told.draws == 2 * PORTION
    tight = draw_until_settled(rng.standard_normal, p=0.95, digits=4, most=3)
    assert not tight.settled
    assert tight.told.draws == 3 * PORTION


def test_what_has_no_doubt_has_settled():
    found = draw_until_settled(lambda m: np.full(m, 4.0), p=0.95)
    assert found.settled
    assert (found.told.u, found.told.low, found.told.high) == (0.0, 4.0, 4.0)
