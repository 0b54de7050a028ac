"""A line of two simple curves of 8 degrees (arc definition), stationed through.

Worked solution on a public page: https://www.scribd.com/document/338936993/18305718

Tolerance: half the last printed digit, 0.05 ft for the radius and 0.005 ft else. Sentences say where
not: the page works with the rounded radius 716.2, and stations carry the rounding of what they are
sums of.
"""

from math import radians

import pytest

from spanwright.geometry.curves import curve_length, radius_from_degree_arc, tangent_length

SOURCE = "Worked solution of a two-curve line, scribd.com document 338936993"
DEGREE = radians(8.0)


@pytest.mark.validates(source=SOURCE, item="CRV-02: first curve, I 25 30", page="web page")
def test_first_curve():
    radius = radius_from_degree_arc(DEGREE, 100.0)
    turn = radians(79.0 - 53.5)
    assert radius == pytest.approx(716.2, abs=0.05)
    tangent, length = tangent_length(radius, turn), curve_length(radius, turn)
    assert tangent == pytest.approx(162.06, abs=0.005)
    assert length == pytest.approx(318.75, abs=0.005)
    assert 1250.0 - tangent == pytest.approx(1087.94, abs=0.005)
    assert 1250.0 - tangent + length == pytest.approx(1406.69, abs=0.005)


@pytest.mark.validates(
    source=SOURCE, item="CRV-03: second curve, I 103 30, and the closing station", page="web page"
)
def test_second_curve_and_end():
    """The 96.5 ft between the curves do not follow from the page's own stations: taken as given."""
    radius = radius_from_degree_arc(DEGREE, 100.0)
    turn = radians(103.5)
    tangent, length = tangent_length(radius, turn), curve_length(radius, turn)
    assert tangent == pytest.approx(908.5, abs=0.05)
    assert length == pytest.approx(1293.75, abs=0.005)
    start = 1406.69 + 96.5
    assert start == pytest.approx(1503.19, abs=0.005)
    assert start + length == pytest.approx(2796.94, abs=0.005)
    # printed from the tangent rounded to 908.5: exact 66.51, so its digit and the tangent's
    after = (2875.0 - 1900.0) - tangent
    assert after == pytest.approx(66.5, abs=0.05)
    # a sum of a value printed to 0.01 and one printed to 0.1: half a digit of the coarser
    assert start + length + after == pytest.approx(2863.44, abs=0.05)
