"""A line at any station: vectorised, and with derivatives that agree with the plain functions."""

import numpy as np
import pytest

from spanwright.alignment.line import (
    cant_at,
    curvature_at,
    grade_at,
    height_at,
    nearest_station,
    position_at,
    roll_at,
    track_point,
)
from spanwright.estimation.derived import Derived
from truth.line_scenes import exact_line

R = 400.0
LINE = exact_line(start=(5.0, -3.0), heading=0.4, curvature=1.0 / R, height=70.0, grade=0.02, cant=0.5, n=1)


def test_an_arc_in_closed_form():
    s = np.array([0.0, 150.0, 600.0])
    p, angle = position_at(LINE, s)
    centre = np.array([5.0 - R * np.sin(0.4), -3.0 + R * np.cos(0.4)])
    assert np.linalg.norm(p - centre, axis=1) == pytest.approx(R, abs=1e-9)
    assert angle == pytest.approx(0.4 + s / R)
    assert curvature_at(LINE, s) == pytest.approx(1.0 / R)
    assert height_at(LINE, s) == pytest.approx(70.0 + 0.02 * s)
    assert grade_at(LINE, s) == pytest.approx(0.02)
    assert cant_at(LINE, s) == pytest.approx(0.5)
    # right rail up: the left side is down, so the roll about the forward axis is negative
    assert roll_at(LINE, s) == pytest.approx(-np.arcsin(0.05))


def test_the_nearest_station_of_points_beside_the_line():
    s = np.array([20.0, 333.0, 980.0])
    p, angle = position_at(LINE, s)
    beside = p + np.array([30.0, -40.0, 5.0])[:, None] * np.stack([-np.sin(angle), np.cos(angle)], axis=1)
    assert nearest_station(LINE, beside) == pytest.approx(s, abs=1e-8)


def test_beyond_the_ends_the_line_runs_on_straight():
    p, angle = position_at(LINE, np.array([-50.0, 0.0, 1000.0, 1080.0]))
    assert np.linalg.norm(p[1] - p[0]) == pytest.approx(50.0)
    assert np.linalg.norm(p[3] - p[2]) == pytest.approx(80.0)
    assert angle[0] == pytest.approx(angle[1])
    assert height_at(LINE, np.array([-50.0, 1100.0])) == pytest.approx([69.0, 92.0])
    assert curvature_at(LINE, np.array([-1.0, 1001.0])) == pytest.approx(0.0)


def test_a_track_point_is_the_plain_functions_with_derivatives():
    s = np.array([100.0, 700.0])
    t = track_point(LINE, s)
    p, angle = position_at(LINE, s)
    assert np.stack([t.x.value, t.y.value], axis=1) == pytest.approx(p)
    assert t.heading.value == pytest.approx(angle)
    assert t.z.value == pytest.approx(height_at(LINE, s))
    assert t.grade.value == pytest.approx(grade_at(LINE, s))
    assert t.roll.value == pytest.approx(roll_at(LINE, s))


def test_a_station_that_moves_takes_everything_along():
    s = np.array([350.0])
    moving = track_point(LINE, Derived(s, np.ones((1, 1))))
    step = 1e-4
    ahead, behind = track_point(LINE, s + step), track_point(LINE, s - step)
    for name in ("x", "y", "z", "heading", "grade", "cant", "roll"):
        slope = (getattr(ahead, name).value - getattr(behind, name).value) / (2.0 * step)
        assert getattr(moving, name).jac[:, 0] == pytest.approx(slope, abs=1e-8), name
