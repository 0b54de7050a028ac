"""The nearest railhead that can still be reached: closed forms, another solver, and proof of none."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from packing_scenes import LENGTH, limits, make_needs
from scipy.optimize import minimize

from spanwright.packing.needs import RuleKind
from spanwright.packing.profile import limit_rows, nearest_profile


def test_nothing_is_lifted_where_all_can_be_packed():
    assert nearest_profile(make_needs((0.4, 0.6, 0.5, 0.7))) == pytest.approx(0.0, abs=1e-12)


def test_a_bearing_that_is_too_high_stays_and_the_others_keep_their_height():
    lifts = nearest_profile(make_needs((-0.3, 0.6, 0.5, 0.7)))
    assert lifts == pytest.approx([0.3, 0.0, 0.0, 0.0], abs=1e-9)


def test_twist_is_shared_out_in_equal_parts():
    """One corner 0.3 too high, 0.12 allowed: 0.18 is spread over the other three, 0.06 each."""
    lifts = nearest_profile(make_needs((-0.3, 0.6, 0.5, 0.7), limits(twist=0.12)))
    assert lifts == pytest.approx([0.3, 0.06, 0.06, -0.06], abs=1e-9)


def test_change_of_grade_to_the_track_lifts_the_other_end():
    """End too high by d: grade d / L over the span; with g allowed, the start lies d - g L up."""
    d, g = 0.6, 0.004
    lifts = nearest_profile(make_needs((0.5, 0.5, -d, -d), limits(grade_change=g)))
    assert lifts == pytest.approx([d - g * LENGTH, d - g * LENGTH, d, d], abs=1e-9)


def test_a_step_beyond_the_limit_has_no_railhead():
    assert nearest_profile(make_needs((-0.3, 0.6, 0.5, 0.7), limits(step=0.25))) is None


def test_a_track_that_breaks_the_limit_itself_has_no_railhead():
    kept = limits(grade_change=0.01, step=0.25)
    assert nearest_profile(make_needs((0.5,) * 4, kept, ends=(0.0, 0.05))) is None


def test_a_grade_that_runs_through_is_no_change_of_grade():
    needs = make_needs((0.5,) * 8, grade=0.02)
    assert nearest_profile(needs) == pytest.approx(0.0, abs=1e-9)
    changes = [r.value(np.zeros(8)) for r in needs.rules if r.kind is RuleKind.GRADE_CHANGE]
    assert changes == pytest.approx([0.0, 0.0, 0.0], abs=1e-12)


@settings(max_examples=30, deadline=None)
@given(
    wanted=st.lists(st.floats(-0.5, 1.5), min_size=8, max_size=8),
    twist=st.floats(0.02, 0.4),
    grade=st.floats(0.001, 0.01),
)
def test_it_keeps_every_limit_and_another_solver_finds_none_nearer(wanted, twist, grade):
    needs = make_needs(wanted, limits(twist=twist, grade_change=grade, step=0.6))
    lifts = nearest_profile(needs)
    G, h = limit_rows(needs)
    if lifts is None:
        lifts = np.zeros(8)
    else:
        assert np.all(G @ lifts >= h - 1e-6)
    other = minimize(
        lambda x: x @ x,
        np.maximum(needs.lowest, 0.0),
        jac=lambda x: 2.0 * x,
        method="SLSQP",
        constraints={"type": "ineq", "fun": lambda x: G @ x - h, "jac": lambda x: G},
        options={"ftol": 1e-12, "maxiter": 300},
    )
    if nearest_profile(needs) is None:
        assert not other.success or np.any(G @ other.x < h - 1e-9)
    elif other.success and np.all(G @ other.x >= h - 1e-7):
        assert lifts @ lifts <= other.fun + 1e-5
