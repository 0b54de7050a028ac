"""Whole random jobs whose truth is known: intervals hold, words are so, promises are kept.

A small run of what ``benchmarks/simulation.py`` does with many jobs, limits three standard deviations wide.
Independent check: the truth is made up (tests/truth), its lines with geometry of their own.
"""

from __future__ import annotations

import os
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from math import sqrt

import numpy as np
import pytest

from spanwright.alignment.line import cant_at, height_at, position_at
from spanwright.job import Choices, derive, same
from truth.whole import tally
from truth.whole.as_true import as_true
from truth.whole.jobs import make_known
from truth.whole.record import record
from truth.whole.remedied import remedied

pytestmark = pytest.mark.slow
JOBS = int(os.environ.get("SPANWRIGHT_JOBS", "40"))
DATE = 20261125


@pytest.fixture(scope="module")
def records():
    with ProcessPoolExecutor(max_workers=os.cpu_count()) as pool:
        return list(pool.map(partial(record, DATE), range(JOBS)))


def test_no_job_is_refused(records):
    assert tally.refused(records) == {}


@pytest.mark.parametrize("key", ["planned", "built"])
def test_intervals_hold(records, key):
    """Of the 95 % intervals of each class at least 93 % hold the truth, so far as few jobs can tell."""
    low = {}
    for what in tally.classes(records, key):
        one = tally.covered(records, key, what)
        if one.part < 0.93 - 3.0 * max(one.se, sqrt(0.07 * 0.93 / one.jobs)):
            low[what] = one.told
    assert low == {}


@pytest.mark.parametrize("key", ["clear", "clear after", "mended"])
def test_clear_gaps_keep_their_margin_as_often_as_stated(records, key):
    _, stated, under = tally.risks(records, key)
    assert under <= stated + 3.0 * sqrt(stated + 1.0)


def test_a_verdict_comes_as_often_as_promised(records):
    """Within 5 points, so far as few cases can tell."""
    settled = np.array([p["settled"] for p in tally.promises(records)])
    slack = 3.0 * sqrt(0.25 / len(settled))
    assert settled[:, 0].mean() == pytest.approx(settled[:, 1].mean(), abs=0.05 + slack)


def test_a_reading_taken_late_equals_the_joint_solution(records):
    cases, apart, wider = tally.late(records)
    assert cases > 0
    assert max(apart, wider) < 0.02


@pytest.fixture(scope="module")
def one():
    """The first job that has an open gap which a move can open."""
    for number in range(1, 30):
        known = make_known(DATE, number)
        plan = derive(known.job)
        if remedied(plan).mended:
            return known, plan
    pytest.fail("no job with an open gap")


def test_a_true_line_is_handed_over_as_it_is(one):
    """Places by the truth's own geometry; a difference would count as an error of the plan."""
    known, plan = one
    true = as_true(known, plan)
    for name, track in (("upper", known.world.truth.upper), ("lower", known.world.truth.lower)):
        line = true.lines[name]
        s = np.linspace(5.0, line.chain.knots[-1] - 5.0, 100)
        feet = np.array([track.lateral(p) for p in position_at(line, s)[0]])
        assert np.abs(feet[:, 1]).max() < 0.01
        np.testing.assert_allclose(height_at(line, s), track.height(feet[:, 0]), atol=2e-3)
        np.testing.assert_allclose(cant_at(line, s), track.cant(feet[:, 0]), atol=5e-3)


def test_a_plan_after_its_remedies_is_the_whole_plan(one):
    _, plan = one
    after = remedied(plan).plan
    assert after is not plan
    whole = derive(after.job, Choices(alignment=plan.choices.alignment, structures=None, clearance=None))
    assert same(after.clearance.gaps, whole.clearance.gaps)
    assert same(after.structures, whole.structures)


@pytest.mark.parametrize("number", [12, 227, 346, 683, 852, 906, 911])
def test_jobs_that_are_hard_to_settle_are_let_pass(number):
    """Marks that first come out on the wrong side of a line; an easement that nearly leaves the survey."""
    known = make_known(DATE, number)
    plan = derive(replace(known.job, structures=None, clearance=None))
    for name, true in known.world.truth.marks.items():
        if plan.survey.has(f"{name}.x"):
            found = [float(plan.survey.value(f"{name}.{axis}").value) for axis in "xy"]
            np.testing.assert_allclose(found, true[:2], atol=5.0)
