from statistics import NormalDist

import numpy as np
import pytest

from spanwright.clearance.verdict import decide, joint_factor
from spanwright.findings import Verdict


@pytest.mark.parametrize(
    ("gap", "u", "grown", "grown_u", "word"),
    [
        (3.0, 0.5, 1.0, 0.5, Verdict.CLEAR),
        (3.0, 0.5, 0.99, 0.5, Verdict.TIGHT),
        (1.0, 0.5, -1.0, 0.5, Verdict.TIGHT),
        (0.99, 0.5, -1.0, 0.5, Verdict.NOT_PROVEN),
        (-0.99, 0.5, -3.0, 0.5, Verdict.NOT_PROVEN),
        (-1.01, 0.5, -3.0, 0.5, Verdict.FOUL),
        (-np.inf, 0.0, -np.inf, 0.0, Verdict.FOUL),
        (2.0, 0.0, 0.0, 0.0, Verdict.TIGHT),  # a grown gap of 0 is a touch, not a margin
    ],
)
def test_the_words_at_their_limits(gap, u, grown, grown_u, word):
    assert decide(gap, u, grown, grown_u, k=2.0) is word


def test_one_of_several_witnesses_decides():
    assert decide([3.0, 0.5], [0.5, 0.5], [1.5], [0.5], k=2.0) is Verdict.CLEAR
    assert decide([3.0, 0.5], [0.5, 0.5], [0.5], [0.5], k=2.0) is Verdict.NOT_PROVEN
    assert decide([3.0, -2.0], [0.5, 0.5], [-1.0], [0.5], k=2.0) is Verdict.FOUL


def test_near_equal_witnesses_need_a_wider_bound():
    assert decide([3.0], [1.0], [2.1], [1.0], k=2.0) is Verdict.CLEAR
    assert decide([3.0, 3.0], [1.0, 1.0], [2.1, 2.1], [1.0, 1.0], k=2.0) is Verdict.TIGHT


@pytest.mark.parametrize("m", [1, 2, 5])
def test_the_joint_factor_keeps_the_risk_of_one(m):
    rng = np.random.default_rng(m)
    k = joint_factor(1.0, m)
    least = rng.standard_normal((200_000, m)).min(axis=1)
    assert np.mean(least < -k) == pytest.approx(NormalDist().cdf(-1.0), abs=0.003)
