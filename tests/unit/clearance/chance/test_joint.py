"""The least of several gaps and the joint risk, held against what is known in closed form."""

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from spanwright.clearance.chance.joint import gap_chances, joint_risk
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.estimation.derived import Derived
from spanwright.estimation.drawing.together import DRAWS, Method
from spanwright.estimation.spread import Spread
from spanwright.findings import Verdict

PHI = NormalDist().cdf
SPREAD = Spread(sds=np.ones(20))


def number(value, *columns, slope=1.0):
    jac = np.zeros(len(SPREAD.sds))
    jac[list(columns)] = slope
    return Derived(np.float64(value), jac)


def gap(name, verdict, gaps, margins, **more):
    known = {
        "gap": gaps[0],
        "u": float(gaps[0].sd(SPREAD)),
        "margin_gap": margins[0],
        "margin_u": float(margins[0].sd(SPREAD)),
        "witness_gaps": gaps,
        "witness_margins": margins,
        "beyond_reach": False,
    }
    return Gap(
        id=name,
        line="lower",
        vehicle="car",
        part=name,
        verdict=verdict,
        reason="",
        suspects=(),
        side="left",
        travel="",
        station=0.0,
        where=np.zeros(3),
        surveyed=True,
        **(known | more),
    )


def result(*gaps):
    return ClearanceResult(gaps=gaps, findings=(), choices={})


def three_sigma(p):
    """What chance leaves of so many draws."""
    return 3.0 * np.sqrt(p * (1.0 - p) / DRAWS)


def test_eight_gaps_at_the_limit_of_their_word():
    gaps = [gap(f"g{k}", Verdict.CLEAR, (number(9.0, k),), (number(2.0, k),)) for k in range(8)]
    risk = joint_risk(result(*gaps), SPREAD)
    exact = 1.0 - PHI(2.0) ** 8  # one in six
    assert risk.short.part == pytest.approx(exact, abs=three_sigma(exact))
    assert risk.short_sum == pytest.approx(8.0 * PHI(-2.0))
    # too far off for draws: the sum stands for both
    assert 0.0 < risk.touches.part == risk.touches_sum < 1e-17
    assert (risk.clear, risk.passing) == (8, 8)


def test_gaps_that_share_all_their_doubt_fail_together_or_not_at_all():
    gaps = [gap(f"g{k}", Verdict.CLEAR, (number(9.0, 0),), (number(2.0, 0),)) for k in range(8)]
    risk = joint_risk(result(*gaps), SPREAD)
    assert risk.short.part == pytest.approx(PHI(-2.0), abs=three_sigma(PHI(-2.0)))
    assert risk.short_sum == pytest.approx(8.0 * PHI(-2.0))


def test_two_gaps_of_opposite_doubt_add_up():
    gaps = [
        gap("a", Verdict.CLEAR, (number(9.0, 0),), (number(2.0, 0),)),
        gap("b", Verdict.CLEAR, (number(9.0, 0),), (number(2.0, 0, slope=-1.0),)),
    ]
    risk = joint_risk(result(*gaps), SPREAD)
    assert risk.short.part == pytest.approx(2.0 * PHI(-2.0), abs=three_sigma(2.0 * PHI(-2.0)))


def test_only_words_that_promise_are_counted():
    gaps = [
        gap("tight", Verdict.TIGHT, (number(2.0, 0),), (number(-1.0, 0),)),
        gap("open", Verdict.NOT_PROVEN, (number(0.0, 1),), (number(-1.0, 1),)),
        gap("foul", Verdict.FOUL, (number(-9.0, 2),), (number(-10.0, 2),)),
        gap("clear", Verdict.CLEAR, (number(6.0, 3),), (number(3.0, 3),)),
    ]
    risk = joint_risk(result(*gaps), SPREAD)
    assert (risk.clear, risk.passing) == (1, 2)
    assert risk.short.part == pytest.approx(PHI(-3.0))  # one number alone needs no draws
    assert risk.touches.part == pytest.approx(PHI(-2.0), abs=three_sigma(PHI(-2.0)))


def test_a_gap_beyond_reach_adds_nothing():
    far = gap("far", Verdict.CLEAR, (number(25.0),), (number(22.0),), beyond_reach=True)
    risk = joint_risk(result(far), SPREAD)
    assert (risk.short.part, risk.touches.part, risk.short_sum) == (0.0, 0.0, 0.0)
    assert gap_chances((far,), SPREAD, k=2.0) == ()
    assert joint_risk(result(), SPREAD).clear == 0


def test_one_place_is_first_order():
    one = gap("one", Verdict.TIGHT, (number(2.5, 0),), (number(1.0, 0),))
    (found,) = gap_chances((one,), SPREAD, k=2.0)
    assert found.method is Method.FIRST_ORDER
    assert (found.least.mean, found.least.low, found.least.high) == (2.5, 0.5, 4.5)
    assert found.touches.part == pytest.approx(PHI(-2.5))
    assert found.short.part == pytest.approx(PHI(-1.0))


def test_the_least_of_two_equal_places_lies_lower():
    two = gap("two", Verdict.TIGHT, (number(2.5, 0), number(2.5, 1)), (number(1.0, 0), number(1.0, 1)))
    (found,) = gap_chances((two,), SPREAD, k=2.0)
    assert found.method is Method.DRAWS
    assert found.places == 2
    assert found.least.mean == pytest.approx(2.5 - 1.0 / np.sqrt(np.pi), abs=0.03)
    assert found.least.u == pytest.approx(np.sqrt(1.0 - 1.0 / np.pi), abs=0.03)
    exact = 1.0 - PHI(1.0) ** 2
    assert found.short.part == pytest.approx(exact, abs=three_sigma(exact))
    low = 2.5 - NormalDist().inv_cdf(np.sqrt(1.0 - PHI(-2.0)))
    assert found.least.low == pytest.approx(low, abs=0.06)


def test_a_place_that_no_travel_frees_is_short_for_certain():
    stuck = gap("stuck", Verdict.FOUL, (number(-1.0, 0),), (number(-np.inf),))
    (found,) = gap_chances((stuck,), SPREAD, k=2.0)
    assert found.short.part == 1.0
    never = replace(stuck, gap=number(-np.inf), witness_gaps=(number(-np.inf),))
    assert gap_chances((never,), SPREAD, k=2.0) == ()


def test_a_gap_tells_the_same_whichever_gaps_are_asked_for_besides():
    gaps = [
        gap(
            f"g{k}", Verdict.CLEAR, (number(3.0, k), number(3.1, k + 1)), (number(2.0, k), number(2.1, k + 1))
        )
        for k in range(3)
    ]
    assert gap_chances(gaps[1:2], SPREAD, k=2.0)[0] == gap_chances(gaps, SPREAD, k=2.0)[1]


def test_a_doubt_that_was_made_wider_counts_so():
    one = gap("one", Verdict.CLEAR, (number(6.0, 0),), (number(3.0, 0),), wider=1.5)
    (found,) = gap_chances((one,), SPREAD, k=2.0)
    assert found.method is Method.DRAWS
    assert (found.least.low, found.least.u) == (3.0, 1.5)
    assert found.short.part == pytest.approx(PHI(-2.0))
    assert joint_risk(result(one), SPREAD).short.part == pytest.approx(PHI(-2.0))
