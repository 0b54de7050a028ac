"""Poses against the plain definition, integrated by Simpson's rule in small cells (``clearance_oracle.py``).

The compiled reckoning takes the line as a table of polynomials; this holds the table too, on lines with
uneven curvature, kinks of grade and cant, and beyond both ends.
"""

import numpy as np
import pytest
from clearance_cases import KINDS, Maker
from clearance_oracle import Way
from clearance_scenes import car, curved_line, make_line

from spanwright.clearance.sweep import poses

SEED = 20261125


def compare(line, body, stations):
    length = body.truck_spacing + 60.0
    way = Way(line, min(stations[0], 0.0) - length, max(stations[-1], 0.0) + length)
    origin, turn = way.poses(body, stations)
    at = poses(line, body, stations)
    assert np.max(np.abs(at.origin - origin)) < 1e-8
    assert np.max(np.abs(at.axes - turn.transpose(0, 2, 1))) < 1e-10


@pytest.mark.validates(
    source="Simpson's rule on the definition of the line", item="poses of a body", page="derived in the test"
)
@pytest.mark.parametrize("number", range(len(KINDS)))
def test_poses_are_those_of_the_definition(number):
    maker = Maker(SEED, number)
    line = maker.line()
    body = maker.vehicle().bodies[0]
    first, last = line.surveyed
    compare(line, body, np.linspace(first - 300.0, last + 300.0, 1501))


def test_poses_on_a_tight_curve_with_noisy_curvature():
    rng = np.random.default_rng(SEED)
    knots = np.concatenate([[0.0], np.cumsum(rng.uniform(8.0, 30.0, 30))])
    curvature = 1.0 / 150.0 + rng.normal(0.0, 2e-4, len(knots))  # as a street railway's in 1:160, badly laid
    line = make_line(
        knots=knots,
        curvature=curvature,
        cant_knots=knots,
        cant=rng.uniform(-0.3, 0.6, len(knots)),
        head_distance=9.6,
    )
    body = car(length=80.0, spacing=50.0, wheelbase=13.0).bodies[0]
    compare(line, body, np.linspace(-100.0, knots[-1] + 100.0, 1501))


def test_a_pose_does_not_depend_on_its_company():
    line, body = curved_line(), car(wheelbase=22.0).bodies[0]
    stations = np.linspace(-50.0, 1250.0, 101)
    together = poses(line, body, stations)
    alone = [poses(line, body, s) for s in stations]
    assert np.array_equal(together.origin, np.vstack([p.origin for p in alone]))
    assert np.array_equal(together.axes, np.vstack([p.axes for p in alone]))
