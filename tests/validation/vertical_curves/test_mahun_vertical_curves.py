"""Parabolic vertical curves: elevations and grades at stations, high points.

J. Mahun, *Open Access Surveying Library*, chapter Curves, solutions to the sample vertical curve
problems 2 and 4 (web page):
http://jerrymahun.com/index.php/home/open-access/viii-curves/33-solutions/113-soln-ss-vert-curves-1

Tolerance: the page prints elevations to 0.01 ft here (its rows end exactly there), grades to 0.1 %;
a thousandth of a foot and a thousandth of a per cent are asked for, because the parabola's values
are exact decimals.
"""

import numpy as np
import pytest

from spanwright.geometry.vertical import (
    VerticalCurve,
    elevation_at,
    grade_at,
    grades_from_elevations,
    turning_point,
    vertical_curve_at,
)

SOURCE = "J. Mahun, Open Access Surveying Library, Curves: vertical curve solutions"
CREST = [  # station ft, elevation ft, grade %
    (5400, 1312.50, 5.0),
    (5500, 1316.65, 3.3),
    (5600, 1319.10, 1.6),
    (5700, 1319.85, -0.1),
    (5800, 1318.90, -1.8),
    (5900, 1316.25, -3.5),
]
FROM_ENDS = [
    (3200, 912.00, 2.0),
    (3300, 913.75, 1.5),
    (3400, 915.00, 1.0),
    (3500, 915.75, 0.5),
    (3600, 916.00, 0.0),
    (3700, 915.75, -0.5),
    (3800, 915.00, -1.0),
]


def check(curve, rows):
    station, elevation, grade = np.array(rows, dtype=float).T
    np.testing.assert_allclose(elevation_at(curve, station), elevation, rtol=0, atol=5e-4)
    np.testing.assert_allclose(100.0 * grade_at(curve, station), grade, rtol=0, atol=5e-4)


@pytest.mark.validates(source=SOURCE, item="VC-01: problem 2, crest of 500 ft", page="web page, problem 2")
def test_crest():
    check(vertical_curve_at(5650.0, 1325.0, length=500.0, grade_in=0.05, grade_out=-0.035), CREST)


@pytest.mark.validates(
    source=SOURCE, item="VC-03: problem 4, crest from end elevations", page="web page, problem 4"
)
def test_crest_from_end_elevations():
    grade_in, grade_out = grades_from_elevations(912.0, 918.0, 915.0, 600.0)
    assert (100.0 * grade_in, 100.0 * grade_out) == pytest.approx((2.0, -1.0), abs=5e-4)
    curve = VerticalCurve(
        station=3200.0, elevation=912.0, length=600.0, grade_in=grade_in, grade_out=grade_out
    )
    check(curve, FROM_ENDS)
    assert turning_point(curve) == pytest.approx((3600.0, 916.0), abs=5e-4)


def test_high_point_of_our_other_computation():
    """Computed for this project in a separate computation, NOT printed in the source."""
    curve = vertical_curve_at(5650.0, 1325.0, length=500.0, grade_in=0.05, grade_out=-0.035)
    assert turning_point(curve) == pytest.approx((5694.1176, 1319.8529), abs=6e-5)
