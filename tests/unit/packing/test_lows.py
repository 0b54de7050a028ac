"""How low supports come out: against what is known of the least of equal numbers, and on the demo."""

from pathlib import Path
from statistics import NormalDist
from types import SimpleNamespace

import numpy as np
import pytest

from spanwright.estimation.derived import Derived
from spanwright.estimation.drawing.together import DRAWS, Method, near_equal
from spanwright.estimation.spread import Spread
from spanwright.files.job_file import load_job
from spanwright.job import derive
from spanwright.packing.lows import any_high, lows
from truth import demo

PHI = NormalDist().cdf
SPREAD = Spread(sds=np.ones(6))


def number(value, *columns):
    jac = np.zeros(6)
    jac[list(columns)] = 1.0
    return Derived(np.float64(value), jac)


def three_sigma(p):
    """What chance leaves of so many draws."""
    return 3.0 * np.sqrt(p * (1.0 - p) / DRAWS)


def bridge(**packings):
    """A bridge of nothing but packings."""
    supports = [
        SimpleNamespace(given=SimpleNamespace(name=name), seats=[SimpleNamespace(packing=p) for p in own])
        for name, own in packings.items()
    ]
    return SimpleNamespace(supports=supports)


def test_near_equal_is_judged_by_the_difference():
    shared = [number(1.0, 0, 1), number(3.0, 0, 2), number(6.5, 0, 3)]
    near = near_equal(shared, SPREAD)  # differences 2.0 and 5.5 with doubts of 1.41
    assert [float(n.value) for n in near] == [1.0, 3.0]
    assert len(near_equal([number(1.0, 0), number(1.1, 0)], SPREAD)) == 1  # they move as one


def test_the_least_of_two_equal_bearings():
    pier = bridge(pier=[number(2.5, 0), number(2.5, 1)])
    (low,) = lows(pier, 0.5, SPREAD, k=2.0)
    assert (low.bearings, low.near, low.method) == (2, 2, Method.DRAWS)
    assert low.least.mean == pytest.approx(2.0 - 1.0 / np.sqrt(np.pi), abs=0.03)
    exact = 1.0 - PHI(2.0) ** 2
    assert low.high.part == pytest.approx(exact, abs=three_sigma(exact))


def test_one_bearing_is_first_order():
    (low,) = lows(bridge(pier=[number(2.5, 0)], bare=[]), 0.5, SPREAD, k=2.0)
    assert low.method is Method.FIRST_ORDER
    assert (low.least.low, low.least.high) == (0.0, 4.0)
    assert low.high.part == pytest.approx(PHI(-2.0))


def test_supports_that_share_all_stand_too_high_together():
    both = bridge(one=[number(2.0, 0)], other=[number(2.0, 0)])
    high, total = any_high(both, 0.0, SPREAD)
    assert high.part == pytest.approx(PHI(-2.0), abs=three_sigma(PHI(-2.0)))
    assert total == pytest.approx(2.0 * PHI(-2.0))


def test_the_demo_is_cut_so_low_that_each_bearing_keeps_its_risk():
    plan = derive(load_job(Path(demo.SHIPPED).parent))
    given, spread = plan.job.structures, plan.inputs.spread
    noted = {f.where for f in plan.findings if f.code == "ST124"}
    found = lows(plan.structures, given.packing.thinnest, spread, k=given.k)
    assert [low.support for low in found] == [s.given.name for s in plan.structures.supports]
    for low in found:
        # each bearing at most 1 - Phi(2); all of a support no more than their sum
        assert low.high.part < low.bearings * PHI(-given.k)
        assert (low.support in noted) == (low.near > 1)
    high, total = any_high(plan.structures, given.packing.thinnest, spread)
    assert max(low.high.part for low in found) < high.part < total
