"""The parabolic vertical curve: continuity, turning point, the sag and the level case."""

import numpy as np
import pytest

from spanwright.errors import InputError
from spanwright.geometry.vertical import (
    VerticalCurve,
    elevation_at,
    grade_at,
    grades_from_elevations,
    turning_point,
    vertical_curve_at,
)

SAG = vertical_curve_at(1000.0, 50.0, length=300.0, grade_in=-0.02, grade_out=0.01)


def test_it_meets_both_grades():
    assert float(elevation_at(SAG, 850.0)) == pytest.approx(50.0 + 0.02 * 150)
    assert float(elevation_at(SAG, 1150.0)) == pytest.approx(50.0 + 0.01 * 150)
    np.testing.assert_allclose(elevation_at(SAG, [700.0, 1400.0]), [56.0, 54.0])
    np.testing.assert_allclose(grade_at(SAG, [0.0, 850.0, 1150.0, 2000.0]), [-0.02, -0.02, 0.01, 0.01])


def test_grade_is_the_slope_of_the_elevation():
    s = np.linspace(700.0, 1300.0, 60)
    slope = (elevation_at(SAG, s + 1e-3) - elevation_at(SAG, s - 1e-3)) / 2e-3
    np.testing.assert_allclose(slope, grade_at(SAG, s), atol=1e-7)


def test_the_lowest_point_is_lowest():
    station, height = turning_point(SAG)
    assert station == pytest.approx(1050.0)
    assert height == pytest.approx(elevation_at(SAG, np.linspace(850.0, 1150.0, 3001)).min())


@pytest.mark.parametrize(("grade_in", "grade_out"), [(0.01, 0.03), (-0.03, -0.01), (0.01, 0.01), (0.0, 0.0)])
def test_no_turning_point(grade_in, grade_out):
    curve = VerticalCurve(station=0.0, elevation=0.0, length=100.0, grade_in=grade_in, grade_out=grade_out)
    assert turning_point(curve) is None


def test_grades_come_back_from_three_heights():
    assert grades_from_elevations(53.0, 50.0, 51.5, 300.0) == pytest.approx((-0.02, 0.01))


@pytest.mark.parametrize("length", [0.0, -300.0])
def test_a_length_is_needed(length):
    with pytest.raises(InputError, match=f"above nil; read {length!r}"):
        vertical_curve_at(1000.0, 50.0, length=length, grade_in=0.0, grade_out=0.1)
    with pytest.raises(InputError, match=f"above nil; read {length!r}"):
        grades_from_elevations(1.0, 2.0, 3.0, length)
