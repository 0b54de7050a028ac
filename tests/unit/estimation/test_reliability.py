"""Naming slips: found when planted, silent when clean, honest when it cannot tell."""

import numpy as np
import pytest
from scipy.stats import norm

from spanwright.estimation.reliability import critical_value, find_suspects, normal_quantile

UNCHECKED = 1e-6


class LinearNet:
    """Heights between stations, each line levelled; observed = design @ heights."""

    def __init__(self, lines, points, sd=0.4):
        self.design = np.zeros((len(lines), points - 1))
        for row, (a, b) in enumerate(lines):
            for point, sign in ((a, -1.0), (b, 1.0)):
                if point:
                    self.design[row, point - 1] = sign
        self.sds = np.full(len(lines), sd)
        hat = self.design @ np.linalg.pinv(self.design)
        self.operator = np.eye(len(lines)) - hat

    def suspects(self, errors, **options):
        return find_suspects(self.operator @ errors, self.sds, self.operator, unchecked=UNCHECKED, **options)


ALL_PAIRS = [(a, b) for a in range(7) for b in range(a + 1, 7)]
DENSE = LinearNet(ALL_PAIRS, 7)  # 21 lines, 15 spare


def test_quantiles():
    for p in (0.001, 0.5, 0.975, 0.99999):
        assert normal_quantile(p) == pytest.approx(norm.ppf(p), abs=1e-9)
    assert critical_value(1, 0.05) == pytest.approx(1.959964, abs=5e-7)
    assert critical_value(20, 0.05) == pytest.approx(norm.ppf(1 - 0.5 * (1 - 0.95 ** (1 / 20))))
    assert critical_value(0) == critical_value(1)
    assert critical_value(50, 0.01) > critical_value(50, 0.05)


@pytest.mark.parametrize("row", range(len(ALL_PAIRS)))
def test_a_planted_slip_is_named_alone_with_its_size(row):
    errors = np.zeros(len(ALL_PAIRS))
    errors[row] = 5.0
    found = DENSE.suspects(errors)
    assert len(found) == 1
    assert found[0].rows == (row,)
    assert found[0].slips[0] == pytest.approx(5.0)
    assert found[0].standardised[0] == pytest.approx(5.0 * np.sqrt(DENSE.operator[row, row]) / 0.4)


def test_two_slips_are_two_contradictions():
    errors = np.zeros(len(ALL_PAIRS))
    errors[2], errors[17] = 9.0, -6.0
    found = DENSE.suspects(errors)
    assert [s.rows[0] for s in found] == [2, 17]
    assert found[1].slips[0] == pytest.approx(-6.0)


def test_of_two_that_explain_it_equally_both_are_named():
    """A station hung between two lines: a slip in either looks the same."""
    net = LinearNet([*ALL_PAIRS, (0, 7), (7, 3)], 8)
    errors = np.zeros(len(net.sds))
    errors[-1] = 5.0
    found = net.suspects(errors)
    assert len(found) == 1
    assert set(found[0].rows) == {len(net.sds) - 2, len(net.sds) - 1}
    assert np.abs(found[0].slips) == pytest.approx([5.0, 5.0])
    assert abs(found[0].standardised[0]) == pytest.approx(abs(found[0].standardised[1]))


def test_a_line_that_nothing_checks_is_never_named():
    net = LinearNet([*ALL_PAIRS, (0, 7)], 8)
    errors = np.zeros(len(net.sds))
    errors[-1] = 1e6
    assert net.suspects(errors) == ()
    alone = LinearNet([(0, 1)], 2)
    assert alone.suspects(np.array([1e6])) == ()


def test_clean_sets_name_one_in_about_five_per_cent():
    """4,000 draws: three standard deviations of the count are 1.0 per cent; Sidak is a bound from above."""
    rng = np.random.default_rng(20)
    draws = rng.normal(0.0, 0.4, (4000, len(ALL_PAIRS)))
    rate = np.mean([bool(DENSE.suspects(e)) for e in draws])
    assert 0.025 < rate < 0.06


def test_the_risk_is_the_callers_choice():
    rng = np.random.default_rng(21)
    draws = rng.normal(0.0, 0.4, (2000, len(ALL_PAIRS)))
    assert np.mean([bool(DENSE.suspects(e, risk=0.5)) for e in draws]) > 0.25


def test_slips_of_seven_doubts_are_named():
    """Alone or among those that cannot be told apart; redundancy 0.71 each, so 5.9 doubts remain to see."""
    rng = np.random.default_rng(22)
    named = alone = 0
    for k in range(500):
        errors = rng.normal(0.0, 0.4, len(ALL_PAIRS))
        row = k % len(ALL_PAIRS)
        errors[row] += 7.0 * 0.4
        found = DENSE.suspects(errors)
        named += any(row in s.rows for s in found)
        alone += any(s.rows == (row,) for s in found)
    assert named >= 0.97 * 500
    assert alone >= 0.8 * 500
